"""The best solutions with a continuous item, which is as wide as what the other items leave of the target.

Method: a dynamic program over a list of Pareto-optimal states, cut by bounds. At the end the continuous items are
appended to every state that they fit (the 0-1 knapsack problem with a single continuous variable: H. Marchand and L. A.
Wolsey, Mathematical Programming 85, 1999; from memory). A wider state needs a narrower item, so it dominates where
items cost no less the wider they are; else only states of equal width are compared. Cost: number of classes times the
length of the list, some hundred states in practice. Optimal unless the work limit cut the list.

Trap: an item appended at the end may be one that the state has taken already. Such a combination is infeasible, yet its
state may have driven a feasible one out of the list. Every bound here must therefore hold for such combinations too:
only those that survive to the end are noticed. Their classes are set apart: the continuous items of each get a program
of their own, with one item of the class less, and all others another run without them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np

from inventory.solver.core_problem import CoreProblem, WorkLimit
from inventory.solver.dynamic_program import DynamicProgram, Remaining, small_pool
from inventory.solver.lagrangian import NO_CUTOFF
from inventory.solver.problem import ContinuousItems, IntArray
from inventory.solver.runs import cheapest_of_each
from inventory.solver.solution_pool import BestPool, CoreSolution
from inventory.solver.states import States

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
        # Only a program of its own can let the only item of a mandatory class be the continuous one.
        self._apart = {index for index, each in enumerate(core.item_classes) if each.mandatory}
        if min_items is not None:
            self._apart |= self._surely_taken_twice(min_items)

    def collect(self, pool: BestPool) -> None:
        """Adds the cheapest solutions to the pool."""
        apart = self._apart
        while True:
            for index in sorted(apart):
                self._collect_of_class(index, pool)
            apart = self._collect_of_others(pool)
            if not apart:
                return
            if self._work_limit.exhausted:
                self._work_limit.complete = False
                return
            self._apart |= apart

    def _surely_taken_twice(self, min_items: int) -> set[int]:
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
        apart = set()
        for index, item_class in enumerate(self._core.item_classes):
            others = min_items - 2 - item_class.multiplicity - len(mandatory)
            if len(item_class.continuous) and len(item_class.adds) and others >= 0 and not item_class.mandatory:
                widest = int((item_class.continuous_adds + self._items.max_width[item_class.continuous]).max())
                width = widest + item_class.multiplicity * class_widths[index] + sum(item_widths[:others])
                width += mandatory_width
                if width >= self._core.target:
                    apart.add(index)
        return apart

    def _collect_of_class(self, index: int, pool: BestPool) -> None:
        """Adds the cheapest solutions with a continuous item of this class."""
        item_class = self._core.item_classes[index]
        if not len(item_class.continuous):
            return
        core = self._core.without_one_of(index)
        gains = [[int(reduced.min())] * (len(core.item_classes) + 1) for reduced in item_class.continuous_reduced]
        self._append(self._run(core, gains), [index], pool)

    def _collect_of_others(self, pool: BestPool) -> set[int]:
        """Adds the cheapest solutions with a continuous item of any other class; returns the classes to set apart.

        Those are the classes of which some combination that would be among the best takes more items than there are.
        """
        others = [
            index
            for index, item_class in enumerate(self._core.item_classes)
            if len(item_class.continuous) and index not in self._apart
        ]
        if not others:
            return set()
        gains = [self._gains(relaxation) for relaxation in self._relaxations]
        return self._append(self._run(self._core, gains), others, pool)

    def _gains(self, relaxation: int) -> list[int]:
        """By class: what the best continuous item that can still come costs beyond its item's own alternative.

        Items of classes already decided can still be appended; they save nothing any more. The last is the gain once
        all classes are decided.
        """
        least = [
            NO_GAIN if index in self._apart else int(each.continuous_reduced[relaxation].min(initial=NO_GAIN))
            for index, each in enumerate(self._core.item_classes)
        ]
        undecided = (
            own if own == NO_GAIN else own - each.saving_of_one(relaxation)
            for own, each in zip(reversed(least), reversed(self._core.item_classes), strict=True)
        )
        later = list(accumulate(undecided, min, initial=NO_GAIN))[::-1]
        earlier = accumulate(least, min, initial=NO_GAIN)
        return [min(pair) for pair in zip(earlier, later, strict=True)]

    def _run(self, core: CoreProblem, gains: Sequence[Sequence[int]]) -> DynamicProgram | None:
        """The dynamic program with all classes decided, None where no solution is within the cutoffs.

        `gains` are by relaxation and class.
        """
        savings = [
            [saving + gain for saving, gain in zip(core.savings_from(relaxation), gains[relaxation], strict=True)]
            for relaxation in self._relaxations
        ]

        def remaining(index: int, after: int) -> Remaining:
            """What is still to come while class `index` is decided, all classes before `after` being decided then."""
            return Remaining(
                [each[after] - own[after] + own[index] for each, own in zip(savings, gains, strict=True)],
                [each[after] for each in savings],
            )

        program = DynamicProgram(core, self._cutoffs, self._work_limit, only_equals=not self._items.rising)
        slacks = core.slacks(self._cutoffs, [each[0] for each in gains])
        if min(slacks) < 0:
            return None
        affordable = core.affordable_classes(slacks)
        pooled, max_items = small_pool(core, affordable, slacks)
        if pooled:
            program.add_pool([core.item_classes[index] for index in pooled], max_items, remaining(0, 0))
        for index in sorted(set(affordable).difference(pooled)):
            if len(program):
                program.add_class(core.item_classes[index], remaining(index, index + 1))
        return program

    def _append(self, program: DynamicProgram | None, item_classes: Sequence[int], pool: BestPool) -> set[int]:
        """Adds the cheapest states with a continuous item of these classes appended; returns those taken twice."""
        if program is None:
            return set()
        core, states = self._core, program.states
        if self._work_limit.count == 1 and not any(core.item_classes[index].mandatory for index in item_classes):
            # A solution with an item to spare matters only among several.
            states = states.at(states.width < core.target)
        if not len(states):
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
