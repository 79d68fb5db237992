"""The first look at a task: both costs joined in one number, and what a cover may cost.

Knows how two costs compared in order become one whole number, and when that number
would not fit 64 bits. Knows nothing of how the best cover is found.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inventory.fill.field import Budget
from inventory.fill.greedy import greedy_covers, least_pieces, promising
from inventory.fill.task import Choices, Cover, Ints, Task

MOST_JOINT_COST = 1 << 57
"""What a cover may cost, so that every sum that a search forms fits 64 bits."""


@dataclass(frozen=True)
class Outlook:
    """A task as it is first seen.

    `task` is without the choices that cost more than a cover may; `likely` are those of
    the others that look best. `by_hand` are a few good covers.
    """

    task: Task
    likely: Choices
    budget: Budget
    by_hand: list[Cover]


def outlook_on(task: Task, count: int, *, fewest: bool) -> Outlook | None:
    """The first look at a task that can be filled; None where both costs together do not fit 64 bits.

    `fewest` says that the first cost counts pieces.
    """
    by_hand = good_covers(task, count)
    seen = task
    if len(by_hand) == count:
        # No cover of interest has a first cost above all of these, nor has any choice in it.
        dearest = max(each.first for each in by_hand)
        seen = replace(task, choices=task.choices.only(task.choices.first <= dearest))
    most_first, most_second = _most(seen, count)
    scale = 1 + most_second
    joined = sorted(each.first * scale + each.second for each in by_hand)
    limit = joined[-1] if len(by_hand) == count else None
    most = most_first * scale + most_second if limit is None else limit
    if most > MOST_JOINT_COST:
        return None
    choices = seen.choices
    joint = choices.first * scale + choices.second
    likely = promising(choices, task.copies, task.target, joint.astype(np.float64))
    least = least_pieces(task.choices, task.copies, task.target) if fewest else None
    return Outlook(seen, likely, Budget(scale, limit, least, most), by_hand)


def good_covers(task: Task, count: int) -> list[Cover]:
    """Up to `count` covers by a greedy hand."""
    _, most_second = _most(task, count)
    worth = _worth(task.choices, 1.0 + most_second)
    likely = promising(task.choices, task.copies, task.target, worth)
    return greedy_covers(task, likely, _worth(likely, 1.0 + most_second), count)


def _worth(choices: Choices, scale: float) -> NDArray[np.float64]:
    worth: NDArray[np.float64] = choices.first.astype(np.float64) * scale + choices.second
    return worth


def _most(task: Task, count: int) -> tuple[int, int]:
    """At least the first and the second cost of any cover that the search can call best.

    Such a cover has no piece to spare beside those that a region of the search demands,
    so it has at most twice the pieces of the largest cover without a spare one, and some.
    """
    choices, copies = task.choices, task.copies
    starts = np.flatnonzero(np.r_[True, choices.row[1:] != choices.row[:-1]])
    order = np.argsort(choices.adds[starts])
    many = copies[choices.row[starts]][order]
    narrow = np.minimum(choices.adds[starts][order], task.target)
    reached = np.cumsum(narrow * many)
    last = min(int(np.searchsorted(reached, task.target)), len(order) - 1)
    before = int(reached[last] - narrow[last] * many[last])
    pieces = int(many[:last].sum()) + -(-(task.target - before) // int(narrow[last])) + 1
    pieces = 2 * pieces + count
    dearest = [np.zeros(len(copies), dtype=np.int64) for _ in range(2)]
    np.maximum.at(dearest[0], choices.row, choices.first)
    np.maximum.at(dearest[1], choices.row, choices.second)
    strips = task.free_strips
    if strips is not None:
        costs = strips.cost_at(np.arange(len(strips)), strips.most)
        np.maximum.at(dearest[0], strips.row, costs[0])
        np.maximum.at(dearest[1], strips.row, costs[1])
    return _dearest_together(dearest[0], copies, pieces), _dearest_together(dearest[1], copies, pieces)


def _dearest_together(dearest: Ints, copies: Ints, pieces: int) -> int:
    """What so many pieces cost at most."""
    order = np.argsort(-dearest)
    enough = np.clip(pieces - (np.cumsum(copies[order]) - copies[order]), 0, copies[order])
    some = np.flatnonzero(enough)
    return sum(cost * many for cost, many in zip(dearest[order[some]].tolist(), enough[some].tolist(), strict=True))
