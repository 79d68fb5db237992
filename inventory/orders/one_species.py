"""The best fills of an order of which each pool and stripe is of one species (cutting model, section 7).

Each choice of species is searched by itself; here the fills of all choices are compared.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from inventory.core.lengths import Length
from inventory.core.offcuts import species_key
from inventory.fill.certainty import costs_of, primary_cost
from inventory.fill.plan import Fill, OtherSpecies, Plan, RowDepthRunnerUp
from inventory.orders.species_choices import SpeciesChoice


class OneSpeciesFills:
    """The best fills of one preference over several choices of species."""

    def __init__(self, on: date, wanted: int, *, names_others: bool) -> None:
        self._on, self._wanted, self._names_others = on, wanted, names_others
        self.fills: list[Fill] = []
        self.open_bound: int | None = None
        """A lower bound of all that was not searched, None where that is nothing."""
        self._others: list[OtherSpecies] = []
        self._by_depth: dict[Length, int] = {}
        """By row depth the least first cost known, where none was asked for."""
        self._bounds: list[int] = []
        self._proven = True

    def is_beyond(self, bound: int) -> bool:
        """Whether nothing that costs so much is among the fills wanted, or makes a row depth the second best."""
        if len(self.fills) < self._wanted:
            return False
        second = sorted(self._by_depth.values())[1:2]
        return bound > max([primary_cost(self.fills[self._wanted - 1], self._on), *second])

    def add(self, choice: SpeciesChoice | None, plan: Plan | None) -> None:
        """Adds the fills of a choice; without its requests it was not searched."""
        if choice is not None and not choice.requests:
            self.open_bound = choice.bound if self.open_bound is None else min(self.open_bound, choice.bound)
        if plan is None:
            return
        self._proven &= all(fill.proven for fill in plan.fills)
        self._bounds.append(plan.fills[0].bound)
        best = plan.fills[0]
        costs = {best.row_depth: primary_cost(best, self._on)}
        if best.row_depth_runner_up is not None:
            costs[best.row_depth_runner_up.row_depth] = best.row_depth_runner_up.cost
        for depth, cost in costs.items():
            if depth is not None:
                self._by_depth[depth] = min(cost, self._by_depth.get(depth, cost))
        if self._names_others and best.species_of_cuts is not None:
            name = best.cuts[0].offcut.species
            self._others.append(OtherSpecies(name, primary_cost(best, self._on), best.yield_share))
        taken = [{(cut.offcut.tag, cut.piece) for cut in fill.cuts} for fill in self.fills]
        self.fills += [fill for fill in plan.fills if {(cut.offcut.tag, cut.piece) for cut in fill.cuts} not in taken]
        self.fills.sort(key=lambda fill: costs_of(fill, self._on))

    def result(self) -> list[Fill]:
        """The best fills, each as proven as the searches of all choices allow."""
        bound = min([*self._bounds, *([] if self.open_bound is None else [self.open_bound])], default=0)
        fills: list[Fill] = []
        for fill in self.fills[: self._wanted]:
            cost = primary_cost(fill, self._on)
            closed = self.open_bound is None or cost < self.open_bound
            proven = self._proven and closed
            others = () if fills else tuple(sorted(self._others, key=lambda each: each.cost))
            depths = [] if fills else [(c, -depth) for depth, c in self._by_depth.items() if depth != fill.row_depth]
            fills.append(
                replace(
                    fill,
                    proven=proven,
                    bound=cost if proven else min(bound, cost),
                    other_species=tuple(each for each in others if species_key(each.species) != fill.species_of_cuts),
                    row_depth_runner_up=RowDepthRunnerUp(Length(-min(depths)[1]), min(depths)[0]) if depths else None,
                )
            )
        return fills
