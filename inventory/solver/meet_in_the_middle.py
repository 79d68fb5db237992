"""The best solutions whose sum need only reach the target, by meeting in the middle.

Method: two dynamic programs over lists of Pareto-optimal states, one from each end of the class order, joined at the
end (E. Horowitz and S. Sahni, Computing partitions with applications to the knapsack problem, Journal of the ACM 21(2),
1974; from memory; here with lists cut by bounds). Classes are in the order of their reduced cost: either end is nearly
decided, so its list stays short, and the shorter list takes the next class. Cost: number of classes times the length of
the lists, some hundred states in practice, exponential in the worst case. Optimal unless the work limit cut a list.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from inventory.solver.core_problem import CoreProblem, WorkLimit
from inventory.solver.dynamic_program import DynamicProgram, Remaining, small_pool
from inventory.solver.runs import cheapest_of_each
from inventory.solver.solution_pool import BestPool, CoreSolution
from inventory.solver.states import States

PAIRS_AT_ONCE = 1 << 15


class MeetInTheMiddle:
    """Searches a core problem for the solutions within the cutoffs."""

    def __init__(self, core: CoreProblem, cutoffs: tuple[int, ...], work_limit: WorkLimit) -> None:
        self._core = core
        self._cutoffs = cutoffs
        self._work_limit = work_limit
        self._relaxations = range(len(core.multipliers))

    def collect(self, pool: BestPool) -> None:
        """Adds the cheapest solutions to the pool."""
        core = self._core
        slacks = core.slacks(self._cutoffs, (0,) * len(core.multipliers))
        if min(slacks) < 0:
            return
        savings = [sum(each.saving(relaxation) for each in core.item_classes) for relaxation in self._relaxations]
        front, back = (DynamicProgram(core, self._cutoffs, self._work_limit) for _ in range(2))
        remaining: dict[DynamicProgram, list[int]] = {front: list(savings), back: list(savings)}
        affordable = core.affordable_classes(slacks)
        pooled, max_items = small_pool(core, affordable, slacks)
        if pooled:
            back.add_pool([core.item_classes[index] for index in pooled], max_items, Remaining(savings, savings))
        others = set(affordable).difference(pooled)
        item_classes = [core.item_classes[index] for index in affordable if index in others]
        low, high = 0, len(item_classes)
        while low < high and len(front) and len(back):
            if len(front) <= len(back):
                end, item_class, low = front, item_classes[low], low + 1
            else:
                end, item_class, high = back, item_classes[high - 1], high - 1
            for relaxation in self._relaxations:
                remaining[end][relaxation] -= item_class.saving(relaxation)
            end.add_class(item_class, Remaining(remaining[end], remaining[end]))
        self._join(front, back, pool)

    def _join(self, front: DynamicProgram, back: DynamicProgram, pool: BestPool) -> None:
        """Adds the cheapest combinations of a state of each end that reach the target."""
        if not len(front) or not len(back):
            return
        states = front.states
        partners = back.states.at(np.argsort(back.states.width, kind="stable"))
        cheapest_as_wide = np.minimum.accumulate(partners.costs[0][::-1])[::-1]
        first_partner = np.searchsorted(partners.width, self._core.target - states.width)
        joinable = np.flatnonzero(first_partner < len(partners))
        bound = states.costs[0][joinable] + cheapest_as_wide[first_partner[joinable]]
        order = np.argsort(bound, kind="stable")
        at_once = max(PAIRS_AT_ONCE // len(partners), 1)
        for begin in range(0, len(order), at_once):
            batch = order[begin : begin + at_once]
            batch = joinable[batch[bound[batch] <= pool.cutoff]]
            if not len(batch):
                return
            for cost, one, other in self._cheapest_pairs(states, partners, batch, first_partner[batch], pool.cutoff):
                path = (*front.path_to(int(states.node[one])), *back.path_to(int(partners.node[other])))
                pool.add(CoreSolution(cost, path))

    def _cheapest_pairs(
        self,
        states: States,
        partners: States,
        batch: NDArray[np.intp],
        first_partner: NDArray[np.intp],
        cutoff: int,
    ) -> list[tuple[int, int, int]]:
        """The cheapest pairs of a state of the batch and a partner wide enough: cost and both indices."""
        total = states.costs[0][batch][:, None] + partners.costs[0]
        row, other = np.nonzero((total <= cutoff) & (np.arange(len(partners)) >= first_partner[:, None]))
        cost, one = total[row, other], batch[row]
        order = cheapest_of_each(cost, partners.signature[other], states.signature[one])[: self._work_limit.count]
        return list(zip(cost[order].tolist(), one[order].tolist(), other[order].tolist(), strict=True))
