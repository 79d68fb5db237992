"""The parts of a board that the rack fills, and their offers priced for the search.

Knows which construction serves which pool or accent, and which lots may serve it.
Knows no rule of cutting and no method of search.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inventory.core.lengths import Length
from inventory.cutting.alternatives import Closings, GlueUp, Offers, glue_up_for
from inventory.cutting.bands import Demand
from inventory.cutting.constructions import Construction, construction_for
from inventory.cutting.costs import Preference, costs
from inventory.cutting.offcut_arrays import Columns, Ints
from inventory.fill.item_classes import ItemClasses
from inventory.fill.request import BoardRequest
from inventory.solver.problem import Alternatives, Breakpoint, ContinuousItems, Problem


@dataclass(frozen=True)
class Part:
    """One pool or accent of a glue-up, and how it is served."""

    demand: Demand
    construction: Construction
    glue_up: GlueUp


def parts_of(request: BoardRequest) -> tuple[Part, ...]:
    """The parts of the request's glue-up."""
    whole = glue_up_for(request.length, request.width, request.thickness, request.allowances)
    return tuple(
        Part(
            demand,
            construction_for(request.grain, demand),
            whole if demand.accent is not None else replace(whole, target=Length(demand.target)),
        )
        for demand in request.demands()
    )


def rows_for(part: Part, item_classes: ItemClasses) -> Ints:
    """The rows of the lots whose species may serve the part."""
    if not part.demand.species:
        return np.arange(len(item_classes.columns))
    return item_classes.of_species(part.demand.takes)


def problem_for(part: Part, item_classes: ItemClasses, preference: Preference) -> Problem:
    """The part as a task of the search; its rows are the lots' rows."""
    rows = rows_for(part, item_classes)
    problem = alternatives_for(part, item_classes.columns.rows(rows)).priced(preference)
    strips = problem.continuous_items
    return replace(
        problem,
        alternatives=replace(problem.alternatives, row=rows[problem.alternatives.row]),
        multiplicity=item_classes.columns.count,
        continuous_items=None if strips is None else replace(strips, row=rows[strips.row]),
    )


@dataclass(frozen=True)
class PartAlternatives:
    """What columns offer to a part, before any preference has put a price on it."""

    demand: Demand
    columns: Columns
    offers: Offers
    closings: Closings | None

    def priced(self, preference: Preference) -> Problem:
        """The offers as a task; its rows are the columns' rows."""
        offers = self.offers
        first, second = costs(preference, offers.loss, offers.dirty, self.columns.days[offers.row])
        return Problem(
            target=self.demand.target,
            equality=self.demand.accent is not None,
            alternatives=Alternatives(offers.row, offers.take, offers.adds, first, second),
            multiplicity=self.columns.count,
            continuous_items=None
            if self.closings is None
            else _continuous_items(preference, self.columns, self.closings),
        )


def alternatives_for(part: Part, columns: Columns) -> PartAlternatives:
    """What these columns offer to the part."""
    return PartAlternatives(
        part.demand,
        columns,
        part.construction.offers(columns, part.glue_up),
        part.construction.closings(columns, part.glue_up),
    )


def _continuous_items(preference: Preference, columns: Columns, closings: Closings) -> ContinuousItems:
    days = columns.days[closings.row]

    def cost_at(index: Ints, widths: Ints) -> tuple[Ints, Ints]:
        return costs(preference, closings.loss_at(index, widths), closings.dirty[index], days[index])

    def breakpoint(width: Ints, loss: Ints) -> Breakpoint:
        return Breakpoint(width, *costs(preference, loss, closings.dirty, days))

    # A loss is rounded up to whole mm³, and a cost that comes of it perhaps down again: less than two in all.
    none, two = np.zeros(1, dtype=np.int64), np.full(1, 2, dtype=np.int64)
    before, after = costs(preference, none, none, none), costs(preference, two, none, none)
    return ContinuousItems(
        row=closings.row,
        take=closings.take,
        adds=closings.adds,
        least=closings.least,
        most=closings.most,
        breakpoints=tuple(breakpoint(width, loss) for width, loss in closings.breakpoints),
        rounding=(int(after[0][0] - before[0][0]), int(after[1][0] - before[1][0])),
        cost_at=cost_at,
    )


def fewest_first(preference: Preference) -> bool:
    """Whether the first cost of this preference counts pieces."""
    return preference is Preference.FEWEST_PIECES


def reached(parts: Sequence[Part], item_classes: ItemClasses) -> list[int]:
    """By part: what all lots together could add to it, each part taken alone."""
    reach = []
    for part in parts:
        columns = item_classes.columns.rows(rows_for(part, item_classes))
        # What goes beyond the target does not matter; leaving it out keeps the sum within 64 bits.
        each = np.minimum(part.construction.capacities(columns, part.glue_up), part.demand.target)
        reach.append(int((each * columns.count).sum()))
    return reach
