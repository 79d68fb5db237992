"""The first look at a task: both costs joined in one number, and what a cover may cost.

Knows how two costs compared in order become one whole number, and when that number
would not fit 64 bits. Knows nothing of how the best cover is found.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inventory.solver.cardinality import least_pieces
from inventory.solver.greedy import cheapest_rows, greedy_covers, promising
from inventory.solver.problem import Choices, Cost, Cover, Ints, Task
from inventory.solver.reduction import Budget

MANY = 100
"""Hardly ever are so many pieces in one cover."""
FEW_NARROW = 256
"""So many of the narrowest pieces nearly always reach a target together."""
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


def outlook_on(
    task: Task, count: int, *, fewest: bool, limit: Cost | None = None, likely: Choices | None = None
) -> Outlook | None:
    """The first look at a task that can be filled; None where both costs together do not fit 64 bits.

    `fewest` says that the first cost counts pieces. `limit` is what the last of the
    `count` best covers is known to cost at most; where it is not known, covers by hand are found.
    `likely` choices are found where they are not given.
    """
    by_hand = [] if limit is not None else good_covers(task, count)
    if len(by_hand) == count:
        limit = max(each.cost for each in by_hand)
    seen = task
    if limit is not None:
        # No cover of interest has a first cost above this one, nor has any choice in it.
        seen = replace(task, choices=task.choices.hardly_more_than(task.choices.first <= limit[0]))
    scale, most = _joined(seen, count, limit)
    if most > MOST_JOINT_COST:
        return None
    joint = None if limit is None else most
    choices = seen.choices
    if likely is None:
        worth = (choices.first * scale + choices.second).astype(np.float64)
        likely = promising(choices, task.copies, task.target, worth)
    least = least_pieces(task.choices, task.copies, task.target) if fewest else None
    return Outlook(seen, likely, Budget(scale, joint, least, most), by_hand)


def _joined(task: Task, count: int, limit: Cost | None) -> tuple[int, int]:
    """One more than the second cost of any cover that the search can call best, and what such a cover costs at most."""
    if limit is not None:
        scale = 1 + _most_second_at_a_glance(task, count)
        if limit[0] * scale + limit[1] <= MOST_JOINT_COST:
            return scale, limit[0] * scale + limit[1]
    most_first, most_second = _most(task, count)
    scale = 1 + most_second
    return scale, most_first * scale + most_second if limit is None else limit[0] * scale + limit[1]


def _most_second_at_a_glance(task: Task, count: int) -> int:
    """At least what `_most` says of the second cost: every piece the narrowest and the dearest."""
    choices, strips = task.choices, task.free_strips
    narrowest = int(choices.adds.min(initial=task.target))
    dearest = int(choices.second.max(initial=0))
    if strips is not None:
        dearest = max(dearest, int(strips.corners[-1].second.max(initial=0)))
    return _most_in_a_cover(-(-task.target // narrowest), count) * dearest


def _most_in_a_cover(without_spare: int, count: int) -> int:
    """How many pieces one of `count` best covers has at most, if one without a piece to spare has so many.

    Of a cover with pieces to spare, those without one or another of them are better, and differ.
    """
    return without_spare + 1 + count


def good_covers(task: Task, count: int) -> list[Cover]:
    """Up to `count` covers by a greedy hand."""
    likely = promising(task.choices, task.copies, task.target, _worth(task.choices, _about(task)))
    return greedy_covers(task, likely, _worth(likely, _about(task)), count)


def likely_rows(task: Task, wanted: int) -> Ints:
    """So many rows or more that look best for their width, in no order."""
    return cheapest_rows(task.choices, task.copies, task.target, _worth(task.choices, _about(task)), wanted)


def _about(task: Task) -> float:
    """A scale by which the first cost outweighs the second one of a whole cover, hardly ever too small."""
    return MANY * (1.0 + int(task.choices.second.max()))


def _worth(choices: Choices, scale: float) -> NDArray[np.float64]:
    worth: NDArray[np.float64] = choices.first.astype(np.float64)
    worth *= scale
    worth += choices.second
    return worth


def _most(task: Task, count: int) -> tuple[int, int]:
    """At least the first and the second cost of any cover that the search can call best."""
    choices, copies = task.choices, task.copies
    pieces = _most_in_a_cover(_most_pieces(task), count)
    dearest = [np.zeros(len(copies), dtype=np.int64) for _ in range(2)]
    np.maximum.at(dearest[0], choices.row, choices.first)
    np.maximum.at(dearest[1], choices.row, choices.second)
    strips = task.free_strips
    if strips is not None:
        widest = strips.corners[-1]
        np.maximum.at(dearest[0], strips.row, widest.first)
        np.maximum.at(dearest[1], strips.row, widest.second)
    return _dearest_together(dearest[0], copies, pieces), _dearest_together(dearest[1], copies, pieces)


def _most_pieces(task: Task) -> int:
    """How many of the narrowest pieces reach the target together, or would with as many as it takes of the last."""
    choices, starts = task.choices, task.choices.starts
    if not len(choices):
        # Free strips alone are left, of which a cover has one.
        return 0
    adds, many = np.minimum(choices.adds[starts], task.target), task.copies[choices.row[starts]]
    few = FEW_NARROW
    while True:
        order = np.argpartition(adds, few)[:few] if few < len(adds) else np.arange(len(adds))
        order = order[np.argsort(adds[order])]
        reached = np.cumsum(adds[order] * many[order])
        if few >= len(adds) or reached[-1] >= task.target:
            break
        few *= 4
    last = min(int(np.searchsorted(reached, task.target)), len(order) - 1)
    narrow = int(adds[order[last]])
    before = int(reached[last]) - narrow * int(many[order[last]])
    return int(many[order[:last]].sum()) + -(-(task.target - before) // narrow)


def _dearest_together(dearest: Ints, copies: Ints, pieces: int) -> int:
    """What so many pieces cost at most."""
    order = np.argpartition(-dearest, pieces)[:pieces] if pieces < len(dearest) else np.arange(len(dearest))
    order = order[np.argsort(-dearest[order])]
    enough = np.clip(pieces - (np.cumsum(copies[order]) - copies[order]), 0, copies[order])
    some = np.flatnonzero(enough)
    return sum(cost * many for cost, many in zip(dearest[order[some]].tolist(), enough[some].tolist(), strict=True))
