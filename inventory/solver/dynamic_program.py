"""A dynamic program over item classes that keeps a list of states in place of a table.

Method: forward recursion, class by class and item by item, with dominance (`states`) and with bounds: a state is
dropped where its cost plus a Lagrangian bound of the rest exceeds a cutoff (dynamic programming with bounding: T. L.
Morin and R. E. Marsten, Branch-and-bound strategies for dynamic programming, Operations Research 24(4), 1976; from
memory). Cost: for each class, the length of the list times the number of alternatives, and a sort. Exact for any
integer widths unless the work limit cuts a list, which `WorkLimit.complete` records.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inventory.solver.core_problem import CoreProblem, ItemClass, WorkLimit
from inventory.solver.lagrangian import NO_BOUND
from inventory.solver.problem import IntArray
from inventory.solver.states import (
    BackPointers,
    SignatureTable,
    States,
    cheapest_of_equals,
    concatenated,
    initial_state,
    non_dominated,
)

MAX_POOL_ITEMS, MAX_COMBINATIONS = 4, 200_000
"""Of a pool of classes at most so many items are combined, and at most so many combinations tried at once."""


@dataclass(frozen=True)
class Remaining:
    """By relaxation: the best total reduced cost of what comes after the class that is decided next.

    With a continuous item still to come it differs before and after that class is decided.
    """

    saving: Sequence[int]
    saving_after: Sequence[int]


@dataclass(frozen=True)
class _Options:
    """The ways to take one item: width, costs by relaxation, step, change of the signature."""

    adds: IntArray
    costs: tuple[IntArray, ...]
    steps: IntArray
    signature: IntArray


class DynamicProgram:
    """The states of the classes decided so far.

    A state dominates narrower ones that cost as much, unless the sum must equal the target or `only_equals` says that a
    continuous item may cost less where it is wider.
    """

    def __init__(
        self, core: CoreProblem, cutoffs: tuple[int, ...], work_limit: WorkLimit, *, only_equals: bool = False
    ) -> None:
        self._core = core
        self._cutoffs = cutoffs
        self._work_limit = work_limit
        self._exact = core.equality
        self._only_equals = only_equals or core.equality
        self._relaxations = range(len(core.multipliers))
        self._back_pointers = BackPointers()
        self._signatures = SignatureTable()
        self.states = initial_state(len(core.multipliers))

    def __len__(self) -> int:
        return len(self.states)

    def path_to(self, node: int) -> tuple[int, ...]:
        """The steps that lead to a node, last first."""
        return tuple(self._back_pointers.steps_to(node))

    def add_class(self, item_class: ItemClass, remaining: Remaining) -> None:
        """Decides one more class: any number of its items, of a mandatory one at least one."""
        self.states, digit = self._signatures.reserve(self.states, item_class.multiplicity)
        options = _Options(
            item_class.adds,
            item_class.costs,
            item_class.steps,
            np.full(len(item_class.adds), digit, dtype=np.int64),
        )
        several = len(item_class.adds) > 1
        layers = [self.states]
        for taken in range(1, item_class.multiplicity + 1):
            if self._work_limit.exhausted and taken > 1:
                self._work_limit.complete = False
                break
            saving = [
                remaining.saving[relaxation] + item_class.saving(relaxation, taken) for relaxation in self._relaxations
            ]
            must_extend = item_class.mandatory and taken == 1
            layer = self._extend(layers[-1], options, saving, always=must_extend)
            if not len(layer):
                break
            # A single option keeps a list free of dominated states, and the last layer is pruned with all others.
            layers.append(
                self._with_nodes(self._pruned(layer) if several and taken < item_class.multiplicity else layer)
            )
        if item_class.mandatory:
            layers = layers[1:] or [self.states.at(np.zeros(len(self.states), dtype=np.bool_))]
        if any(reduced < 0 for reduced in item_class.min_reduced):
            # States that did not take all items have lost the saving of the others.
            layers = [*(self._filter_by_bound(layer, remaining) for layer in layers[:-1]), layers[-1]]
        extended = len(layers) > 1 or item_class.mandatory
        self.states = self._pruned(concatenated(layers)) if extended else layers[0]

    def add_pool(self, pool: Sequence[ItemClass], max_items: int, remaining: Remaining) -> None:
        """Decides several classes at once, of which at most `max_items` items fit within the cutoffs (`small_pool`)."""
        owner = np.repeat(np.arange(1, len(pool) + 1), [len(item_class.adds) for item_class in pool])
        multiplicity = np.repeat(
            [item_class.multiplicity for item_class in pool], [len(item_class.adds) for item_class in pool]
        )
        options = _Options(
            np.concatenate([item_class.adds for item_class in pool]),
            tuple(
                np.concatenate([item_class.costs[relaxation] for item_class in pool])
                for relaxation in self._relaxations
            ),
            np.concatenate([item_class.steps for item_class in pool]),
            np.zeros(len(owner), dtype=np.int64),
        )
        # Classes are taken in ascending order, so the numbers of the items taken, as digits, identify the signature.
        radix = len(pool) + 1
        states, digit = self._signatures.reserve(self.states, radix**max_items - 1)
        layers, before = [states], states.signature
        number, last, run = (np.zeros(len(states), dtype=np.int64) for _ in range(3))
        for _ in range(max_items):
            again = (owner == owner[last][:, None]) & (run[:, None] > 0)
            allowed = self._within_cutoff(layers[-1], options, remaining.saving)
            allowed &= (np.arange(len(owner)) >= last[:, None]) & (~again | (run[:, None] < multiplicity))
            row, column = np.nonzero(allowed)
            if not len(row):
                break
            before, number = before[row], number[row] * radix + owner[column]
            run = np.where(again[row, column], run[row], 0) + 1
            last = column
            extended = self._extended(layers[-1], options, row, column)
            layers.append(self._with_nodes(replace(extended, signature=before + number * digit)))
        self.states = self._pruned(concatenated(layers))

    def _extend(self, states: States, options: _Options, saving: Sequence[int], *, always: bool) -> States:
        """Every state with every option from which a solution within the cutoffs can be reached."""
        if self._work_limit.count == 1 and not self._exact and not always:
            # A solution with an item to spare matters only among several, or where it is mandatory.
            states = states.at(states.width < self._core.target)
        return self._extended(states, options, *np.nonzero(self._within_cutoff(states, options, saving)))

    def _extended(self, states: States, options: _Options, row: NDArray[np.intp], column: NDArray[np.intp]) -> States:
        """States `row` with options `column`. Until `_with_nodes`, `node` holds parent and step in one number."""
        width = states.width[row] + options.adds[column]
        return States(
            width if self._exact else np.minimum(width, self._core.target),
            tuple(have[row] + more[column] for have, more in zip(states.costs, options.costs, strict=True)),
            states.signature[row] + options.signature[column],
            (states.node[row] + 1) * len(self._core.steps) + options.steps[column],
        )

    def _with_nodes(self, extended: States) -> States:
        """The new states with nodes for their parents and steps."""
        parents, steps = np.divmod(extended.node, len(self._core.steps))
        return replace(extended, node=self._back_pointers.append(parents - 1, steps))

    def _within_cutoff(self, states: States, options: _Options, saving: Sequence[int]) -> NDArray[np.bool_]:
        """By state and option: whether a solution within the cutoffs can be reached."""
        target = self._core.target
        self._work_limit.left -= len(states) * len(options.adds)
        allowed = np.ones((len(states), len(options.adds)), dtype=np.bool_)
        adds = options.adds if self._exact else np.minimum(options.adds, target)
        if self._exact:
            allowed &= adds <= (target - states.width)[:, None]
        for relaxation, multiplier in enumerate(self._core.multipliers):
            # The reduced costs of state, option and everything to come must stay within the cutoff.
            slack = self._cutoffs[relaxation] - multiplier * target - max(saving[relaxation], NO_BOUND)
            state_reduced = states.costs[relaxation] - multiplier * states.width
            option_reduced = options.costs[relaxation] - multiplier * adds
            allowed &= state_reduced[:, None] + option_reduced <= slack
        return allowed

    def _filter_by_bound(self, states: States, remaining: Remaining) -> States:
        """The states from which a solution within the cutoffs can be reached once the next class is decided."""
        missing = self._core.target - states.width
        keep = np.ones(len(states), dtype=np.bool_)
        for relaxation, multiplier in enumerate(self._core.multipliers):
            bound = multiplier * missing + max(remaining.saving_after[relaxation], NO_BOUND)
            keep &= states.costs[relaxation] + np.maximum(bound, 0) <= self._cutoffs[relaxation]
        return states if keep.all() else states.at(keep)

    def _pruned(self, states: States) -> States:
        """The states that are not dominated; where they exceed the work limit, those of the least reduced cost."""
        count, max_length = self._work_limit.count, self._work_limit.max_length()
        states = cheapest_of_equals(states, count) if self._only_equals else states.at(non_dominated(states, count))
        if len(states) <= max_length:
            return states
        self._work_limit.complete = False
        reduced = states.costs[0] - self._core.multipliers[0] * states.width
        return states.at(np.sort(np.argpartition(reduced, max_length)[:max_length]))


def small_pool(core: CoreProblem, item_classes: Sequence[int], slacks: Sequence[int]) -> tuple[list[int], int]:
    """The largest pool of optional classes of which only a few items fit within the cutoffs together, and how many.

    `slacks` are by relaxation cutoff minus lower bound: n + 1 items do not fit if each has a reduced cost of more than
    slack / (n + 1).
    """
    best: tuple[list[int], int] = ([], 0)
    for max_items in range(1, MAX_POOL_ITEMS + 1):
        for relaxation, slack in enumerate(slacks):
            pool = [
                each
                for each in item_classes
                if not core.item_classes[each].mandatory
                and (max_items + 1) * core.item_classes[each].min_reduced[relaxation] > max(slack, 0)
            ]
            alternatives = sum(len(core.item_classes[each].adds) for each in pool)
            if len(pool) > len(best[0]) and alternatives**max_items <= MAX_COMBINATIONS:
                best = pool, max_items
    return best
