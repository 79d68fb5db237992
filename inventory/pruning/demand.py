"""The demand of usual boards: every pool and stripe of every glue-up, and the alternatives that the rack has for it.

Sizes in nanometers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import islice, product

from inventory.cutting.costs import Preference
from inventory.cutting.offcut_arrays import IntArray
from inventory.cutting.rack_table import RackTable
from inventory.fill.demands import Part, alternatives_for, parts_of
from inventory.fill.eligible_pieces import piece_standing
from inventory.fill.glue_ups import candidate_depths, glue_ups_for, with_depth
from inventory.fill.request import BoardRequest, Grain, Mix
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
        """The rows of the table that may serve it, are of its species and long enough."""
        standing = piece_standing(table, self.request)
        of_species = table.rows_for(self.part.demand)
        serving = (table.length >= self.part.glue_up.strip_length) & ~standing.ruled_out & ~standing.marked
        long_enough: IntArray = of_species[serving[of_species]]
        return long_enough


def _at(strips: ContinuousItems, rows: IntArray) -> ContinuousItems:
    return replace(strips, row=rows[strips.row])


Variant = tuple[int, ...]
"""One way to make a board: the demands to be filled, one after another, by their place in the list."""

MAX_SPECIES_VARIANTS = 64
"""So many choices of species are tried for a board of which each pool and stripe is of one."""


def demands_of(
    requests: Sequence[BoardRequest], species: Sequence[str]
) -> tuple[tuple[BoardDemand, ...], tuple[tuple[tuple[Variant, ...], ...], ...]]:
    """All demands, equal ones once, and by board its variants, those of each row depth together.

    A board that is not end grain has one depth. Where each pool and stripe is of one species, there is a variant for
    each choice among `species`, those that are or may come on the rack.
    """
    wants: dict[tuple[object, ...], int] = {}
    listed: list[BoardDemand] = []
    variants: list[tuple[tuple[Variant, ...], ...]] = []
    for board, request in enumerate(requests):
        of_board: list[tuple[Variant, ...]] = []
        for each in _depths(request):
            of_depth: list[Variant] = []
            for chosen in _species_choices(each, species):
                variant: list[int] = []
                for glue_up in glue_ups_for([each]):
                    made = glue_up.request
                    for number, part in enumerate(parts_of(made)):
                        own = None if chosen is None else chosen[number]
                        key = (board, made.length, made.width, made.thickness, number, own)
                        if key not in wants:
                            wants[key] = len(listed)
                            listed.append(BoardDemand(part if own is None else _of_species(part, own), made))
                        variant.append(wants[key])
                of_depth.append(tuple(variant))
            of_board.append(tuple(of_depth))
        variants.append(tuple(of_board))
    return tuple(listed), tuple(variants)


def _species_choices(request: BoardRequest, species: Sequence[str]) -> list[tuple[str, ...] | None]:
    """One species for each pool and stripe of the request, in every combination; None where they may be mixed."""
    if request.mix is Mix.FREE:
        return [None]
    accepted = [[name for name in species if demand.accepts(name)] for demand in request.demands()]
    return list(islice(product(*accepted), MAX_SPECIES_VARIANTS))


def _of_species(part: Part, species: str) -> Part:
    return replace(part, demand=replace(part.demand, species=(species,)))


def _depths(request: BoardRequest) -> list[BoardRequest]:
    if request.grain is not Grain.END:
        return [request]
    return [with_depth(request, depth) for depth in candidate_depths(request)]
