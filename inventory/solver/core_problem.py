"""The core problem: the item classes that reduced-cost fixing leaves, scaled, in the order of the dynamic program."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from typing import Literal, NamedTuple

import numpy as np

from inventory.solver.lagrangian import CostScaling, Relaxation
from inventory.solver.problem import Alternatives, ContinuousItems, IntArray
from inventory.solver.reduction import ReducedProblem

MAX_STATES = 400_000
"""The longest list of states; a longer one is cut."""
MAX_WORK = 20_000_000
"""How many states one search may make in all, some seconds of work; then lists are cut to MAX_STATES_EXHAUSTED."""
MAX_STATES_EXHAUSTED = 500

_SIDES: tuple[Literal["left", "right"], ...] = ("left", "right")


class Step(NamedTuple):
    """One item of a class (an index into `CoreProblem.item_classes`) takes an alternative, a continuous one or not."""

    item_class: int
    alternative: int
    continuous: bool


@dataclass(frozen=True)
class ItemClass:
    """An item class of the core problem: its alternatives and its continuous items.

    `costs` has one array for each relaxation, by alternative; `steps` are indices into `CoreProblem.steps`.
    `min_reduced` is by relaxation the least reduced cost of an item, 0 where the class has continuous items only.
    Of a `mandatory` class at least one item is taken.
    `continuous` are indices of continuous items; `continuous_reduced` has one array for each relaxation, by those.
    """

    row: int
    multiplicity: int
    mandatory: bool
    adds: IntArray
    costs: tuple[IntArray, ...]
    min_reduced: tuple[int, ...]
    steps: IntArray
    continuous: IntArray
    continuous_adds: IntArray
    continuous_reduced: tuple[IntArray, ...]
    continuous_steps: IntArray

    def saving(self, relaxation: int, taken: int = 0) -> int:
        """The best total reduced cost of the items left when `taken` are used: 0 or less unless one must be taken."""
        least = self.min_reduced[relaxation]
        if least > 0:
            return least if self.mandatory and not taken else 0
        return least * (self.multiplicity - taken)

    def saving_of_one(self, relaxation: int) -> int:
        """What one item contributes to `saving`."""
        least = self.min_reduced[relaxation]
        return least if self.mandatory else min(least, 0)


@dataclass(frozen=True)
class CoreProblem:
    """The item classes by reduced cost, what is surely taken first and what is surely left last.

    `continuous_items` have scaled costs: `cost_at` gives the cost of the first relaxation first. `continuous_bounds`
    are by relaxation and continuous item a lower bound of cost - multiplier * width.
    """

    target: int
    equality: bool
    item_classes: tuple[ItemClass, ...]
    multipliers: tuple[int, ...]
    continuous_items: ContinuousItems | None
    continuous_bounds: tuple[IntArray, ...]
    steps: tuple[Step, ...]

    def slacks(self, cutoffs: Sequence[int], gains: Sequence[int]) -> list[int]:
        """By relaxation: cutoff minus lower bound, the optimality gap; `gains` are those of continuous items."""
        return [
            cutoff - multiplier * self.target - sum(each.saving(relaxation) for each in self.item_classes) - gain
            for relaxation, (cutoff, multiplier, gain) in enumerate(zip(cutoffs, self.multipliers, gains, strict=True))
        ]

    def savings_from(self, relaxation: int) -> list[int]:
        """By class: the saving of that class and all later ones."""
        savings = (each.saving(relaxation) for each in reversed(self.item_classes))
        return list(accumulate(savings, initial=0))[::-1]

    def affordable_classes(self, slacks: Sequence[int]) -> list[int]:
        """The classes of which an item can be in a solution within the cutoffs, and all that are mandatory."""
        return [
            index
            for index, item_class in enumerate(self.item_classes)
            if item_class.mandatory
            or (
                item_class.multiplicity
                and all(max(reduced, 0) <= slack for reduced, slack in zip(item_class.min_reduced, slacks, strict=True))
            )
        ]

    def without_one_of(self, index: int) -> CoreProblem:
        """The core problem with one item less of a class, which is no longer mandatory."""
        item_class = self.item_classes[index]
        left = replace(item_class, multiplicity=item_class.multiplicity - 1, mandatory=False)
        return replace(self, item_classes=(*self.item_classes[:index], left, *self.item_classes[index + 1 :]))


@dataclass
class WorkLimit:
    """How much a search may do: `count` solutions, lists of `max_states`, and `left` further states.

    `complete` is False once a list was cut.
    """

    count: int
    max_states: int
    left: int
    complete: bool = True

    @property
    def exhausted(self) -> bool:
        return self.left <= 0

    def max_length(self) -> int:
        """How many states a list may have now."""
        return min(self.max_states, MAX_STATES_EXHAUSTED) if self.exhausted else self.max_states


def core_problem(reduced: ReducedProblem) -> CoreProblem:
    """The core problem of a reduced problem."""
    continuous_items = reduced.problem.continuous_items
    item_classes, steps = _item_classes(reduced)
    return CoreProblem(
        target=reduced.problem.target,
        equality=reduced.problem.equality,
        item_classes=item_classes,
        multipliers=tuple(scaling.multiplier for scaling in reduced.scalings),
        continuous_items=None
        if continuous_items is None
        else replace(continuous_items, cost_at=_scaled_cost_at(continuous_items, reduced.scalings)),
        continuous_bounds=tuple(
            each.continuous_reduced
            if continuous_items is None
            else each.continuous_reduced + each.multiplier * continuous_items.adds
            for each in reduced.relaxations
        ),
        steps=steps,
    )


def _scaled_cost_at(
    continuous_items: ContinuousItems, scalings: tuple[CostScaling, ...]
) -> Callable[[IntArray, IntArray], tuple[IntArray, IntArray]]:
    def cost_at(index: IntArray, widths: IntArray) -> tuple[IntArray, IntArray]:
        first, second = continuous_items.cost_at(index, widths)
        return scalings[0].cost(first, second), scalings[-1].cost(first, second)

    return cost_at


def _item_classes(reduced: ReducedProblem) -> tuple[tuple[ItemClass, ...], tuple[Step, ...]]:
    """The item classes by the reduced cost of the last relaxation, and the steps of all."""
    alternatives, continuous_items = reduced.problem.alternatives, reduced.problem.continuous_items
    relaxations = reduced.relaxations
    none = np.zeros(0, dtype=np.int64)
    continuous_row = none if continuous_items is None else continuous_items.row
    continuous_adds = none if continuous_items is None else continuous_items.adds
    rows = np.union1d(alternatives.row, continuous_row)
    min_reduced = [_min_reduced(each, alternatives, rows) for each in relaxations]
    # What is taken for certain leaves less of the target to all others.
    order = np.lexsort((min_reduced[-1], ~reduced.problem.is_mandatory[rows]))
    item_classes: list[ItemClass] = []
    steps: list[Step] = []
    spans = (
        np.searchsorted(column, rows[order], side).tolist()
        for column in (alternatives.row, continuous_row)
        for side in _SIDES
    )
    for index, low, high, first, last in zip(order.tolist(), *spans, strict=True):
        number, begin, row = len(item_classes), len(steps), int(rows[index])
        steps += [Step(number, each, False) for each in alternatives.alternative[low:high].tolist()]
        if continuous_items is not None:
            steps += [Step(number, each, True) for each in continuous_items.alternative[first:last].tolist()]
        middle = begin + high - low
        item_classes.append(
            ItemClass(
                row=row,
                multiplicity=int(reduced.problem.multiplicity[row]),
                mandatory=bool(reduced.problem.is_mandatory[row]),
                adds=alternatives.adds[low:high],
                costs=tuple(each.cost[low:high] for each in relaxations),
                min_reduced=tuple(int(each[index]) for each in min_reduced),
                steps=np.arange(begin, middle, dtype=np.int64),
                continuous=np.arange(first, last),
                continuous_adds=continuous_adds[first:last],
                continuous_reduced=tuple(each.continuous_reduced[first:last] for each in relaxations),
                continuous_steps=np.arange(middle, len(steps), dtype=np.int64),
            )
        )
    return tuple(item_classes), tuple(steps)


def _min_reduced(relaxation: Relaxation, alternatives: Alternatives, rows: IntArray) -> IntArray:
    """The least reduced cost of an item of each class; 0 with continuous items only, which the gain counts once."""
    least = np.zeros(len(rows), dtype=np.int64)
    if len(alternatives):
        starts = alternatives.starts
        least[np.searchsorted(rows, alternatives.row[starts])] = np.minimum.reduceat(relaxation.reduced, starts)
    return least
