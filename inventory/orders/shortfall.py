"""Why the rack cannot fill a board, and which board it could fill (cutting model, section 10).

Sizes are `Length`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from inventory.core.allowances import InvalidAllowance
from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting.alternatives import Misfit
from inventory.cutting.costs import Preference
from inventory.cutting.offcut_arrays import IntArray
from inventory.fill.demands import Part, eligible_rows, max_reach, parts_of, problem_for
from inventory.fill.item_classes import ItemClasses, group_offcuts
from inventory.fill.plan import AllowanceFix, NearMiss, PlannedGlueUp, Shortage, Shortfall
from inventory.fill.request import BoardRequest, InvalidRequest
from inventory.orders.strip_inventory import pool_parts
from inventory.solver.branch_and_bound import is_feasible_in_sequence

OTHER_SPECIES = "other species"
ON_HOLD = "set aside"
MAX_NEAR_MISSES = 5
ADJUSTABLE_ALLOWANCES = {
    Misfit.SHORT: ("end_trim",),
    Misfit.NARROW: ("flattening", "edge_jointing", "min_strip_width"),
    Misfit.THIN: ("flattening", "rough_face", "finished_face", "thinnest_lamination"),
}
"""By misfit, the allowances that could be smaller for once, the least risky first."""


def order_shortfall(rack: Sequence[Offcut], glue_ups: Sequence[PlannedGlueUp], on_hold: int) -> Shortfall:
    """What glue-ups lack together, why pieces were ruled out, and the nearest misses.

    The largest sizes are those of the first glue-up alone; of a panel there are none, since
    they are not its board's (`orders.largest_board`). `on_hold` counts reserved pieces.
    """
    first = glue_ups[0].request
    eligible, item_classes = _eligible(rack, first)
    reasons, nearest = _misfits(parts_of(first), item_classes)
    reasons[OTHER_SPECIES] = _pieces(rack) - _pieces(eligible)
    reasons[ON_HOLD] = on_hold
    shortfall = Shortfall(
        shortages=batch_shortages(rack, glue_ups),
        reasons=reasons,
        nearest=tuple(replace(miss, fix=_find_fix(miss, eligible, first)) for miss in nearest),
        largest_width=None,
        largest_length=None,
        largest_thickness=None,
    )
    if glue_ups[0].rows:
        return shortfall
    return replace(
        shortfall,
        largest_width=_largest(first.width, lambda size: replace(first, width=size), item_classes),
        largest_length=_largest(first.length, lambda size: replace(first, length=size), item_classes),
        largest_thickness=_largest(first.thickness, lambda size: replace(first, thickness=size), item_classes),
    )


def _eligible(rack: Sequence[Offcut], request: BoardRequest) -> tuple[list[Offcut], ItemClasses]:
    """The offcuts of accepted species, and their item classes."""
    eligible = [each for each in rack if request.accepts(each.species)]
    return eligible, group_offcuts(eligible, request.allowances, request.on, by_age=False)


def _pieces(rack: Sequence[Offcut]) -> int:
    return sum(each.count for each in rack)


def batch_shortages(rack: Sequence[Offcut], glue_ups: Sequence[PlannedGlueUp]) -> tuple[Shortage, ...]:
    """What all glue-ups lack together."""
    item_classes = group_offcuts(rack, glue_ups[0].request.allowances, glue_ups[0].request.on, by_age=False)
    parts = [each.part for each in pool_parts(glue_ups)]
    return _shortages(parts, max_reach(parts, item_classes))


def _shortages(parts: Sequence[Part], totals: list[int]) -> tuple[Shortage, ...]:
    """What each part, taken alone, is short of; empty where parts only compete for the same pieces."""
    shortages = []
    for part, available in zip(parts, totals, strict=True):
        short = part.demand.target - available
        if short > 0:
            stripe = part.demand.stripe
            width = Length(short if stripe is None else short * stripe)
            shortages.append(
                Shortage(part.demand.bands[0], part.demand.species, width, None if stripe is None else short)
            )
    return tuple(shortages)


def _misfits(parts: tuple[Part, ...], item_classes: ItemClasses) -> tuple[dict[str, int], tuple[NearMiss, ...]]:
    """How many pieces were ruled out for which reason, and the nearest misses.

    A piece is ruled out where it can serve no part of its species; it is counted once, under
    the first of short, narrow, thin. A near miss has one reason alone.
    """
    least: IntArray = np.full((len(Misfit), len(item_classes.members)), np.iinfo(np.int64).max, dtype=np.int64)
    serves = np.zeros(len(item_classes.members), dtype=np.bool_)
    for part in parts:
        rows = eligible_rows(part, item_classes)
        misfits = part.construction.misfits(item_classes.arrays.rows(rows), part.glue_up)
        lacking = np.stack([misfits.short, misfits.narrow, misfits.thin])
        serves[rows] |= (lacking == 0).all(axis=0)
        least[:, rows] = np.minimum(least[:, rows], lacking)
    counts = item_classes.arrays.count
    counted = serves
    alone = (least > 0).sum(axis=0) == 1
    reasons: dict[str, int] = {}
    near: list[NearMiss] = []
    for each, by in zip(Misfit, least, strict=True):
        here = (by > 0) & ~counted
        reasons[each.value] = int(counts[here].sum())
        near += [
            NearMiss(offcut.tag, each.value, Length(int(by[row])))
            for row in np.flatnonzero(alone & (by > 0) & ~serves)
            for offcut in item_classes.members[row]
        ]
        counted = counted | here
    near.sort(key=lambda miss: (miss.by, miss.tag))
    return reasons, tuple(near[:MAX_NEAR_MISSES])


def _find_fix(miss: NearMiss, rack: Sequence[Offcut], request: BoardRequest) -> AllowanceFix | None:
    """The first allowance that, smaller by what is missing, lets the offcut serve."""
    offcut = next(each for each in rack if each.tag == miss.tag)
    for name in ADJUSTABLE_ALLOWANCES[Misfit(miss.reason)]:
        for by in (miss.by, -(-miss.by // 2)):
            to = Length(getattr(request.allowances, name) - by)
            try:
                allowances = request.allowances.with_value(name, to)
            except InvalidAllowance:  # smaller than this allowance can be
                continue
            if _serves(offcut, replace(request, allowances=allowances)):
                return AllowanceFix(name, to)
    return None


def _serves(offcut: Offcut, request: BoardRequest) -> bool:
    item_classes = group_offcuts([offcut], request.allowances, request.on, by_age=False)
    return any(available > 0 for available in max_reach(parts_of(request), item_classes))


def _largest(asked: Length, resized: Callable[[Length], BoardRequest], item_classes: ItemClasses) -> Length | None:
    """The largest such size, to the nanometer, at which the item classes fill the board, the others as asked."""

    def is_valid(size: int) -> bool:
        try:
            resized(Length(size))
        except InvalidRequest:  # no board is so small, or the stripes alone are wider
            return False
        return True

    least = _smallest_valid(asked, is_valid)
    return _bisect_largest(least, asked, lambda size: can_fill(resized(Length(size)), item_classes))


def can_fill(request: BoardRequest, item_classes: ItemClasses) -> bool:
    """Whether the item classes fill one board or panel; parts with common pieces are filled in sequence."""
    parts = parts_of(request)
    if any(
        available < part.demand.target for part, available in zip(parts, max_reach(parts, item_classes), strict=True)
    ):
        return False
    if len(parts) == 1:
        return True
    return is_feasible_in_sequence([problem_for(part, item_classes, Preference.LEAST_WASTE) for part in parts])


def _smallest_valid(asked: int, is_valid: Callable[[int], bool]) -> int:
    """The smallest valid size, where every size from it to `asked` is valid."""
    low, high = 0, asked
    while high - low > 1:
        middle = (low + high) // 2
        if is_valid(middle):
            high = middle
        else:
            low = middle
    return high


def _bisect_largest(least: int, asked: int, fills: Callable[[int], bool]) -> Length | None:
    """The largest size that is filled, by bisection: a smaller size never gives fewer strips."""
    if least >= asked or not fills(least):
        return None
    low, high = least, asked
    while high - low > 1:
        middle = (low + high) // 2
        if fills(middle):
            low = middle
        else:
            high = middle
    return Length(low)
