"""A few good covers at once, by a greedy hand: the first budget of the search.

Knows nothing that the exactness of the search rests on: whatever stands here, the
best cover is found; with good first covers it is found sooner.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from inventory.fill.task import Choices, Cover, Ints, Pick, Task

PROMISING_ROWS = 256
FEW_GREATEST = 1024
FAR_TOO_MUCH = 1 << 60


def promising(choices: Choices, copies: Ints, target: int, worth: NDArray[np.float64]) -> Choices:
    """The choices of the rows that cost least for their width, enough of them to fill the target several times.

    `worth` is a cost by choice. The rest of the rack only matters where these leave something better open.
    """
    if len(choices.starts) <= PROMISING_ROWS:
        return choices
    chosen = np.zeros(len(copies), dtype=np.bool_)
    chosen[rows_of_least_worth(choices, copies, target, worth, PROMISING_ROWS)] = True
    return choices.only(chosen[choices.row])


def rows_of_least_worth(choices: Choices, copies: Ints, target: int, worth: NDArray[np.float64], wanted: int) -> Ints:
    """So many rows, or more if those do not fill the target several times; in no order."""
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


def least_pieces(choices: Choices, copies: Ints, target: int) -> int:
    """The fewest pieces whose widest choices reach the target together."""
    widest = choices.adds[choices.ends]
    width, pieces = 0, 0
    for order in greatest_first(widest):
        for adds, many in zip(widest[order].tolist(), copies[choices.row[choices.ends[order]]].tolist(), strict=True):
            needed = -(-(target - width) // adds)
            if needed <= many:
                return pieces + int(needed)
            width, pieces = width + adds * many, pieces + many
    raise ValueError("the pieces do not reach the target")


def greatest_first(values: Ints) -> Iterator[NDArray[np.intp]]:
    """Where the values stand, the greatest first: first a few of them, then, if those are not enough, all others."""
    few = np.arange(len(values))
    if len(values) > FEW_GREATEST:
        few = np.argpartition(-values, FEW_GREATEST)[:FEW_GREATEST]
    yield few[np.argsort(-values[few], kind="stable")]
    if len(few) < len(values):
        others = np.setdiff1d(np.arange(len(values)), few)
        yield others[np.argsort(-values[others], kind="stable")]


def widest_together(task: Task, pieces: int) -> int:
    """The greatest width of so many pieces, or the target if that is less."""
    width = 0
    most = widest_of_each(task)
    for order in greatest_first(most):
        for adds, many in zip(most[order].tolist(), task.copies[order].tolist(), strict=True):
            taken = min(many, pieces)
            width, pieces = width + adds * taken, pieces - taken
            if not pieces or width >= task.target:
                return int(min(width, task.target))
    return width


def with_another(adds: Ints, cost: Ints, together: int) -> Ints:
    """By choice: its cost and that of the cheapest choice with which it adds so much; FAR_TOO_MUCH for none."""
    order = np.argsort(adds)
    least = np.append(np.minimum.accumulate(cost[order][::-1])[::-1], FAR_TOO_MUCH)
    total = np.empty(len(adds), dtype=np.int64)
    total[order] = cost[order] + least[np.searchsorted(adds[order], together - adds[order])]
    return total


def rows_for_few_pieces(task: Task, wanted: int) -> Ints:
    """Up to so many rows that with one more piece, and the widest there are, reach the target at the least second cost.

    The pieces are as few as can be; in no order.
    """
    pieces = least_pieces(task.choices, task.copies, task.target)
    choices = task.choices.only(task.choices.adds >= task.target - widest_together(task, pieces - 1))
    total = choices.second
    if pieces > 1:
        total = with_another(choices.adds, choices.second, task.target - widest_together(task, pieces - 2))
    few = np.arange(len(total)) if len(total) <= wanted else np.argpartition(total, wanted)[:wanted]
    return choices.row[few[total[few] < FAR_TOO_MUCH]]


def widest_of_each(task: Task) -> Ints:
    """By row: the greatest width of one piece."""
    most = np.zeros(len(task.copies), dtype=np.int64)
    np.maximum.at(most, task.choices.row, task.choices.adds)
    if task.free_strips is not None:
        np.maximum.at(most, task.free_strips.row, task.free_strips.adds + task.free_strips.most)
    return most


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
