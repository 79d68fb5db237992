"""The best covers whose sum meets the target exactly: with a strip of free width, or of strips that are counted.

Method: a dynamic programme over a list of distinct partial sums, cut short by guides.
Exact for every grid, since sums are whole nanometres in a list, not cells in a table.
Cost: number of kinds times the length of the list, which the guides keep to some hundred
states on real racks; in the worst case the list grows with the number of distinct sums.
Limit: above the longest list allowed it is cut and the answer no longer called proven.

A strip that is added at the end may be of a piece that its cover has taken. Such a cover is
none, but it may have driven a sound one out of the list. So whatever bounds this list must
hold for such covers too: only those that are still there at the end are seen and mended.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from inventory.solver.core_problem import CoreProblem, WorkLimit
from inventory.solver.dynamic_program import DynamicProgram, Remaining, small_pool
from inventory.solver.problem import IntArray
from inventory.solver.solution_pool import NO_CUTOFF, BestPool, CoreSolution
from inventory.solver.states import NO_CONTINUOUS, States, run_start_mask

NO_CONTINUOUS_LEFT = 1 << 61
"""Stands for the cost of a free strip where no kind is left to give one; costs stay below 2^60."""
PAIRS_AT_ONCE = 1 << 20


@dataclass(frozen=True)
class _Late:
    """Free strips that are added at the end: their indices, kinds and steps."""

    continuous_items: IntArray
    item_classes: IntArray
    steps: IntArray


class EqualitySearch:
    """The covers of a field that meet its target within the budgets."""

    def __init__(
        self, core: CoreProblem, cutoffs: tuple[int, ...], work_limit: WorkLimit, min_items: int | None = None
    ) -> None:
        self._core = core
        self._cutoffs = cutoffs
        self._work_limit = work_limit
        self._relaxations = range(len(core.multipliers))
        self._tails = [self._tail_savings(relaxation) for relaxation in self._relaxations]
        # Kinds whose free strips are taken along from state to state; those of all others are added at the end.
        self._carried = set() if min_items is None else self._must_carry(min_items)
        # By guide and kind, what the best free strip still to come costs; empty where none is wanted.
        self._gains: list[list[int]] = []

    def collect_exact(self, pool: BestPool) -> None:
        """Holds the cheapest covers of strips that are counted."""
        program = self._run()
        full = program.states.at(program.states.width == self._core.target)
        for each in np.argsort(full.costs[0], kind="stable")[: self._work_limit.count].tolist():
            pool.add(CoreSolution(int(full.costs[0][each]), program.path_to(int(full.node[each]))))

    def collect_continuous(self, pool: BestPool) -> None:
        """Holds the cheapest covers with a free strip.

        A strip added at the end may want a piece that its cover has already taken. Then its
        kind is carried and the sweep is done again, until the cheapest ones are sound.
        """
        while True:
            self._gains = [self._continuous_gains(relaxation) for relaxation in self._relaxations]
            program = self._run()
            self._collect_carried(program, pool)
            taken_twice = self._collect_late(program, pool)
            if not taken_twice:
                return
            if self._work_limit.exhausted:
                self._work_limit.complete = False
                return
            self._carried |= taken_twice

    def _must_carry(self, fewest_items: int) -> set[int]:
        """The kinds that, with a piece more than there are, would reach the target with fewer pieces than any cover.

        The guide of boards of fewest pieces knows no such covers: it would leave them out,
        after they have already beaten sound ones, and nobody would see that a piece is taken twice.
        """
        continuous_items = self._core.continuous_items
        if continuous_items is None:
            return set()
        widest = [int(item_class.adds.max(initial=0)) for item_class in self._core.item_classes]
        signature = sorted(
            (
                wide
                for wide, item_class in zip(widest, self._core.item_classes, strict=True)
                for _ in range(min(item_class.multiplicity, fewest_items))
            ),
            reverse=True,
        )
        found = set()
        for index, item_class in enumerate(self._core.item_classes):
            others = fewest_items - 2 - item_class.multiplicity
            if len(item_class.continuous) and len(item_class.adds) and others >= 0:
                continuous = int((item_class.continuous_adds + continuous_items.max_width[item_class.continuous]).max())
                if continuous + item_class.multiplicity * widest[index] + sum(signature[:others]) >= self._core.target:
                    found.add(index)
        return found

    def _tail_savings(self, relaxation: int) -> list[int]:
        """By kind: what all kinds from there on at best save."""
        tails = [0]
        for item_class in reversed(self._core.item_classes):
            tails.append(tails[-1] + item_class.saving(relaxation))
        return tails[::-1]

    def _continuous_gains(self, relaxation: int) -> list[int]:
        """By kind: what the best free strip that can still come costs beyond its piece's own choice.

        Strips of kinds already decided can come too, unless those are carried: for them
        nothing is saved any more.
        """
        later = [NO_CONTINUOUS_LEFT]
        for item_class in reversed(self._core.item_classes):
            here = NO_CONTINUOUS_LEFT
            if len(item_class.continuous):
                here = int(item_class.continuous_reduced[relaxation].min()) - min(item_class.min_reduced[relaxation], 0)
            later.append(min(later[-1], here))
        gains = later[::-1]
        earlier = NO_CONTINUOUS_LEFT
        for index, item_class in enumerate(self._core.item_classes):
            gains[index] = min(gains[index], earlier)
            if len(item_class.continuous) and index not in self._carried:
                earlier = min(earlier, int(item_class.continuous_reduced[relaxation].min()))
        gains[-1] = earlier
        return gains

    def _idle(self) -> set[int]:
        """The kinds of which any piece leads past a budget, so that the sweep can pass them by."""
        idle = set()
        for index, item_class in enumerate(self._core.item_classes):
            for relaxation in self._relaxations:
                dearer = max(item_class.min_reduced[relaxation], 0)
                if self._gains and len(item_class.continuous) and index in self._carried:
                    # The gain may be this kind's own strip, which is then what is taken of it.
                    dearer = 0
                if dearer > self._slack(relaxation):
                    idle.add(index)
        return idle

    def _slack(self, relaxation: int) -> int:
        """By how much the cheapest cover imaginable is below a budget."""
        lower_bound = self._core.multipliers[relaxation] * self._core.target + self._tails[relaxation][0]
        if self._gains:
            lower_bound += self._gains[relaxation][0]
        return self._cutoffs[relaxation] - lower_bound

    def _run(self) -> DynamicProgram:
        """All kinds decided."""
        program = DynamicProgram(self._core, self._cutoffs, self._work_limit, exact=True)
        idle = self._idle()
        item_classes = [index for index in range(len(self._core.item_classes)) if index not in idle]
        continuous = [index for index in item_classes if index not in self._carried]
        few, most = small_pool(self._core, continuous, [self._slack(relaxation) for relaxation in self._relaxations])
        if few:
            program.add_pool([self._core.item_classes[index] for index in few], most, self._remaining(0, 0))
        pooled = set(few)
        for index in item_classes:
            if index not in pooled and len(program):
                program.add_class(
                    self._core.item_classes[index], self._remaining(index, index + 1), carried=index in self._carried
                )
        return program

    def _remaining(self, index: int, after: int) -> Remaining:
        """What is to come with all kinds before `after` decided, a strip of the kind `index` among it."""
        saving = [self._tails[relaxation][after] for relaxation in self._relaxations]
        if not self._gains:
            return Remaining(saving)
        gains = self._gains
        return Remaining(saving, [each[index] for each in gains], [each[after] for each in gains])

    def _collect_carried(self, program: DynamicProgram, pool: BestPool) -> None:
        """Holds the cheapest covers whose free strip was carried along."""
        continuous_items = self._core.continuous_items
        if continuous_items is None or not self._carried:
            return
        states = program.states.at(program.states.continuous != NO_CONTINUOUS)
        widths = self._core.target - states.width
        fits = (widths >= continuous_items.min_width[states.continuous]) & (
            widths <= continuous_items.max_width[states.continuous]
        )
        states, widths = states.at(fits), widths[fits]
        total = states.costs[0] + continuous_items.cost_at(states.continuous, widths)[0]
        order = np.lexsort((total, states.signature))
        order = order[run_start_mask(states.signature[order])]
        for each in order[np.argsort(total[order], kind="stable")][: self._work_limit.count].tolist():
            pool.add(CoreSolution(int(total[each]), program.path_to(int(states.node[each])), int(widths[each])))

    def _collect_late(self, program: DynamicProgram, pool: BestPool) -> set[int]:
        """Holds the cheapest covers to which a free strip is added now; the kinds whose strips need to be carried.

        Those are wanted by a cover that has all their pieces already, and would be among the best.
        """
        item_classes = [
            index
            for index, item_class in enumerate(self._core.item_classes)
            if len(item_class.continuous) and index not in self._carried
        ]
        states = program.states.at(program.states.continuous == NO_CONTINUOUS)
        if not item_classes or not len(states):
            return set()
        late = _Late(
            np.concatenate([self._core.item_classes[index].continuous for index in item_classes]),
            np.repeat(item_classes, [len(self._core.item_classes[index].continuous) for index in item_classes]),
            np.concatenate([self._core.item_classes[index].continuous_steps for index in item_classes]),
        )
        twice: dict[int, int] = {}
        at_once = max(PAIRS_AT_ONCE // len(late.continuous_items), 1)
        for first in range(0, len(states), at_once):
            some = states.at(np.arange(first, min(first + at_once, len(states))))
            for cost, place, continuous, width in self._pairs(some, late, pool.cutoff):
                item_class = int(late.item_classes[continuous])
                if cost > pool.cutoff:
                    break
                if cost >= twice.get(item_class, NO_CUTOFF):
                    continue
                found = CoreSolution(
                    cost, (int(late.steps[continuous]), *program.path_to(int(some.node[place]))), width
                )
                if pool.pieces_of(found)[item_class] > self._core.item_classes[item_class].multiplicity:
                    twice[item_class] = cost
                else:
                    pool.add(found)
        return {item_class for item_class, cost in twice.items() if cost <= pool.cutoff}

    def _pairs(self, some: States, late: _Late, cutoff: int) -> Iterator[tuple[int, int, int, int]]:
        """The cheapest pairs of a state and a strip within the limit: cost, where both stand, and the strip's width."""
        continuous_items = self._core.continuous_items
        if continuous_items is None:
            return
        continuous = late.continuous_items
        self._work_limit.left -= len(some) * len(continuous)
        missing = self._core.target - some.width
        widths = missing[:, None] - continuous_items.adds[continuous]
        fits = (widths >= continuous_items.min_width[continuous]) & (widths <= continuous_items.max_width[continuous])
        for relaxation, multiplier in enumerate(self._core.multipliers):
            promise = some.costs[relaxation] + multiplier * missing
            bound = (
                self._core.continuous_bounds[relaxation][continuous] - multiplier * continuous_items.adds[continuous]
            )
            fits &= promise[:, None] + bound <= self._cutoffs[relaxation]
        row, column = np.nonzero(fits)
        width = widths[row, column]
        cost = some.costs[0][row] + continuous_items.cost_at(continuous[column], width)[0]
        near = cost <= cutoff
        row, column, width, cost = row[near], column[near], width[near], cost[near]
        order = np.lexsort((cost, late.item_classes[column], some.signature[row]))
        order = order[run_start_mask(some.signature[row[order]], late.item_classes[column[order]])]
        for each in order[np.argsort(cost[order], kind="stable")]:
            yield int(cost[each]), int(row[each]), int(column[each]), int(width[each])
