"""A few good covers at once, by a greedy hand: the first budget of the search.

Knows nothing that the exactness of the search rests on: whatever stands here, the
best cover is found; with good first covers it is found sooner.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import Alternatives, IntArray, Problem, Selection, Solution

PROMISING_ROWS = 256


def promising_alternatives(
    alternatives: Alternatives, multiplicity: IntArray, target: int, alternative_cost: NDArray[np.float64]
) -> Alternatives:
    """The choices of the rows that cost least for their width, enough of them to fill the target several times.

    `alternative_cost` is a cost by choice. The rest of the rack only matters where these leave something better open.
    """
    if len(alternatives.starts) <= PROMISING_ROWS:
        return alternatives
    chosen = np.zeros(len(multiplicity), dtype=np.bool_)
    chosen[cheapest_rows(alternatives, multiplicity, target, alternative_cost, PROMISING_ROWS)] = True
    return alternatives.subset(chosen[alternatives.row])


def cheapest_rows(
    alternatives: Alternatives, multiplicity: IntArray, target: int, alternative_cost: NDArray[np.float64], wanted: int
) -> IntArray:
    """So many rows that cost least for their width, or more where those are too narrow together; in no order."""
    starts = alternatives.starts
    if len(starts) <= wanted:
        return alternatives.row[starts]
    ratio = np.minimum.reduceat(alternative_cost / np.minimum(alternatives.adds, target), starts)
    width = np.minimum(alternatives.adds[alternatives.ends], target) * multiplicity[alternatives.row[starts]]
    while True:
        best = np.argpartition(ratio, wanted - 1)[:wanted]
        if width[best].sum() >= 4 * target or wanted == len(starts):
            break
        wanted = min(2 * wanted, len(starts))
    return alternatives.row[starts[best]]


def greedy_solutions(
    problem: Problem, alternatives: Alternatives, alternative_cost: NDArray[np.float64], count: int
) -> list[Solution]:
    """Up to `count` good covers that differ in kind; `alternative_cost` is the joint cost by choice of "
    "`alternatives`."""
    found: dict[frozenset[tuple[int, int]], Solution] = {}
    waiting: list[frozenset[int]] = [frozenset()]
    tried: set[frozenset[int]] = set()
    while waiting and len(found) < count and len(tried) < 4 * count:
        banned = waiting.pop(0)
        if banned in tried:
            continue
        tried.add(banned)
        allowed = ~np.isin(alternatives.row, list(banned))
        solution = _greedy(problem, alternatives.subset(allowed), alternative_cost[allowed])
        if solution is None:
            continue
        found.setdefault(solution.signature, solution)
        waiting += [banned | {row} for row, _ in sorted(solution.signature)]
    return list(found.values())


def _greedy(problem: Problem, alternatives: Alternatives, alternative_cost: NDArray[np.float64]) -> Solution | None:
    """At every step the cheapest width, and the best cover among those finished after any step."""
    left = problem.multiplicity.copy()
    by_width = alternative_cost / alternatives.adds
    used: list[int] = []
    width, cost = 0, 0.0
    best: tuple[float, list[int]] | None = None
    while width < problem.target:
        free = left[alternatives.row] > 0
        missing = problem.target - width
        finishing = np.flatnonzero(free & (alternatives.adds >= missing))
        if len(finishing):
            last = int(finishing[np.argmin(alternative_cost[finishing])])
            if best is None or cost + alternative_cost[last] < best[0]:
                best = (cost + float(alternative_cost[last]), [*used, last])
        adding = np.flatnonzero(free & (alternatives.adds < missing))
        if not len(adding):
            break
        taken = int(adding[np.argmin(by_width[adding])])
        used.append(taken)
        left[alternatives.row[taken]] -= 1
        width, cost = width + int(alternatives.adds[taken]), cost + float(alternative_cost[taken])
    if best is None:
        return None
    return Solution(
        selections=tuple(
            Selection(int(alternatives.row[each]), int(alternatives.alternative[each])) for each in best[1]
        ),
        first=sum(int(alternatives.first[each]) for each in best[1]),
        second=sum(int(alternatives.second[each]) for each in best[1]),
    )
