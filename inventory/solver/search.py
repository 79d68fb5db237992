"""The best covers of a task, proven (cutting model, section 9).

Method: (1) a few good covers by a greedy hand give a budget; (2) guides, which are
Lagrangian bounds, leave out every choice that can be in no cover within it; (3) an
exact sweep over the kinds of pieces that are left finds the cheapest, and those next
best that differ from it and from each other in at least one piece. Proven: every cover,
unless the sweep had to cut its list. Cost: one pass over all choices, then a sweep over the
few kinds left, whose lists grow with the covers that are wanted.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from inventory.solver.cardinality import rows_for_few_pieces
from inventory.solver.core_problem import MOST_STATES
from inventory.solver.k_best import best_in_order
from inventory.solver.local_search import near_covers
from inventory.solver.presolve import Outlook, good_covers, likely_rows, outlook_on
from inventory.solver.problem import Cost, Cover, Covers, FreeStrips, Ints, Task
from inventory.solver.reduction import Prepared, Winnowed, floor_of, prepare, winnow

FEW_ROWS = 6
"""So many rows are swept at once; where more are left, a look around the guide's own choice tightens the budget."""
FEW_LIKELY, MANY_LIKELY, ONE_LIKELY_IN = 256, 1024, 20
"""So many promising rows of a large rack (at least, at most, one in so many) seldom miss one of the best covers."""
COARSER_BITS = 8


def best_covers(
    task: Task, count: int, *, fewest: bool = False, most_states: int = MOST_STATES, limit: Cost | None = None
) -> Covers:
    """The `count` best covers of the task, best first; fewer where there are no more.

    Covers differ in how many pieces of some kind they take. `fewest` says that the
    first cost counts pieces, which earns a second, sharper guide. `limit` is what the last of
    these covers costs at most, where that is known: it saves the looking for a budget.
    """
    if not task.can_be_filled():
        return Covers((), 0, True)
    outlook = outlook_on(task, count, fewest=fewest, limit=limit)
    if outlook is None:
        return _coarser(task, count, fewest, most_states)
    scale = outlook.budget.scale
    left, by_hand = _narrowed(outlook, count, known=limit is not None)
    prepared = prepare(left)
    covers, complete = best_in_order(prepared, count, most_states)
    if complete:
        return Covers(covers, covers[0].first, True)
    covers = _filled_up(covers, by_hand or covers_nearby(task, count, fewest=fewest), count)
    return Covers(covers, _bound(prepared, scale, covers), False)


def covers_nearby(task: Task, count: int, *, fewest: bool) -> list[Cover]:
    """Up to `count` good covers that differ, found without a sweep, best first; for a budget."""
    outlook = outlook_on(task, count, fewest=fewest) if task.can_be_filled() else None
    if outlook is None:
        return []
    return list(_filled_up((), _narrowed(outlook, count, known=False)[1], count))


def _narrowed(outlook: Outlook, count: int, *, known: bool) -> tuple[Winnowed, list[Cover]]:
    """What the guides leave, and the covers by hand; those near the guide's own tighten a budget not `known`."""
    left, by_hand = winnow(outlook.task, outlook.likely, outlook.budget), list(outlook.by_hand)
    if not known and len(left.rows) > FEW_ROWS and not outlook.task.meet:
        scale = outlook.budget.scale
        by_hand += near_covers(left.task, scale, left.price, count)
        tighter = _limit(by_hand, scale, count)
        if tighter is not None:
            left = left.within(tighter)
    return left, by_hand


def _limit(covers: list[Cover], scale: int, count: int) -> int | None:
    """What the last of `count` covers that differ costs; None where there are not so many."""
    by_pieces: dict[frozenset[tuple[int, int]], int] = {}
    for each in covers:
        cost = each.first * scale + each.second
        by_pieces[each.pieces] = min(cost, by_pieces.get(each.pieces, cost))
    return sorted(by_pieces.values())[count - 1] if len(by_pieces) >= count else None


def _filled_up(covers: tuple[Cover, ...], by_hand: list[Cover], count: int) -> tuple[Cover, ...]:
    """Where sweeps were cut short: the covers found, and those of the greedy hand that differ from them."""
    different = {each.pieces: each for each in (*by_hand, *covers)}
    return tuple(sorted(different.values(), key=lambda each: (each.first, each.second))[:count])


def promising_rows(task: Task, *, fewest: bool) -> Ints:
    """Rows that alone are likely to hold the best covers, in order."""
    wanted = min(max(len(task.copies) // ONE_LIKELY_IN, FEW_LIKELY), MANY_LIKELY)
    rows = likely_rows(task, wanted)
    if fewest:
        rows = np.concatenate((rows, rows_for_few_pieces(task, wanted)))
    return np.unique(rows)


def rows_within(task: Task, limit: Cost, count: int, promising: Ints, *, fewest: bool) -> Ints:
    """The rows that can be in one of `count` best covers within the limit, in order.

    The guides' prices are found from the `promising` rows.
    """
    chosen = np.zeros(len(task.copies), dtype=np.bool_)
    chosen[promising] = True
    outlook = outlook_on(task, count, fewest=fewest, limit=limit, likely=task.choices.only(chosen[task.choices.row]))
    if outlook is None:
        return np.arange(len(task.copies))
    return winnow(outlook.task, outlook.likely, outlook.budget).rows


def lower_bound(task: Task, free_strips: int) -> int:
    """What no cover of the task with up to so many free strips undercuts in the first cost."""
    outlook = outlook_on(task, 1, fewest=False) if task.can_be_filled() else None
    if outlook is None:
        return 0
    scale = outlook.budget.scale
    return max(-(-(floor_of(task, outlook.likely, outlook.budget, free_strips) - (scale - 1)) // scale), 0)


def _bound(prepared: Prepared, scale: int, covers: tuple[Cover, ...]) -> int:
    """The first cost that no cover undercuts, from the guide's floor."""
    floor = max(-(-(prepared.floor - (scale - 1)) // scale), 0)
    return min([floor, *(each.first for each in covers)])


def _coarser(task: Task, count: int, fewest: bool, most_states: int) -> Covers:
    """Where both costs together do not fit 64 bits: the second one in coarser steps, and nothing called proven."""
    if not int(task.choices.second.max()):
        # The first cost alone does not fit 64 bits: what was found by hand must do.
        return Covers(tuple(sorted(good_covers(task, count), key=lambda each: each.first)), 0, False)
    coarse = replace(
        task,
        choices=replace(task.choices, second=task.choices.second >> COARSER_BITS),
        free_strips=None if task.free_strips is None else _coarser_strips(task.free_strips),
    )
    return replace(best_covers(coarse, count, fewest=fewest, most_states=most_states), proven=False)


def _coarser_strips(strips: FreeStrips) -> FreeStrips:
    def cost_at(index: Ints, widths: Ints) -> tuple[Ints, Ints]:
        first, second = strips.cost_at(index, widths)
        return first, second >> COARSER_BITS

    return replace(
        strips,
        cost_at=cost_at,
        corners=tuple(replace(each, second=each.second >> COARSER_BITS) for each in strips.corners),
    )
