"""Why the rack cannot fill a board, and which board it could fill (cutting model, section 10).

Knows how misfits are counted and told. Knows no rule of cutting. Sizes are Length.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from inventory.core.lengths import Length
from inventory.core.offcuts import NotAnAllowance, Offcut
from inventory.cutting.alternatives import Misfit
from inventory.cutting.costs import Preference
from inventory.cutting.offcut_arrays import Ints
from inventory.fill.demands import Part, parts_of, problem_for, reached, rows_for
from inventory.fill.item_classes import ItemClasses, group_offcuts
from inventory.fill.plan import GlueUpTold, Lack, NearMiss, Rescue, Shortfall
from inventory.fill.request import BoardRequest, NotARequest
from inventory.orders.strip_inventory import group_parts
from inventory.solver.joint import is_feasible_in_sequence

OTHER_SPECIES = "other species"
SET_ASIDE = "set aside"
NEAREST = 5
COULD_GIVE_WAY = {
    Misfit.SHORT: ("end_trim",),
    Misfit.NARROW: ("flattening", "edge_jointing", "min_strip_width"),
    Misfit.THIN: ("flattening", "rough_face", "finished_face", "thinnest_lamination"),
}
"""By misfit: the allowances that a maker could make smaller for once, the first the least risky."""


def shortfall_of(rack: Sequence[Offcut], request: BoardRequest, parts: tuple[Part, ...], set_aside: int) -> Shortfall:
    """What is missing, why pieces fell out, the nearest misses, and the largest boards."""
    wanted, item_classes = _wanted(rack, request)
    return replace(
        _without_sizes(_pieces(rack), wanted, item_classes, request, parts, set_aside),
        largest_width=_largest(request.width, lambda size: replace(request, width=size), item_classes),
        largest_length=_largest(request.length, lambda size: replace(request, length=size), item_classes),
        largest_thickness=_largest(request.thickness, lambda size: replace(request, thickness=size), item_classes),
    )


def panels_shortfall_of(rack: Sequence[Offcut], glue_ups: Sequence[GlueUpTold], set_aside: int) -> Shortfall:
    """The shortfall of an end-grain board's panels; no largest sizes, for those of a panel are not the board's."""
    first = glue_ups[0].request
    wanted, item_classes = _wanted(rack, first)
    told = _without_sizes(_pieces(rack), wanted, item_classes, first, parts_of(first), set_aside)
    return replace(told, lacks=batch_lacks(rack, glue_ups))


def _wanted(rack: Sequence[Offcut], request: BoardRequest) -> tuple[list[Offcut], ItemClasses]:
    """The offcuts whose wood may go into the board, and their lots."""
    wanted = [each for each in rack if request.takes(each.species)]
    return wanted, group_offcuts(wanted, request.allowances, request.on, by_age=False)


def _pieces(rack: Sequence[Offcut]) -> int:
    return sum(each.count for each in rack)


def _without_sizes(
    pieces: int,
    wanted: list[Offcut],
    item_classes: ItemClasses,
    request: BoardRequest,
    parts: tuple[Part, ...],
    set_aside: int,
) -> Shortfall:
    """All of a shortfall but the largest boards; `pieces` counts the whole rack."""
    reasons, nearest = _misfits(parts, item_classes)
    nearest = tuple(replace(miss, rescue=_rescue(miss, wanted, request)) for miss in nearest)
    reasons[OTHER_SPECIES] = pieces - _pieces(wanted)
    reasons[SET_ASIDE] = set_aside
    return Shortfall(_lacks(parts, reached(parts, item_classes)), reasons, nearest, None, None, None)


def batch_lacks(rack: Sequence[Offcut], glue_ups: Sequence[GlueUpTold]) -> tuple[Lack, ...]:
    """What glue-ups lack together."""
    item_classes = group_offcuts(rack, glue_ups[0].request.allowances, glue_ups[0].request.on, by_age=False)
    parts = [each.part for each in group_parts(glue_ups)]
    return _lacks(parts, reached(parts, item_classes))


def batch_shortfall_of(rack: Sequence[Offcut], glue_ups: Sequence[GlueUpTold], set_aside: int) -> Shortfall:
    """The shortfall of glue-ups that can't all be filled: what they lack together, and why pieces fell out.

    The largest sizes are those of the first glue-up alone.
    """
    alone = shortfall_of(rack, glue_ups[0].request, parts_of(glue_ups[0].request), set_aside)
    return replace(alone, lacks=batch_lacks(rack, glue_ups))


def _lacks(parts: Sequence[Part], reach: list[int]) -> tuple[Lack, ...]:
    """What each part is short of, taken alone; with nothing short, all parts compete for the same pieces."""
    lacks = []
    for part, there in zip(parts, reach, strict=True):
        short = part.demand.target - there
        if short > 0:
            accent = part.demand.accent
            width = Length(short if accent is None else short * accent)
            lacks.append(Lack(part.demand.bands[0], part.demand.species, width, None if accent is None else short))
    return tuple(lacks)


def _misfits(parts: tuple[Part, ...], item_classes: ItemClasses) -> tuple[dict[str, int], tuple[NearMiss, ...]]:
    """How many pieces fell out for which reason, a piece counted once, and the nearest misses.

    A piece falls out where it can serve no part that its species may serve; it is counted
    under the first of short, narrow, thin. A near miss has one reason alone.
    """
    least: Ints = np.full((len(Misfit), len(item_classes.members)), np.iinfo(np.int64).max, dtype=np.int64)
    serves = np.zeros(len(item_classes.members), dtype=np.bool_)
    for part in parts:
        rows = rows_for(part, item_classes)
        misfits = part.construction.misfits(item_classes.columns.rows(rows), part.glue_up)
        lacking = np.stack([misfits.short, misfits.narrow, misfits.thin])
        serves[rows] |= (lacking == 0).all(axis=0)
        least[:, rows] = np.minimum(least[:, rows], lacking)
    counts = item_classes.columns.count
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
    return reasons, tuple(near[:NEAREST])


def _rescue(miss: NearMiss, rack: Sequence[Offcut], request: BoardRequest) -> Rescue | None:
    """The first allowance which, made smaller by what is missing, lets the offcut serve."""
    offcut = next(each for each in rack if each.tag == miss.tag)
    for name in COULD_GIVE_WAY[Misfit(miss.reason)]:
        for by in (miss.by, -(-miss.by // 2)):
            to = Length(getattr(request.allowances, name) - by)
            try:
                allowances = request.allowances.with_value(name, to)
            except NotAnAllowance:  # smaller than this allowance can be
                continue
            if _serves(offcut, replace(request, allowances=allowances)):
                return Rescue(name, to)
    return None


def _serves(offcut: Offcut, request: BoardRequest) -> bool:
    item_classes = group_offcuts([offcut], request.allowances, request.on, by_age=False)
    return any(there > 0 for there in reached(parts_of(request), item_classes))


def _largest(asked: Length, resized: Callable[[Length], BoardRequest], item_classes: ItemClasses) -> Length | None:
    """The largest such size, to the nanometre, with which the rack fills the board, the others as asked."""

    def can_be(size: int) -> bool:
        try:
            resized(Length(size))
        except NotARequest:  # no board so small, or the accents alone are wider
            return False
        return True

    least = _first_that(asked, can_be)
    return _largest_that(least, asked, lambda size: can_fill(resized(Length(size)), item_classes))


def can_fill(request: BoardRequest, item_classes: ItemClasses) -> bool:
    """Whether these lots fill one board or panel; where pools share wood, whether they do one after another."""
    parts = parts_of(request)
    if any(there < part.demand.target for part, there in zip(parts, reached(parts, item_classes), strict=True)):
        return False
    if len(parts) == 1:
        return True
    return is_feasible_in_sequence([problem_for(part, item_classes, Preference.LEAST_WASTE) for part in parts])


def _first_that(asked: int, can_be: Callable[[int], bool]) -> int:
    """The smallest size that can be, where `asked` can and every size between."""
    low, high = 0, asked
    while high - low > 1:
        middle = (low + high) // 2
        if can_be(middle):
            high = middle
        else:
            low = middle
    return high


def _largest_that(least: int, asked: int, fills: Callable[[int], bool]) -> Length | None:
    """Halves the range in which the largest lies: a smaller size never gives fewer strips."""
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
