"""The best solutions with a continuous item, which is as wide as what the other items leave of the target.

Method: a dynamic program over a list of Pareto-optimal states, cut by bounds. A continuous item is either part of the
states (its class is "carried", as every mandatory one is) or appended at the end to every state that it fits (the 0-1
knapsack problem with a single continuous variable: H. Marchand and L. A. Wolsey, Mathematical Programming 85, 1999;
from memory). A wider state needs a narrower item, so it dominates where items cost no less the wider they are; else
only states of equal width are compared. Cost: number of classes times the length of the list, some hundred states in
practice. Optimal unless the work limit cut the list.

Trap: an item appended at the end may be one that the state has taken already. Such a combination is infeasible, yet its
state may have driven a feasible one out of the list. Every bound here must therefore hold for such combinations too:
only those that survive to the end are noticed, and their classes carried in another run.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from inventory.solver.core_problem import CoreProblem, ItemClass, WorkLimit
from inventory.solver.dynamic_program import DynamicProgram, Remaining, small_pool
from inventory.solver.lagrangian import NO_CUTOFF
from inventory.solver.problem import ContinuousItems, IntArray
from inventory.solver.runs import cheapest_of_each
from inventory.solver.solution_pool import BestPool, CoreSolution
from inventory.solver.states import NO_CONTINUOUS, States

NO_GAIN = 1 << 61
"""Stands for the cost of a continuous item where no class is left to give one; costs stay below 2^60."""
PAIRS_AT_ONCE = 1 << 20


@dataclass(frozen=True)
class _Appended:
    """Continuous items that are appended at the end: their indices, item classes and steps."""

    continuous: IntArray
    item_classes: IntArray
    steps: IntArray


class ContinuousSearch:
    """Searches a core problem for the solutions within the cutoffs that have a continuous item.

    `min_items` is the fewest items of any solution, where a relaxation has a multiplier on items.
    """

    def __init__(
        self,
        core: CoreProblem,
        continuous_items: ContinuousItems,
        cutoffs: tuple[int, ...],
        work_limit: WorkLimit,
        min_items: int | None,
    ) -> None:
        self._core = core
        self._items = continuous_items
        self._cutoffs = cutoffs
        self._work_limit = work_limit
        self._relaxations = range(len(core.multipliers))
        self._savings_from = [core.savings_from(relaxation) for relaxation in self._relaxations]
        # Only a state can tell whether the one item of a mandatory class is the continuous one.
        self._carried = {index for index, each in enumerate(core.item_classes) if each.mandatory}
        if min_items is not None:
            self._carried |= self._must_carry(min_items)

    def collect(self, pool: BestPool) -> None:
        """Adds the cheapest solutions to the pool.

        Runs again, with more classes carried, until no item is taken twice in any of the cheapest.
        """
        while True:
            program = self._run()
            self._collect_carried(program, pool)
            taken_twice = self._collect_appended(program, pool)
            if not taken_twice:
                return
            if self._work_limit.exhausted:
                self._work_limit.complete = False
                return
            self._carried |= taken_twice

    def _must_carry(self, min_items: int) -> set[int]:
        """The classes that with one item more than there are would reach the target with fewer items than any solution.

        The relaxation with an item multiplier does not bound such combinations: it would fix them after they drove
        feasible states out of the list, and nobody would notice that an item is taken twice. Each of them has an item
        of every mandatory class.
        """
        class_widths = [int(item_class.adds.max(initial=0)) for item_class in self._core.item_classes]
        item_widths = sorted(
            (
                width
                for width, item_class in zip(class_widths, self._core.item_classes, strict=True)
                for _ in range(min(item_class.multiplicity - item_class.mandatory, min_items))
            ),
            reverse=True,
        )
        mandatory = [index for index, item_class in enumerate(self._core.item_classes) if item_class.mandatory]
        mandatory_width = sum(class_widths[index] for index in mandatory)
        carried = set()
        for index, item_class in enumerate(self._core.item_classes):
            others = min_items - 2 - item_class.multiplicity - len(mandatory)
            if len(item_class.continuous) and len(item_class.adds) and others >= 0 and not item_class.mandatory:
                widest = int((item_class.continuous_adds + self._items.max_width[item_class.continuous]).max())
                width = widest + item_class.multiplicity * class_widths[index] + sum(item_widths[:others])
                width += mandatory_width
                if width >= self._core.target:
                    carried.add(index)
        return carried

    def _continuous_gains(self, relaxation: int) -> list[int]:
        """By class: what the best continuous item that can still come costs beyond its item's own alternative.

        Items of classes already decided can still be appended, unless those are carried. They save nothing any more.
        """

        def least(item_class: ItemClass, saved: int) -> int:
            return int(item_class.continuous_reduced[relaxation].min(initial=NO_GAIN)) - saved

        later = [NO_GAIN]
        for item_class in reversed(self._core.item_classes):
            saved = item_class.saving_of_one(relaxation) if len(item_class.continuous) else 0
            later.append(min(later[-1], least(item_class, saved)))
        gains = later[::-1]
        earlier = NO_GAIN
        for index, item_class in enumerate(self._core.item_classes):
            gains[index] = min(gains[index], earlier)
            if index not in self._carried:
                earlier = min(earlier, least(item_class, 0))
        gains[-1] = earlier
        return gains

    def _run(self) -> DynamicProgram:
        """The dynamic program with all classes decided."""
        core = self._core
        gains = [self._continuous_gains(relaxation) for relaxation in self._relaxations]
        savings = self._savings_from

        def remaining(index: int, after: int) -> Remaining:
            """What is still to come while class `index` is decided, all classes before `after` being decided then."""
            return Remaining(
                [each[after] for each in savings], [each[index] for each in gains], [each[after] for each in gains]
            )

        program = DynamicProgram(core, self._cutoffs, self._work_limit, only_equals=not self._items.rising)
        slacks = core.slacks(self._cutoffs, [each[0] for each in gains])
        carrying = {index for index in self._carried if len(core.item_classes[index].continuous)}
        affordable = core.affordable_classes(slacks, carrying)
        not_carried = [index for index in affordable if index not in self._carried]
        pooled, max_items = small_pool(core, not_carried, slacks)
        if pooled:
            program.add_pool([core.item_classes[index] for index in pooled], max_items, remaining(0, 0))
        for index in sorted(set(affordable).difference(pooled)):
            if len(program):
                program.add_class(core.item_classes[index], remaining(index, index + 1), carried=index in carrying)
        return program

    def _collect_carried(self, program: DynamicProgram, pool: BestPool) -> None:
        """Adds the cheapest solutions whose continuous item is part of their state."""
        if not self._carried:
            return
        states = program.states.at(program.states.continuous != NO_CONTINUOUS)
        missing = self._core.target - states.width
        fits = missing <= self._items.max_width[states.continuous]
        states, missing = states.at(fits), missing[fits]
        widths = np.maximum(missing, self._items.min_width[states.continuous])
        total = states.costs[0] + self._items.cost_at(states.continuous, widths)[0]
        for each in cheapest_of_each(total, states.signature)[: self._work_limit.count].tolist():
            pool.add(CoreSolution(int(total[each]), program.path_to(int(states.node[each])), int(widths[each])))

    def _collect_appended(self, program: DynamicProgram, pool: BestPool) -> set[int]:
        """Adds the cheapest solutions to which a continuous item is appended; returns the classes to carry instead.

        Those are the classes of which some combination that would be among the best takes more items than there are.
        """
        core = self._core
        item_classes = [
            index
            for index, item_class in enumerate(core.item_classes)
            if len(item_class.continuous) and index not in self._carried
        ]
        states = program.states.at(program.states.continuous == NO_CONTINUOUS)
        if self._work_limit.count == 1:
            # Without a mandatory item, a solution with an item to spare matters only among several.
            states = states.at(states.width < core.target)
        if not item_classes or not len(states):
            return set()
        appended = _Appended(
            np.concatenate([core.item_classes[index].continuous for index in item_classes]),
            np.repeat(item_classes, [len(core.item_classes[index].continuous) for index in item_classes]),
            np.concatenate([core.item_classes[index].continuous_steps for index in item_classes]),
        )
        taken_twice: dict[int, int] = {}
        at_once = max(PAIRS_AT_ONCE // len(appended.continuous), 1)
        for begin in range(0, len(states), at_once):
            batch = states.at(np.arange(begin, min(begin + at_once, len(states))))
            for cost, state, column, width in self._pairs(batch, appended, pool.cutoff):
                item_class = int(appended.item_classes[column])
                if cost > pool.cutoff:
                    break
                if cost >= taken_twice.get(item_class, NO_CUTOFF):
                    continue
                path = (int(appended.steps[column]), *program.path_to(int(batch.node[state])))
                solution = CoreSolution(cost, path, width)
                if pool.items_of(solution)[item_class] > core.item_classes[item_class].multiplicity:
                    taken_twice[item_class] = cost
                else:
                    pool.add(solution)
        return {item_class for item_class, cost in taken_twice.items() if cost <= pool.cutoff}

    def _pairs(self, states: States, appended: _Appended, cutoff: int) -> Iterator[tuple[int, int, int, int]]:
        """The cheapest pairs of a state and a continuous item within the cutoffs: cost, both indices, and the width."""
        continuous_items, continuous = self._items, appended.continuous
        self._work_limit.left -= len(states) * len(continuous)
        missing = self._core.target - states.width
        widths = np.maximum(
            missing[:, None] - continuous_items.adds[continuous], continuous_items.min_width[continuous]
        )
        fits = widths <= continuous_items.max_width[continuous]
        for relaxation, multiplier in enumerate(self._core.multipliers):
            states_bound = states.costs[relaxation] + multiplier * missing
            reduced = (
                self._core.continuous_bounds[relaxation][continuous] - multiplier * continuous_items.adds[continuous]
            )
            fits &= states_bound[:, None] + reduced <= self._cutoffs[relaxation]
        row, column = np.nonzero(fits)
        width = widths[row, column]
        cost = states.costs[0][row] + continuous_items.cost_at(continuous[column], width)[0]
        within = cost <= cutoff
        row, column, width, cost = row[within], column[within], width[within], cost[within]
        for each in cheapest_of_each(cost, appended.item_classes[column], states.signature[row]):
            yield int(cost[each]), int(row[each]), int(column[each]), int(width[each])
