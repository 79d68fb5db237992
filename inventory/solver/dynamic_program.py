"""A list of partial covers that grows by one kind of pieces after another, within budgets.

Knows the layers of a kind (none of its pieces taken, one, two, …), the bounds that cut the list, and pools of
kinds of which few pieces go together. Knows nothing of the order of kinds, nor when a cover is complete.
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
    NO_CONTINUOUS,
    BackPointers,
    SignatureTable,
    States,
    cheapest_of_equals,
    concatenated,
    initial_state,
    non_dominated,
)

MAX_POOL_ITEMS, MAX_COMBINATIONS = 4, 200_000
"""Of a pool at most so many pieces are taken together, and at most so many combinations are looked at at once."""


@dataclass(frozen=True)
class Remaining:
    """By guide: what the other kinds not yet decided at best save, and what the best free strip still to come costs.

    `continuous` is empty where none is wanted; `continuous_after` is the same once the next kind is decided.
    """

    saving: Sequence[int]
    continuous: Sequence[int] = ()
    continuous_after: Sequence[int] = ()


@dataclass(frozen=True)
class _Options:
    """Ways to take one piece: what it adds, its costs by guide, the step, which piece it is, its free strip if any."""

    adds: IntArray
    costs: tuple[IntArray, ...]
    steps: IntArray
    signature: IntArray
    continuous_items: IntArray | None = None


class DynamicProgram:
    """Partial covers whose sum need only reach the target, or must be met exactly."""

    def __init__(self, core: CoreProblem, cutoffs: tuple[int, ...], work_limit: WorkLimit, *, exact: bool) -> None:
        self._core = core
        self._cutoffs = cutoffs
        self._work_limit = work_limit
        self._exact = exact
        self._relaxations = range(len(core.multipliers))
        self._back_pointers = BackPointers()
        self._signatures = SignatureTable()
        self.states = initial_state(len(core.multipliers))

    def __len__(self) -> int:
        return len(self.states)

    def path_to(self, node: int) -> tuple[int, ...]:
        """The steps that lead to a node of the list, last first."""
        return tuple(self._back_pointers.steps_to(node))

    def add_class(self, item_class: ItemClass, remaining: Remaining, *, carried: bool = False) -> None:
        """Decides one more kind; `carried` says that its free strips are taken too."""
        self.states, piece = self._signatures.reserve(self.states, item_class.multiplicity)
        options = [
            _Options(
                item_class.adds,
                item_class.costs,
                item_class.steps,
                np.full(len(item_class.adds), piece, dtype=np.int64),
            )
        ]
        if carried:
            nothing = tuple(np.zeros(len(item_class.continuous), dtype=np.int64) for _ in self._relaxations)
            signature = np.full(len(item_class.continuous), piece, dtype=np.int64)
            options.append(
                _Options(
                    item_class.continuous_adds, nothing, item_class.continuous_steps, signature, item_class.continuous
                )
            )
        several = sum(len(each.adds) for each in options) > 1
        layers = [self.states]
        for copy in range(1, item_class.multiplicity + 1):
            if self._work_limit.exhausted and copy > 1:
                # What is spent is spent: the layers there are must do.
                self._work_limit.complete = False
                break
            saving = [
                remaining.saving[relaxation] + item_class.saving(relaxation, copy) for relaxation in self._relaxations
            ]
            layer = concatenated([self._extend(layers[-1], each, saving, remaining.continuous) for each in options])
            if not len(layer):
                break
            # One choice alone leaves a list as unbeaten as it was, and the last layer is reduced with all others.
            layers.append(
                self._with_nodes(self._pruned(layer) if several and copy < item_class.multiplicity else layer)
            )
        if any(least < 0 for least in item_class.min_reduced):
            # What the kind would have saved is gone for those that did not take all of it.
            layers = [*(self._filter_by_bound(layer, remaining) for layer in layers[:-1]), layers[-1]]
        self.states = layers[0] if len(layers) == 1 else self._pruned(concatenated(layers))

    def add_pool(self, pool: Sequence[ItemClass], most: int, remaining: Remaining) -> None:
        """Decides kinds that save nothing, of which at most so many pieces go together within the budgets."""
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
        # Kinds are taken in order, so that a number with a digit for each piece tells which pieces were taken.
        radix = len(pool) + 1
        states, piece = self._signatures.reserve(self.states, radix**most - 1)
        layers, before = [states], states.signature
        number, last, run = (np.zeros(len(states), dtype=np.int64) for _ in range(3))
        for _ in range(most):
            again = (owner == owner[last][:, None]) & (run[:, None] > 0)
            allowed = self._within_cutoff(layers[-1], options, remaining.saving, remaining.continuous)
            allowed &= (np.arange(len(owner)) >= last[:, None]) & (~again | (run[:, None] < multiplicity))
            row, column = np.nonzero(allowed)
            if not len(row):
                break
            before, number = before[row], number[row] * radix + owner[column]
            run = np.where(again[row, column], run[row], 0) + 1
            last = column
            extended = self._extended(layers[-1], options, row, column)
            layers.append(self._with_nodes(replace(extended, signature=before + number * piece)))
        self.states = self._pruned(concatenated(layers))

    def _extend(self, states: States, options: _Options, saving: Sequence[int], continuous: Sequence[int]) -> States:
        """Every state with every option, where a cover within the budgets can still be reached."""
        if self._work_limit.count == 1 and not self._exact:
            # Only among several covers can one with a piece to spare be wanted.
            states = states.at(states.width < self._core.target)
        return self._extended(states, options, *np.nonzero(self._within_cutoff(states, options, saving, continuous)))

    def _extended(self, states: States, options: _Options, row: NDArray[np.intp], column: NDArray[np.intp]) -> States:
        """These states with these options. `node` holds parent and step in one number until they are noted."""
        width = states.width[row] + options.adds[column]
        return States(
            width if self._exact else np.minimum(width, self._core.target),
            tuple(have[row] + more[column] for have, more in zip(states.costs, options.costs, strict=True)),
            states.continuous[row] if options.continuous_items is None else options.continuous_items[column],
            states.signature[row] + options.signature[column],
            (states.node[row] + 1) * len(self._core.class_of_step) + options.steps[column],
        )

    def _with_nodes(self, extended: States) -> States:
        """What has grown, each with a node of its own."""
        parents, steps = np.divmod(extended.node, len(self._core.class_of_step))
        return replace(extended, node=self._back_pointers.append(parents - 1, steps))

    def _within_cutoff(
        self, states: States, options: _Options, saving: Sequence[int], continuous: Sequence[int]
    ) -> NDArray[np.bool_]:
        """By state and option: whether a cover within the budgets can still be reached."""
        target, continuous_items = self._core.target, self._core.continuous_items
        self._work_limit.left -= len(states) * len(options.adds)
        allowed = np.ones((len(states), len(options.adds)), dtype=np.bool_)
        adds = options.adds if self._exact else np.minimum(options.adds, target)
        holds, held = _continuous_of(states) if continuous else (None, None)
        if self._exact:
            needs, room = adds, target - states.width
            if continuous_items is not None and options.continuous_items is not None:
                needs = adds + continuous_items.min_width[options.continuous_items]
                allowed &= states.continuous[:, None] == NO_CONTINUOUS
            elif continuous_items is not None and holds is not None:
                room = room - np.where(holds, continuous_items.min_width[held], int(continuous_items.min_width.min()))
            allowed &= needs <= room[:, None]
        for relaxation, multiplier in enumerate(self._core.multipliers):
            # What a sum costs more than its width is worth: together with what is to come, within the budget.
            left = self._cutoffs[relaxation] - multiplier * target - max(saving[relaxation], NO_BOUND)
            own, more = (
                states.costs[relaxation] - multiplier * states.width,
                options.costs[relaxation] - multiplier * adds,
            )
            if options.continuous_items is not None:
                more = more + self._core.continuous_bounds[relaxation][options.continuous_items]
            elif holds is not None:
                own = own + np.where(holds, self._core.continuous_bounds[relaxation][held], continuous[relaxation])
            allowed &= own[:, None] + more <= left
        return allowed

    def _filter_by_bound(self, states: States, remaining: Remaining) -> States:
        """Without the states from which no cover within the budgets can be reached, once the next kind is decided."""
        missing, continuous_items = self._core.target - states.width, self._core.continuous_items
        holds, held = _continuous_of(states)
        keep = np.ones(len(states), dtype=np.bool_)
        if remaining.continuous_after and continuous_items is not None:
            keep &= missing >= np.where(holds, continuous_items.min_width[held], int(continuous_items.min_width.min()))
        for relaxation, multiplier in enumerate(self._core.multipliers):
            bound = multiplier * missing + max(remaining.saving[relaxation], NO_BOUND)
            if remaining.continuous_after:
                bound = bound + np.where(
                    holds, self._core.continuous_bounds[relaxation][held], remaining.continuous_after[relaxation]
                )
            else:
                bound = np.maximum(bound, 0)
            keep &= states.costs[relaxation] + bound <= self._cutoffs[relaxation]
        return states if keep.all() else states.at(keep)

    def _pruned(self, states: States) -> States:
        """The states worth carrying on; where they are too many or the work is spent, those that promise most."""
        count, most = self._work_limit.count, self._work_limit.longest()
        states = cheapest_of_equals(states, count) if self._exact else states.at(non_dominated(states, count))
        if len(states) <= most:
            return states
        self._work_limit.complete = False
        promise = states.costs[0] - self._core.multipliers[0] * states.width
        return states.at(np.sort(np.argpartition(promise, most)[:most]))


def _continuous_of(states: States) -> tuple[NDArray[np.bool_], IntArray]:
    """Whether each state holds a free strip, and which, 0 for none."""
    return states.continuous != NO_CONTINUOUS, np.maximum(states.continuous, 0)


def small_pool(core: CoreProblem, item_classes: Sequence[int], slack: Sequence[int]) -> tuple[list[int], int]:
    """Of these kinds those of which few pieces go together, and how few.

    `slack` is by guide what a cover may cost beyond the least imaginable: so many pieces and
    one more, each of which costs more than its share of that, do not go together.
    """
    best: tuple[list[int], int] = ([], 0)
    for most in range(1, MAX_POOL_ITEMS + 1):
        for relaxation, left in enumerate(slack):
            pool = [
                each
                for each in item_classes
                if (most + 1) * core.item_classes[each].min_reduced[relaxation] > max(left, 0)
            ]
            alternatives = sum(len(core.item_classes[each].adds) for each in pool)
            if len(pool) > len(best[0]) and alternatives**most <= MAX_COMBINATIONS:
                best = pool, most
    return best
