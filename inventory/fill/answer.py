"""From a rack and a request to the plan: the fills of each preference, or what is missing.

Knows how the parts of a board are searched together and told as fills. Knows no
rule of cutting and no method of search.
"""

from __future__ import annotations

from collections.abc import Sequence

from inventory.cutting.cost import Preference
from inventory.cutting.cuts import Cut
from inventory.fill.cautions import cautions_for
from inventory.fill.lots import Lots, lots_of
from inventory.fill.parts import Part, fewest_first, parts_of, task_for
from inventory.fill.plan import Fill, Plan
from inventory.fill.request import BoardRequest
from inventory.fill.shortfall import shortfall_of
from inventory.fill.together import Joint, best_together
from inventory.measures import Length, volume_mm3
from inventory.pieces import Offcut


def fill_rack(rack: Sequence[Offcut], request: BoardRequest, *, set_aside: int = 0) -> Plan:
    """The best fills of the request from these offcuts, or a plan with a shortfall.

    `set_aside` counts the pieces that lie on the rack but are reserved; it is only
    told in the shortfall. The first fill of each preference is optimal in its order and
    says so (`proven`); where it can't be proven, `bound` says how far off it can be.
    """
    wanted = [each for each in rack if request.takes(each.species)]
    parts = parts_of(request)
    fills: list[Fill] = []
    by_age: dict[bool, Lots] = {}
    for preference in request.prefer:
        apart = preference is Preference.CLEAR_OUT
        if apart not in by_age:
            by_age[apart] = lots_of(wanted, request.allowances, request.on, by_age=apart)
        fills += _fills(request, preference, parts, by_age[apart])
    if fills:
        return Plan(request, tuple(fills))
    return Plan(request, (), shortfall_of(rack, request, parts, set_aside))


def _fills(request: BoardRequest, preference: Preference, parts: tuple[Part, ...], lots: Lots) -> list[Fill]:
    tasks = [task_for(part, lots, preference) for part in parts]
    answer = best_together(tasks, request.fills, fewest=fewest_first(preference))
    fills = []
    for joint, bound, proven in zip(answer.joints, answer.bounds, answer.proven, strict=True):
        cuts = _cuts(joint, parts, lots)
        fills.append(
            Fill(
                prefer=preference,
                proven=proven,
                bound=bound,
                cuts=cuts,
                board_volume=volume_mm3(request.length, request.width, request.thickness),
                strip_length=parts[0].glue_up.strip_length,
                rough_thickness=parts[0].glue_up.rough_thickness,
                target=Length(request.width + request.allowances.side_trim),
                cautions=cautions_for(cuts, request),
            )
        )
    return fills


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
