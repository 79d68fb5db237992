"""From a rack and a request to the plan: the fills of each preference, or what is missing.

Knows how the parts of a board are searched together and told as fills. Knows no
rule of cutting and no method of search.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from inventory.cutting.cost import Preference
from inventory.cutting.cuts import Cut
from inventory.cutting.offers import glue_up_for
from inventory.fill.batch import fill_batch
from inventory.fill.cautions import with_cautions
from inventory.fill.glue_ups import depths_to_try, glue_ups_of, with_depth
from inventory.fill.lots import Lots, lots_of
from inventory.fill.parts import Part, fewest_first, parts_of, task_for
from inventory.fill.plan import Fill, GlueUpTold, Plan
from inventory.fill.request import BoardRequest, Grain, NotARequest
from inventory.fill.shortfall import batch_shortfall_of, shortfall_of
from inventory.fill.table import RackTable, table_of
from inventory.fill.thinning import Thinning
from inventory.fill.together import Joint, best_together
from inventory.measures import Length, volume_mm3
from inventory.pieces import Offcut


def fill_rack(rack: Sequence[Offcut] | RackTable, request: BoardRequest, *, set_aside: int = 0) -> Plan:
    """The best fills of the request from these offcuts, or a plan with a shortfall.

    `set_aside` counts the pieces that lie on the rack but are reserved; it is only
    told in the shortfall. The first fill of each preference is optimal in its order and
    says so (`proven`); where it can't be proven, `bound` says how far off it can be.
    """
    if request.grain is Grain.END:
        return _first_depth_that_fills(_all_of(rack), request, set_aside)
    if request.count > 1:
        return fill_boards(_all_of(rack), [request], set_aside=set_aside)
    parts = parts_of(request)
    table = rack if isinstance(rack, RackTable) else table_of(rack)
    thinning = Thinning(table, request, parts)
    fills: list[Fill] = []
    for preference in request.prefer:
        few = table.offcuts(thinning.rows(preference))
        by_age = preference is Preference.CLEAR_OUT
        fills += _fills(request, preference, parts, lots_of(few, request.allowances, request.on, by_age=by_age))
    if fills:
        return with_cautions(Plan(request, tuple(fills)))
    return Plan(request, (), shortfall_of(_all_of(rack), request, parts, set_aside))


def _all_of(rack: Sequence[Offcut] | RackTable) -> Sequence[Offcut]:
    return rack.all_offcuts() if isinstance(rack, RackTable) else rack


def fill_boards(rack: Sequence[Offcut], requests: Sequence[BoardRequest], *, set_aside: int = 0) -> Plan:
    """All boards of these requests filled together; preferences, allowances and day are the first one's.

    One fill for each preference, with `glue_ups`. If they can't all be filled, the
    shortfall is that of the first board which the rack can't fill alone, or of the first.
    """
    first = requests[0]
    glue_ups = glue_ups_of(requests)
    volume = sum(each.count * volume_mm3(each.length, each.width, each.thickness) for each in requests)
    fills: list[Fill] = []
    for preference, lots in _by_preference(rack, first):
        if len(glue_ups) == 1:
            here = _fills(glue_ups[0].request, preference, parts_of(glue_ups[0].request), lots)
        else:
            here = _batch(glue_ups, preference, lots)
        fills += [replace(each, board_volume=volume, glue_ups=glue_ups) for each in here]
    if fills:
        return with_cautions(Plan(first, tuple(fills)))
    return Plan(first, (), batch_shortfall_of(rack, glue_ups, set_aside))


def _batch(glue_ups: tuple[GlueUpTold, ...], preference: Preference, lots: Lots) -> list[Fill]:
    answer = fill_batch(glue_ups, preference, lots)
    if answer is None:
        return []
    request = glue_ups[0].request
    return [_told(request, preference, answer.cuts, answer.bound, answer.proven)]


def _told(request: BoardRequest, preference: Preference, cuts: tuple[Cut, ...], bound: int, proven: bool) -> Fill:
    glue_up = glue_up_for(request.length, request.width, request.thickness, request.allowances)
    return Fill(
        prefer=preference,
        proven=proven,
        bound=bound,
        cuts=cuts,
        board_volume=volume_mm3(request.length, request.width, request.thickness),
        strip_length=glue_up.strip_length,
        rough_thickness=glue_up.rough_thickness,
        target=glue_up.target,
    )


def _first_depth_that_fills(rack: Sequence[Offcut], request: BoardRequest, set_aside: int) -> Plan:
    """The plan of the largest row depth with which the rack fills an end-grain request."""
    depths = depths_to_try(request)
    plan: Plan | None = None
    for depth in depths:
        plan = fill_boards(rack, [with_depth(request, depth)], set_aside=set_aside)
        if plan.fills:
            return plan
    if plan is None:
        raise NotARequest(
            "The board is shorter than the smallest usual row depth: nothing can be turned up. Type a row depth.",
            "panel",
        )
    return plan


def _by_preference(rack: Sequence[Offcut], request: BoardRequest) -> Iterator[tuple[Preference, Lots]]:
    """Each preference asked for, with the lots as it tells them apart."""
    by_age: dict[bool, Lots] = {}
    for preference in request.prefer:
        apart = preference is Preference.CLEAR_OUT
        if apart not in by_age:
            by_age[apart] = lots_of(rack, request.allowances, request.on, by_age=apart)
        yield preference, by_age[apart]


def _fills(request: BoardRequest, preference: Preference, parts: tuple[Part, ...], lots: Lots) -> list[Fill]:
    tasks = [task_for(part, lots, preference) for part in parts]
    answer = best_together(tasks, request.fills, fewest=fewest_first(preference))
    return [
        _told(request, preference, _cuts(joint, parts, lots), bound, proven)
        for joint, bound, proven in zip(answer.joints, answer.bounds, answer.proven, strict=True)
    ]


def _cuts(joint: Joint, parts: tuple[Part, ...], lots: Lots) -> tuple[Cut, ...]:
    """The cuts of all parts, part after part, the widest contribution first; each piece is named once."""
    pieces = {pick.row: lots.pieces(pick.row) for cover in joint.covers for pick in cover.picks}
    told: list[Cut] = []
    for part, cover in zip(parts, joint.covers, strict=True):
        here: list[tuple[Cut, ...]] = []
        for pick in cover.picks:
            offcut, piece = next(pieces[pick.row])
            closing = None if pick.closing is None else Length(pick.closing)
            cuts = part.construction.cuts(offcut, piece, pick.take, closing, part.glue_up)
            here.append(tuple(cut.of(band=part.demand.bands[0]) for cut in cuts))
        here.sort(
            key=lambda cuts: (cuts[-1].closing, -sum(cut.adds for cut in cuts), cuts[0].offcut.tag, cuts[0].piece)
        )
        told += [cut for cuts in here for cut in cuts]
    return tuple(told)
