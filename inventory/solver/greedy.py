"""A greedy heuristic for the first few solutions, whose costs give the first cutoff.

Method: cost per unit of width, the cheapest first, with a check at every step whether one alternative completes a
cheaper solution (the minimization form of G. B. Dantzig's greedy rule, Discrete-variable extremum problems, Operations
Research 5(2), 1957; from memory). One item of each mandatory class is taken first, by cost per width or by cost,
whichever ends cheaper. More solutions come from excluding classes of earlier ones, then from adding one item. Cost: one
pass over the promising alternatives for each item taken. Nothing is proven and nothing exact rests on it: better
solutions here only make the search faster.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import Alternatives, IntArray, ItemSet, Problem, Selection, Solution

PROMISING_ROWS = 256


def promising_alternatives(problem: Problem, cost: NDArray[np.float64]) -> Alternatives:
    """The alternatives of the item classes that are cheapest for their width, several times the target in all.

    `cost` is one cost for each alternative.
    """
    alternatives = problem.alternatives
    if len(alternatives.starts) <= PROMISING_ROWS:
        return alternatives
    chosen = np.zeros(len(problem.multiplicity), dtype=np.bool_)
    chosen[cheapest_rows(problem, cost, PROMISING_ROWS)] = True
    return alternatives.subset(chosen[alternatives.row])


def cheapest_rows(problem: Problem, cost: NDArray[np.float64], wanted: int) -> IntArray:
    """The `wanted` item classes that are cheapest for their width, or more until they reach 4 targets; in no order.

    Mandatory classes are always among them.
    """
    alternatives, target = problem.alternatives, problem.target
    starts = alternatives.starts
    if len(starts) <= wanted:
        return alternatives.row[starts]
    ratio = np.minimum.reduceat(cost / problem.useful_adds(alternatives), starts)
    width = np.minimum(alternatives.adds[alternatives.ends], target) * problem.multiplicity[alternatives.row[starts]]
    while True:
        best = np.argpartition(ratio, wanted - 1)[:wanted]
        if width[best].sum() >= 4 * target or wanted == len(starts):
            break
        wanted = min(2 * wanted, len(starts))
    return np.union1d(alternatives.row[starts[best]], problem.mandatory)


def greedy_solutions(
    problem: Problem, alternatives: Alternatives, cost: NDArray[np.float64], count: int
) -> list[Solution]:
    """Up to `count` solutions of different signatures from these alternatives; `cost` is one cost for each of them."""
    found: dict[ItemSet, Solution] = {}
    waiting: list[frozenset[int]] = [frozenset()]
    tried: set[frozenset[int]] = set()
    while waiting and len(found) < count and len(tried) < 4 * count:
        excluded = waiting.pop(0)
        if excluded in tried:
            continue
        tried.add(excluded)
        allowed = ~np.isin(alternatives.row, list(excluded))
        solution = _greedy(problem, alternatives.subset(allowed), cost[allowed])
        if solution is None:
            continue
        found.setdefault(solution.signature, solution)
        waiting += [excluded | {row} for row, _ in sorted(solution.signature) if not problem.is_mandatory[row]]
    if found and len(found) < count and not problem.equality:
        for solution in _with_one_more(problem, alternatives, cost, min(found.values(), key=lambda each: each.cost)):
            found.setdefault(solution.signature, solution)
            if len(found) == count:
                break
    return list(found.values())


def _with_one_more(
    problem: Problem, alternatives: Alternatives, cost: NDArray[np.float64], solution: Solution
) -> Iterator[Solution]:
    """The solution with one item more, the cheapest first."""
    taken = dict(solution.signature)
    for each in np.argsort(cost, kind="stable").tolist():
        row = int(alternatives.row[each])
        if taken.get(row, 0) < problem.multiplicity[row]:
            yield Solution(
                (*solution.selections, Selection(row, int(alternatives.alternative[each]))),
                solution.first + int(alternatives.first[each]),
                solution.second + int(alternatives.second[each]),
            )


def _greedy(problem: Problem, alternatives: Alternatives, cost: NDArray[np.float64]) -> Solution | None:
    """The cheapest of the solutions that can be completed after each greedy step; None without any."""
    starts = {_mandatory_items(problem, alternatives, rank) for rank in (cost / alternatives.adds, cost)}
    found = [_completed(problem, alternatives, cost, start) for start in starts if start is not None]
    return min((each for each in found if each is not None), key=lambda each: each.cost, default=None)


def _mandatory_items(problem: Problem, alternatives: Alternatives, rank: NDArray[np.float64]) -> tuple[int, ...] | None:
    """For each mandatory class the index of its alternative of the least rank; None where one has none."""
    own = [np.flatnonzero(alternatives.row == row) for row in problem.mandatory.tolist()]
    return tuple(int(each[np.argmin(rank[each])]) for each in own) if all(map(len, own)) else None


def _completed(
    problem: Problem, alternatives: Alternatives, cost: NDArray[np.float64], start: tuple[int, ...]
) -> Solution | None:
    left = problem.multiplicity.copy()
    ratio = cost / alternatives.adds
    taken = list(start)
    left[alternatives.row[taken]] -= 1
    width, total = int(alternatives.adds[taken].sum()), float(cost[taken].sum())
    best: tuple[float, list[int]] | None = None
    if width == problem.target or (width > problem.target and not problem.equality):
        best = (total, list(taken))
    while width < problem.target:
        available = left[alternatives.row] > 0
        missing = problem.target - width
        fits = alternatives.adds == missing if problem.equality else alternatives.adds >= missing
        completing = np.flatnonzero(available & fits)
        if len(completing):
            last = int(completing[np.argmin(cost[completing])])
            if best is None or total + cost[last] < best[0]:
                best = (total + float(cost[last]), [*taken, last])
        adding = np.flatnonzero(available & (alternatives.adds < missing))
        if not len(adding):
            break
        taken.append(int(adding[np.argmin(ratio[adding])]))
        left[alternatives.row[taken[-1]]] -= 1
        width, total = width + int(alternatives.adds[taken[-1]]), total + float(cost[taken[-1]])
    if best is None:
        return None
    return Solution(
        selections=tuple(
            Selection(int(alternatives.row[each]), int(alternatives.alternative[each])) for each in best[1]
        ),
        first=sum(int(alternatives.first[each]) for each in best[1]),
        second=sum(int(alternatives.second[each]) for each in best[1]),
    )
