"""The demand of usual boards: every pool and stripe of every glue-up, and the alternatives that the rack has for it.

Sizes in nanometers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from inventory.cutting.costs import Preference
from inventory.cutting.offcut_arrays import IntArray
from inventory.cutting.rack_table import RackTable
from inventory.fill.demands import Part, alternatives_for, parts_of
from inventory.fill.glue_ups import candidate_depths, glue_ups_for, with_depth
from inventory.fill.request import BoardRequest, Grain
from inventory.pruning.greedy_fill import ContinuousAlternatives, SortedAlternatives, sort_alternatives
from inventory.solver.problem import ContinuousItems

_WEIGHTS = {
    Preference.BEST_USE: (1.0, 0.25),
    Preference.LEAST_WASTE: (1.0, 0.25),
    Preference.FEWEST_PIECES: (1e15, 1.0),
    Preference.LEAST_MILLING: (1e15, 1.0),
    Preference.OLDEST_FIRST: (1.0, 0.25),
}
"""What the first and the second cost of a preference weigh in one float: the second only breaks ties."""


@dataclass(frozen=True)
class BoardDemand:
    """One pool or stripe of a glue-up, under the board's first preference."""

    part: Part
    request: BoardRequest

    @property
    def weights(self) -> tuple[float, float]:
        return _WEIGHTS[self.request.prefer[0]]

    @property
    def target(self) -> int:
        return self.part.demand.target

    @property
    def equality(self) -> bool:
        """Whether the widths must sum to the target exactly, as of stripes that are counted."""
        return self.part.demand.stripe is not None

    def alternatives(
        self, table: RackTable, rows: IntArray, on: date
    ) -> tuple[SortedAlternatives, ContinuousAlternatives | None]:
        """The alternatives of some rows of the table; their `row` is the row of the table."""
        arrays = table.arrays(self.request.allowances, on).rows(rows)
        problem = alternatives_for(self.part, arrays).to_problem(self.request.prefer[0])
        alternatives, strips = problem.alternatives, problem.continuous_items
        cost = alternatives.first * self.weights[0] + alternatives.second * self.weights[1]
        continuous = None if strips is None else ContinuousAlternatives(_at(strips, rows), self.weights)
        return sort_alternatives(rows[alternatives.row], alternatives.alternative, alternatives.adds, cost), continuous

    def rows(self, table: RackTable) -> IntArray:
        """The rows of the table that are of its species and long enough."""
        of_species = table.rows_for(self.part.demand)
        long_enough: IntArray = of_species[table.length[of_species] >= self.part.glue_up.strip_length]
        return long_enough


def _at(strips: ContinuousItems, rows: IntArray) -> ContinuousItems:
    return replace(strips, row=rows[strips.row])


Variant = tuple[int, ...]
"""One way to make a board: the wants to be filled, one after another, by their place in the list."""


def demands_of(requests: Sequence[BoardRequest]) -> tuple[tuple[BoardDemand, ...], tuple[tuple[Variant, ...], ...]]:
    """All demands, equal ones once, and the options of each board: an end-grain board has one for each row depth."""
    wants: dict[tuple[object, ...], int] = {}
    listed: list[BoardDemand] = []
    variants: list[tuple[Variant, ...]] = []
    for board, request in enumerate(requests):
        of_board: list[Variant] = []
        for each in _depths(request):
            variant: list[int] = []
            for glue_up in glue_ups_for([each]):
                made = glue_up.request
                for number, part in enumerate(parts_of(made)):
                    key = (board, made.length, made.width, made.thickness, number)
                    if key not in wants:
                        wants[key] = len(listed)
                        listed.append(BoardDemand(part, made))
                    variant.append(wants[key])
            of_board.append(tuple(variant))
        variants.append(tuple(of_board))
    return tuple(listed), tuple(variants)


def _depths(request: BoardRequest) -> list[BoardRequest]:
    if request.grain is not Grain.END:
        return [request]
    return [with_depth(request, depth) for depth in candidate_depths(request)]
