"""A few good covers at once, by a greedy hand: the first budget of the search.

Knows nothing that the exactness of the search rests on: whatever stands here, the
best cover is found; with good first covers it is found sooner.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import Choices, Cover, Ints, Pick, Task

PROMISING_ROWS = 256


def promising(choices: Choices, copies: Ints, target: int, worth: NDArray[np.float64]) -> Choices:
    """The choices of the rows that cost least for their width, enough of them to fill the target several times.

    `worth` is a cost by choice. The rest of the rack only matters where these leave something better open.
    """
    if len(choices.starts) <= PROMISING_ROWS:
        return choices
    chosen = np.zeros(len(copies), dtype=np.bool_)
    chosen[cheapest_rows(choices, copies, target, worth, PROMISING_ROWS)] = True
    return choices.only(chosen[choices.row])


def cheapest_rows(choices: Choices, copies: Ints, target: int, worth: NDArray[np.float64], wanted: int) -> Ints:
    """So many rows that cost least for their width, or more where those are too narrow together; in no order."""
    starts = choices.starts
    if len(starts) <= wanted:
        return choices.row[starts]
    ratio = np.minimum.reduceat(worth / np.minimum(choices.adds, target), starts)
    width = np.minimum(choices.adds[choices.ends], target) * copies[choices.row[starts]]
    while True:
        best = np.argpartition(ratio, wanted - 1)[:wanted]
        if width[best].sum() >= 4 * target or wanted == len(starts):
            break
        wanted = min(2 * wanted, len(starts))
    return choices.row[starts[best]]


def greedy_covers(task: Task, choices: Choices, worth: NDArray[np.float64], count: int) -> list[Cover]:
    """Up to `count` good covers that differ in kind; `worth` is the joint cost by choice of `choices`."""
    found: dict[frozenset[tuple[int, int]], Cover] = {}
    waiting: list[frozenset[int]] = [frozenset()]
    tried: set[frozenset[int]] = set()
    while waiting and len(found) < count and len(tried) < 4 * count:
        banned = waiting.pop(0)
        if banned in tried:
            continue
        tried.add(banned)
        allowed = ~np.isin(choices.row, list(banned))
        cover = _one(task, choices.only(allowed), worth[allowed])
        if cover is None:
            continue
        found.setdefault(cover.pieces, cover)
        waiting += [banned | {row} for row, _ in sorted(cover.pieces)]
    return list(found.values())


def _one(task: Task, choices: Choices, worth: NDArray[np.float64]) -> Cover | None:
    """At every step the cheapest width, and the best cover among those finished after any step."""
    left = task.copies.copy()
    by_width = worth / choices.adds
    used: list[int] = []
    width, cost = 0, 0.0
    best: tuple[float, list[int]] | None = None
    while width < task.target:
        free = left[choices.row] > 0
        missing = task.target - width
        finishing = np.flatnonzero(free & (choices.adds >= missing))
        if len(finishing):
            last = int(finishing[np.argmin(worth[finishing])])
            if best is None or cost + worth[last] < best[0]:
                best = (cost + float(worth[last]), [*used, last])
        adding = np.flatnonzero(free & (choices.adds < missing))
        if not len(adding):
            break
        taken = int(adding[np.argmin(by_width[adding])])
        used.append(taken)
        left[choices.row[taken]] -= 1
        width, cost = width + int(choices.adds[taken]), cost + float(worth[taken])
    if best is None:
        return None
    return Cover(
        picks=tuple(Pick(int(choices.row[each]), int(choices.take[each])) for each in best[1]),
        first=sum(int(choices.first[each]) for each in best[1]),
        second=sum(int(choices.second[each]) for each in best[1]),
    )
