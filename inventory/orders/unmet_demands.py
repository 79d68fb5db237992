"""Which demands of a request keep the rack from filling it (cutting model, sections 8 and 10)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from inventory.cutting.alternatives import Misfit
from inventory.cutting.offcut_arrays import IntArray
from inventory.cutting.rack_table import RackTable
from inventory.fill.demands import parts_of
from inventory.fill.eligible_pieces import eligible_pieces, piece_standing
from inventory.fill.item_classes import group_table
from inventory.fill.plan import NOT_ON_THE_RACK, OTHER_SPECIES, RULED_OUT, PlannedGlueUp, UnmetDemand
from inventory.fill.request import BoardRequest, Eligibility
from inventory.orders.feasibility import can_fill

NO_DEMAND = Eligibility()
_ATTRIBUTES = {
    "without": "without",
    "with": "required",
    "longest": "longest",
    "faces": "faces",
    "short_work": "short_work",
    "batch": "batch",
}
"""By key of a request, the attribute of `Eligibility`."""


def unmet_demands(table: RackTable, glue_ups: Sequence[PlannedGlueUp]) -> tuple[UnmetDemand, ...]:
    """The pieces under `with` that can't serve; where there are none, each demand without which the rack would do."""
    requests = list(dict.fromkeys(each.request for each in glue_ups))
    return tuple(_unable(table, requests)) or tuple(_in_the_way(table, glue_ups))


def _unable(table: RackTable, requests: Sequence[BoardRequest]) -> Iterator[UnmetDemand]:
    """Every piece under `with` that gives no strip to any of the glue-ups."""
    standing = piece_standing(table, requests[0])
    tags = requests[0].eligibility.required
    for number, (tag, rows) in enumerate(zip(tags, table.rows_of_tags(tags), strict=True), 1):
        if not len(rows):
            yield UnmetDemand("with", tag, NOT_ON_THE_RACK)
        elif tag in standing.absent:
            yield UnmetDemand("with", tag, _ruled_out_by(table, requests[0], tag))
        else:
            named = replace(table, required=np.where(standing.required == number, number, 0)).select(rows)
            if (reason := _misfit(named, requests)) is not None:
                yield UnmetDemand("with", tag, reason)


def _ruled_out_by(table: RackTable, request: BoardRequest, tag: str) -> str:
    """`ruled out by longest`: the first demand that rules out a piece under `with`."""
    for key, attribute in _ATTRIBUTES.items():
        alone = replace(NO_DEMAND, **{attribute: getattr(request.eligibility, attribute)})
        alone = replace(alone, required=(tag,))
        if piece_standing(table, replace(request, eligibility=alone)).absent:
            return f"{RULED_OUT} by {key}"
    return RULED_OUT


def _misfit(piece: RackTable, requests: Sequence[BoardRequest]) -> str | None:
    """Why the piece gives no strip to any of these glue-ups, None where it gives one."""
    found: list[str] = []
    for request in requests:
        arrays = piece.arrays(request.allowances, request.on)
        for part in parts_of(request):
            rows: IntArray = piece.rows_for(part.demand)
            if not len(rows):
                found.append(OTHER_SPECIES)
                continue
            misfits = part.construction.misfits(arrays.rows(rows), part.glue_up)
            wrong = [
                each.value
                for each, by in zip(Misfit, (misfits.short, misfits.narrow, misfits.thin), strict=True)
                if by.all()
            ]
            if not wrong:
                return None
            found += wrong
    # A size that is wrong says more than a part of another species.
    return next((reason for reason in found if reason != OTHER_SPECIES), OTHER_SPECIES)


def _in_the_way(table: RackTable, glue_ups: Sequence[PlannedGlueUp]) -> Iterator[UnmetDemand]:
    """Every demand without which the rack fills the glue-ups."""
    rules = glue_ups[0].request.eligibility
    for key, attribute in _ATTRIBUTES.items():
        without = getattr(NO_DEMAND, attribute)
        if getattr(rules, attribute) != without and _fills(table, glue_ups, replace(rules, **{attribute: without})):
            yield UnmetDemand(key)


def _fills(table: RackTable, glue_ups: Sequence[PlannedGlueUp], rules: Eligibility) -> bool:
    asked = [replace(each, request=replace(each.request, eligibility=rules)) for each in glue_ups]
    first = asked[0].request
    usable = eligible_pieces(table, *dict.fromkeys(each.request for each in asked)).table
    return can_fill(asked, group_table(usable, first.allowances, first.on, by_age=False))
