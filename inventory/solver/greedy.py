"""A greedy heuristic for the first few solutions, whose costs give the first cutoff.

Method: cost per unit of width, the cheapest first, with a check at every step whether one alternative completes a
cheaper solution (the minimization form of G. B. Dantzig's greedy rule, Discrete-variable extremum problems, Operations
Research 5(2), 1957; from memory). More solutions come from excluding classes of earlier ones. Cost: one pass over the
promising alternatives for each item taken. Nothing is proven and nothing exact rests on it: better solutions here only
make the search faster.
"""

from __future__ import annotations

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
    """The `wanted` item classes that are cheapest for their width, or more until they reach 4 targets; in no order."""
    alternatives, target = problem.alternatives, problem.target
    starts = alternatives.starts
    if len(starts) <= wanted:
        return alternatives.row[starts]
    ratio = np.minimum.reduceat(cost / np.minimum(alternatives.adds, target), starts)
    width = np.minimum(alternatives.adds[alternatives.ends], target) * problem.multiplicity[alternatives.row[starts]]
    while True:
        best = np.argpartition(ratio, wanted - 1)[:wanted]
        if width[best].sum() >= 4 * target or wanted == len(starts):
            break
        wanted = min(2 * wanted, len(starts))
    return alternatives.row[starts[best]]


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
        waiting += [excluded | {row} for row, _ in sorted(solution.signature)]
    return list(found.values())


def _greedy(problem: Problem, alternatives: Alternatives, cost: NDArray[np.float64]) -> Solution | None:
    """The cheapest of the solutions that can be completed after each greedy step; None without any."""
    left = problem.multiplicity.copy()
    ratio = cost / alternatives.adds
    taken: list[int] = []
    width, total = 0, 0.0
    best: tuple[float, list[int]] | None = None
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
