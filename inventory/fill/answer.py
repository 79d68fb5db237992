"""From a rack and a request to the plan: the fills of each preference, or what is missing.

Knows which construction serves which grain, and how its offers become a task of
the search. Knows no rule of cutting and no method of search.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence

from inventory.cutting.columns import Columns, Ints, columns_of
from inventory.cutting.constructions import Construction, construction_for
from inventory.cutting.cost import Preference, costs
from inventory.cutting.cuts import Cut
from inventory.cutting.offers import Closings, GlueUp, Offers, glue_up_for
from inventory.fill.cautions import cautions_for
from inventory.fill.plan import Fill, Plan
from inventory.fill.request import BoardRequest
from inventory.fill.search import best_covers
from inventory.fill.shortfall import shortfall_of
from inventory.fill.task import Choices, Cover, FreeStrips, Task
from inventory.measures import Length, volume_mm3
from inventory.pieces import Offcut, species_key


def fill_rack(rack: Sequence[Offcut], request: BoardRequest, *, set_aside: int = 0) -> Plan:
    """The best fills of the request from these offcuts, or a plan with a shortfall.

    `set_aside` counts the pieces that lie on the rack but are reserved; it is only
    told in the shortfall. Every fill is optimal in the order of its preference and
    says so (`proven`), unless the search had to be cut short.
    """
    glue_up = glue_up_for(request.length, request.width, request.thickness, request.allowances)
    construction = construction_for(request.grain)
    wanted = [each for each in rack if request.takes(each.species)]
    columns = columns_of(wanted, request.allowances, request.on)
    offers = construction.offers(columns, glue_up)
    fills: list[Fill] = []
    if len(offers):
        closings = construction.closings(columns, glue_up)
        for preference in request.prefer:
            fills += _fills(request, preference, wanted, columns, construction, glue_up, offers, closings)
    if fills:
        return Plan(request, tuple(fills))
    return Plan(request, (), shortfall_of(rack, request, construction, set_aside))


def _fills(
    request: BoardRequest,
    preference: Preference,
    wanted: list[Offcut],
    columns: Columns,
    construction: Construction,
    glue_up: GlueUp,
    offers: Offers,
    closings: Closings | None,
) -> list[Fill]:
    task = _task(preference, wanted, columns, glue_up, offers, closings)
    covers = best_covers(task, request.fills, fewest=preference is Preference.FEWEST_PIECES)
    fills = []
    for cover in covers.covers:
        cuts = _cuts(cover, wanted, construction, glue_up)
        fills.append(
            Fill(
                prefer=preference,
                proven=covers.proven,
                bound=cover.first if covers.proven else covers.bound,
                cuts=cuts,
                board_volume=volume_mm3(request.length, request.width, request.thickness),
                strip_length=glue_up.strip_length,
                rough_thickness=glue_up.rough_thickness,
                target=glue_up.target,
                cautions=cautions_for(cuts, request),
            )
        )
    return fills


def _task(
    preference: Preference,
    wanted: list[Offcut],
    columns: Columns,
    glue_up: GlueUp,
    offers: Offers,
    closings: Closings | None,
) -> Task:
    first, second = costs(preference, offers.loss, offers.dirty, columns.days[offers.row])

    def kind(row: int) -> Hashable:
        each = wanted[row]
        age = int(columns.days[row]) if preference is Preference.CLEAR_OUT else 0
        faces = frozenset([(each.face_a, each.face_b), (each.face_b, each.face_a)])
        return (species_key(each.species), each.length, each.width, each.thickness, faces, age)

    return Task(
        target=glue_up.target,
        choices=Choices(offers.row, offers.take, offers.adds, first, second),
        copies=columns.count,
        kind=kind,
        free_strips=None if closings is None else _free_strips(preference, columns, closings),
    )


def _free_strips(preference: Preference, columns: Columns, closings: Closings) -> FreeStrips:
    days = columns.days[closings.row]

    def cost_at(index: Ints, widths: Ints) -> tuple[Ints, Ints]:
        return costs(preference, closings.loss_at(index, widths), closings.dirty[index], days[index])

    return FreeStrips(closings.row, closings.take, closings.adds, closings.least, closings.most, cost_at)


def _cuts(cover: Cover, wanted: list[Offcut], construction: Construction, glue_up: GlueUp) -> tuple[Cut, ...]:
    """The cuts of a cover, the widest contribution first; pieces of a bundle are counted from 1."""
    told: list[tuple[Cut, ...]] = []
    used: dict[int, int] = {}
    for pick in cover.picks:
        used[pick.row] = used.get(pick.row, 0) + 1
        closing = None if pick.closing is None else Length(pick.closing)
        told.append(construction.cuts(wanted[pick.row], used[pick.row], pick.take, closing, glue_up))
    told.sort(key=lambda cuts: (cuts[-1].closing, -sum(cut.adds for cut in cuts), cuts[0].offcut.tag, cuts[0].piece))
    return tuple(cut for cuts in told for cut in cuts)
