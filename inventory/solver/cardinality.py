"""Covers of as few pieces as can be: how many that is, how wide so many are, and what goes best with what.

Bounds rest on what stands here. Knows nothing of guides, nor of how a cover is found.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import Choices, Ints, Task

FEW_GREATEST = 1024
FAR_TOO_MUCH = 1 << 60
"""More than any cover costs."""


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


def widest_of_each(task: Task) -> Ints:
    """By row: the greatest width of one piece."""
    most = np.zeros(len(task.copies), dtype=np.int64)
    np.maximum.at(most, task.choices.row, task.choices.adds)
    if task.free_strips is not None:
        np.maximum.at(most, task.free_strips.row, task.free_strips.adds + task.free_strips.most)
    return most


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


def greatest_first(values: Ints) -> Iterator[NDArray[np.intp]]:
    """Where the values stand, the greatest first: first a few of them, then, if those are not enough, all others."""
    few = np.arange(len(values))
    if len(values) > FEW_GREATEST:
        few = np.argpartition(-values, FEW_GREATEST)[:FEW_GREATEST]
    yield few[np.argsort(-values[few], kind="stable")]
    if len(few) < len(values):
        others = np.setdiff1d(np.arange(len(values)), few)
        yield others[np.argsort(-values[others], kind="stable")]
