"""The parts of a glue-up that the rack fills, and the problem that each part is for the solver."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from inventory.core.lengths import Length
from inventory.cutting.alternatives import CutAlternatives, GlueUpSpec, PartialAlternatives
from inventory.cutting.bands import Demand
from inventory.cutting.constructions import Construction, construction_for
from inventory.cutting.costs import CutCosts, Preference, costs
from inventory.cutting.offcut_arrays import IntArray, RackArrays
from inventory.fill.item_classes import ItemClasses
from inventory.fill.request import BoardRequest
from inventory.solver.problem import Alternatives, Breakpoint, ContinuousItems, Problem


@dataclass(frozen=True)
class Part:
    """One pool or stripe of a glue-up, and how it is served."""

    demand: Demand
    construction: Construction
    glue_up: GlueUpSpec


def parts_of(request: BoardRequest) -> tuple[Part, ...]:
    """The parts of the request's glue-up."""
    whole = request.glue_up
    return tuple(
        Part(
            demand,
            construction_for(request.grain, demand),
            whole if demand.stripe is not None else replace(whole, target=Length(demand.target)),
        )
        for demand in request.demands()
    )


@lru_cache(maxsize=256)
def part_of_band(request: BoardRequest, band: int) -> Part:
    """The part of the request's glue-up that fills this band."""
    return next(part for part in parts_of(request) if band in part.demand.bands)


def eligible_rows(part: Part, item_classes: ItemClasses) -> IntArray:
    """The rows of the item classes whose species may serve the part."""
    return item_classes.rows_for(part.demand)


def problem_for(part: Part, item_classes: ItemClasses, preference: Preference) -> Problem:
    """The part as a problem; its rows are the rows of `item_classes`."""
    rows = eligible_rows(part, item_classes)
    problem = alternatives_for(part, item_classes.arrays.rows(rows)).to_problem(preference)
    strips = problem.continuous_items
    return replace(
        problem,
        alternatives=replace(problem.alternatives, row=rows[problem.alternatives.row]),
        multiplicity=item_classes.arrays.count,
        continuous_items=None if strips is None else replace(strips, row=rows[strips.row]),
    )


def with_required(problem: Problem, required: IntArray) -> Problem:
    """The problem with each class mandatory that `required` marks and that has something to give to it."""
    rows = [row for row in np.flatnonzero(required).tolist() if problem.has_alternatives(row)]
    return replace(problem, mandatory=np.array(rows, dtype=np.int64))


@dataclass(frozen=True)
class PartAlternatives:
    """The alternatives of a part, before a preference has put costs on them."""

    demand: Demand
    arrays: RackArrays
    alternatives: CutAlternatives
    partial_alternatives: PartialAlternatives | None

    def to_problem(self, preference: Preference) -> Problem:
        """The alternatives as a problem; its rows are the rows of `arrays`."""
        alternatives = self.alternatives
        first, second = costs(preference, alternatives.costs, self.arrays.days[alternatives.row])
        return Problem(
            target=self.demand.target,
            equality=self.demand.stripe is not None,
            alternatives=Alternatives(alternatives.row, alternatives.take, alternatives.adds, first, second),
            multiplicity=self.arrays.count,
            continuous_items=None
            if self.partial_alternatives is None
            else _continuous_items(preference, self.arrays, self.partial_alternatives),
        )


def alternatives_for(part: Part, arrays: RackArrays) -> PartAlternatives:
    """The alternatives of the part from these offcuts."""
    return PartAlternatives(
        part.demand,
        arrays,
        part.construction.alternatives(arrays, part.glue_up),
        part.construction.partial_alternatives(arrays, part.glue_up),
    )


def _continuous_items(
    preference: Preference, arrays: RackArrays, partial_alternatives: PartialAlternatives
) -> ContinuousItems:
    days = arrays.days[partial_alternatives.row]

    def cost_at(index: IntArray, widths: IntArray) -> tuple[IntArray, IntArray]:
        return costs(preference, partial_alternatives.costs_at(index, widths), days[index])

    def breakpoint(width: IntArray, lower: CutCosts) -> Breakpoint:
        first, second = costs(preference, lower, days)
        # A weighted cost is rounded down once more.
        return Breakpoint(width, first - (preference is Preference.OLDEST_FIRST), second)

    max_first, max_second = costs(preference, partial_alternatives.max_costs, days)
    return ContinuousItems(
        row=partial_alternatives.row,
        alternative=partial_alternatives.take,
        adds=partial_alternatives.adds,
        min_width=partial_alternatives.least,
        max_width=partial_alternatives.most,
        max_first=max_first,
        max_second=max_second,
        breakpoints=tuple(breakpoint(width, lower) for width, lower in partial_alternatives.breakpoints),
        cost_at=cost_at,
    )


def counts_pieces_first(preference: Preference) -> bool:
    """Whether the first cost of this preference counts pieces."""
    return preference is Preference.FEWEST_PIECES


def max_reach(parts: Sequence[Part], item_classes: ItemClasses) -> list[int]:
    """By part, what all item classes together could add to it, each part taken alone."""
    totals = []
    for part in parts:
        arrays = item_classes.arrays.rows(eligible_rows(part, item_classes))
        # What goes beyond the target does not matter; leaving it out keeps the sum within 64 bits.
        each = np.minimum(part.construction.capacities(arrays, part.glue_up), part.demand.target)
        totals.append(int((each * arrays.count).sum()))
    return totals
