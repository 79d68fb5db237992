"""Why the rack cannot fill a board, and which board it could fill (cutting model, section 10).

Sizes are `Length`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from inventory.core.allowances import InvalidAllowance
from inventory.core.lengths import Length
from inventory.core.offcuts import species_key
from inventory.cutting.alternatives import Misfit
from inventory.cutting.offcut_arrays import IntArray
from inventory.cutting.rack_table import RackTable
from inventory.fill.demands import Part, max_reach, parts_of
from inventory.fill.eligible_pieces import eligible_pieces, piece_standing
from inventory.fill.glue_ups import glue_ups_for, has_open_depth, with_each_depth
from inventory.fill.item_classes import ItemClasses, group_table
from inventory.fill.plan import (
    MARKED,
    ON_HOLD,
    OTHER_SPECIES,
    RULED_OUT,
    AllowanceFix,
    NearMiss,
    PlannedGlueUp,
    Shortage,
    Shortfall,
)
from inventory.fill.request import BoardRequest, InvalidRequest, Mix
from inventory.orders.feasibility import can_fill
from inventory.orders.purchases import purchases
from inventory.orders.strip_inventory import pool_parts
from inventory.orders.unmet_demands import unmet_demands

MAX_NEAR_MISSES = 5
ADJUSTABLE_ALLOWANCES = {
    Misfit.SHORT: ("end_trim",),
    Misfit.NARROW: ("flattening", "edge_jointing", "min_strip_width"),
    Misfit.THIN: ("flattening", "rough_face", "finished_face", "thinnest_lamination"),
}
"""By misfit, the allowances that could be smaller for once, the least risky first."""


def order_shortfall(table: RackTable, glue_ups: Sequence[PlannedGlueUp], on_hold: int) -> Shortfall:
    """What glue-ups lack together, what to buy for it, why pieces were ruled out, and the nearest misses.

    `table` is the whole rack, whatever the request rules out. The largest sizes are those of the first glue-up alone;
    of a panel there are none, since they are not its board's (`orders.largest_board`). `on_hold` counts pieces on hold
    for other boards.
    """
    first = glue_ups[0].request
    eligible = eligible_pieces(table, *dict.fromkeys(each.request for each in glue_ups))
    item_classes = group_table(eligible.table, first.allowances, first.on, by_age=False)
    reasons, nearest = _misfits(table, first)
    parts, totals = _reach([each.part for each in pool_parts(glue_ups)], item_classes, first.mix)
    shortfall = Shortfall(
        shortages=_shortages(parts, totals),
        reasons=reasons | {ON_HOLD: on_hold},
        nearest=nearest,
        largest_width=None,
        largest_length=None,
        largest_thickness=None,
        to_buy=purchases(parts, totals, first.unit),
        demands=unmet_demands(table, glue_ups),
        by_mixing=first.mix is Mix.ONE and _is_feasible(glue_ups, item_classes),
    )
    if glue_ups[0].rows or eligible.absent:
        return shortfall
    return replace(
        shortfall,
        largest_width=_largest(first.width, lambda size: replace(first, width=size), item_classes),
        largest_length=_largest(first.length, lambda size: replace(first, length=size), item_classes),
        largest_thickness=_largest(first.thickness, lambda size: replace(first, thickness=size), item_classes),
    )


def batch_shortages(usable: RackTable, glue_ups: Sequence[PlannedGlueUp]) -> tuple[Shortage, ...]:
    """What all glue-ups lack together, from the pieces that may serve."""
    first = glue_ups[0].request
    item_classes = group_table(usable, first.allowances, first.on, by_age=False)
    return _shortages(*_reach([each.part for each in pool_parts(glue_ups)], item_classes, first.mix))


def at_nearest_depth(usable: RackTable, request: BoardRequest) -> BoardRequest:
    """The request with the row depth at which least is missing for it alone, if it asks for none."""
    if not has_open_depth(request):
        return request
    return min(
        with_each_depth(request),
        key=lambda each: sum(shortage.width for shortage in batch_shortages(usable, glue_ups_for([each]))),
    )


def _reach(parts: Sequence[Part], item_classes: ItemClasses, mix: Mix) -> tuple[list[Part], list[int]]:
    """The parts, and what all item classes could add to each alone.

    Where each part is of one species, it is named for the species that adds most.
    """
    if mix is Mix.FREE:
        return list(parts), max_reach(parts, item_classes)
    named, totals = [], []
    for part in parts:
        rows = item_classes.rows_for(part.demand)
        species = sorted({species_key(item_classes.names[number]) for number in item_classes.species[rows].tolist()})
        of_species = [replace(part, demand=replace(part.demand, species=(each,))) for each in species] or [part]
        reach = max_reach(of_species, item_classes)
        best = max(range(len(reach)), key=lambda place: reach[place])
        named.append(of_species[best])
        totals.append(reach[best])
    return named, totals


def _is_feasible(glue_ups: Sequence[PlannedGlueUp], item_classes: ItemClasses) -> bool:
    """Whether all parts, each alone, could be filled from mixed species."""
    parts = [each.part for each in pool_parts(glue_ups)]
    return not _shortages(parts, max_reach(parts, item_classes))


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


def _misfits(table: RackTable, request: BoardRequest) -> tuple[dict[str, int], tuple[NearMiss, ...]]:
    """How many pieces serve no part for which reason, and the nearest misses.

    A piece is counted once, under the first of: other species, short, narrow, thin, ruled out by the request, marked.
    So those that are marked or ruled out would serve otherwise. A near miss has one reason alone.
    """
    standing = piece_standing(table, request)
    table = replace(table, required=standing.required)
    arrays = table.arrays(request.allowances, request.on)
    parts = parts_of(request)
    least: IntArray = np.full((len(Misfit), len(table)), np.iinfo(np.int64).max, dtype=np.int64)
    fits, of_species = (np.zeros(len(table), dtype=np.bool_) for _ in range(2))
    for part in parts:
        rows = table.rows_for(part.demand)
        misfits = part.construction.misfits(arrays.rows(rows), part.glue_up)
        lacking = np.stack([misfits.short, misfits.narrow, misfits.thin])
        of_species[rows] = True
        fits[rows] |= (lacking == 0).all(axis=0)
        least[:, rows] = np.minimum(least[:, rows], lacking)
    barred = standing.ruled_out | standing.marked
    reasons: dict[str, int] = {}
    counted = fits | ~of_species
    near = []
    alone = ((least > 0).sum(axis=0) == 1) & of_species & ~fits & ~barred
    for each, by in zip(Misfit, least, strict=True):
        here = (by > 0) & ~counted
        reasons[each.value] = int(table.count[here].sum())
        near += [(int(by[row]), int(row), each) for row in np.flatnonzero(alone & (by > 0))]
        counted = counted | here
    reasons[OTHER_SPECIES] = int(table.count[~of_species].sum())
    reasons[MARKED] = int(table.count[fits & standing.marked & ~standing.ruled_out].sum())
    reasons[RULED_OUT] = int(table.count[fits & standing.ruled_out].sum())
    return reasons, _nearest(table, request, near)


def _nearest(table: RackTable, request: BoardRequest, near: Sequence[tuple[int, int, Misfit]]) -> tuple[NearMiss, ...]:
    """The nearest of these misses: by how much, the row, and what is wrong with it."""
    last = sorted(by for by, _, _ in near)[:MAX_NEAR_MISSES][-1:]
    within = [each for each in near if [each[0]] <= last]
    rows = np.array([row for _, row, _ in within], dtype=np.int64)
    misses = [
        (NearMiss(offcut.tag, each.value, Length(by)), row)
        for offcut, (by, row, each) in zip(table.offcuts(rows), within, strict=True)
    ]
    misses.sort(key=lambda miss: (miss[0].by, miss[0].tag))
    return tuple(
        replace(miss, fix=_find_fix(miss, table.select(np.array([row])), request))
        for miss, row in misses[:MAX_NEAR_MISSES]
    )


def _find_fix(miss: NearMiss, piece: RackTable, request: BoardRequest) -> AllowanceFix | None:
    """The first allowance that, smaller by what is missing, lets the piece serve."""
    for name in ADJUSTABLE_ALLOWANCES[Misfit(miss.reason)]:
        for by in (miss.by, -(-miss.by // 2)):
            to = Length(getattr(request.allowances, name) - by)
            try:
                allowances = request.allowances.with_value(name, to)
            except InvalidAllowance:  # smaller than this allowance can be
                continue
            if _serves(piece, replace(request, allowances=allowances)):
                return AllowanceFix(name, to)
    return None


def _serves(piece: RackTable, request: BoardRequest) -> bool:
    item_classes = group_table(piece, request.allowances, request.on, by_age=False)
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
    return _bisect_largest(least, asked, lambda size: can_fill(glue_ups_for([resized(Length(size))]), item_classes))


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
