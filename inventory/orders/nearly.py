"""Which allowance, halved for once, would bring a clearly cheaper fill (cutting model, section 10).

Each allowance is one more search, for the best fill alone. Most are skipped: where the lower bound of the whole rack
with the halved allowance is not low enough, no fill is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from inventory.core.lengths import NM_PER_INCH, NM_PER_MM, Length, Unit
from inventory.cutting.costs import Preference
from inventory.cutting.rack_table import BoolArray, RackTable
from inventory.fill.certainty import primary_cost
from inventory.fill.demands import counts_pieces_first, parts_of
from inventory.fill.eligible_pieces import eligible_pieces
from inventory.fill.glue_ups import glue_ups_for, with_each_depth
from inventory.fill.plan import Fill, Nearly, Plan
from inventory.fill.request import BoardRequest
from inventory.orders.answer import Rack, best_plan, table_of
from inventory.orders.row_depths import lower_bounds

LARGE = 5_000
"""From so many tags on, only the fills of the first preference are looked at."""
STEPS = {Unit.INCH: NM_PER_INCH // 64, Unit.MILLIMETER: NM_PER_MM // 10}
"""Half an allowance is rounded down to these."""


def with_nearly(plan: Plan, rack: Rack) -> Plan:
    """The plan, the best fill of each preference with what a halved allowance would bring.

    An order of several glue-ups is left as it is.
    """
    if not plan.fills or plan.other_requests or any(len(fill.glue_ups) > 1 for fill in plan.fills):
        return plan
    usable = eligible_pieces(table_of(rack), plan.request).table
    wanted = plan.request.prefer[: 1 if len(usable) > LARGE else None]
    fills = []
    seen: set[Preference] = set()
    for fill in plan.fills:
        first = fill.prefer not in seen and fill.prefer in wanted
        seen.add(fill.prefer)
        fills.append(replace(fill, nearly=tuple(_nearly(fill, plan.request, usable))) if first else fill)
    return replace(plan, fills=tuple(fills))


def _nearly(fill: Fill, request: BoardRequest, usable: RackTable) -> Iterator[Nearly]:
    one = replace(request, prefer=(fill.prefer,), fills=1)
    cost = primary_cost(fill, request.on)
    if not cost:
        return
    most = cost - 1 if counts_pieces_first(fill.prefer) else cost * 9 // 10
    for name, to in halved(request).items():
        smaller = replace(one, allowances=request.allowances.with_value(name, to))
        if all(bound > most for bound in _lower_bounds(smaller, usable)):
            continue
        found = best_plan(usable, [smaller])
        if found is None or primary_cost(found.fills[0], request.on) > most:
            continue
        [better] = found.fills
        rows = np.flatnonzero(_serving(better, usable) & ~_serving(fill, usable))
        yield Nearly(
            allowance=name,
            to=to,
            tags=tuple(offcut.tag for offcut in usable.offcuts(rows)),
            pieces_more=int(usable.count[rows].sum()),
            cost=primary_cost(better, request.on),
            yield_share=better.yield_share,
            pieces=better.pieces,
        )


def halved(request: BoardRequest) -> dict[str, Length]:
    """By name, half of each allowance that a glue-up is milled and trimmed by; none that is or would be 0."""
    step = STEPS[request.unit]
    names = ("flattening", "end_trim", "side_trim")
    halves = {name: Length(getattr(request.allowances, name) // 2 // step * step) for name in names}
    return {name: to for name, to in halves.items() if to > 0}


def _lower_bounds(request: BoardRequest, usable: RackTable) -> Iterator[int]:
    """The lower bounds of the first cost at each row depth to try, or the one bound of a board without rows."""
    for each in with_each_depth(request):
        bounds = lower_bounds(usable, glue_ups_for([each]), request.prefer)
        if bounds is not None:
            yield from bounds.values()


def _serving(fill: Fill, usable: RackTable) -> BoolArray:
    """By row, whether the piece could give a strip to any part of this fill's glue-up."""
    [glue_up] = fill.glue_ups
    arrays = usable.arrays(glue_up.request.allowances, glue_up.request.on)
    serves = np.zeros(len(usable), dtype=np.bool_)
    for part in parts_of(glue_up.request):
        rows = usable.rows_for(part.demand)
        serves[rows] |= part.construction.capacities(arrays.rows(rows), part.glue_up) > 0
    return serves
