"""The best covers of sums that need only reach the target, swept from both ends until the two lists meet.

Method: a dynamic programme over lists of unbeaten sums (E. Horowitz and S. Sahni's
meeting in the middle, Journal of the ACM 21(2), 1974, with lists cut by bounds; from
memory). The kinds stand in order of promise: what is surely taken first, what is
surely left last. Either end is nearly decided, so its list stays short; the list that is
shorter takes the next kind. At the end each state of the one list needs those
of the other that are wide enough. Sums that must be met, and strips of free width, are
`inventory.solver.equality`'s.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from inventory.solver.core_problem import CoreProblem, WorkLimit
from inventory.solver.dynamic_program import DynamicProgram, Remaining, small_pool
from inventory.solver.solution_pool import BestPool, CoreSolution
from inventory.solver.states import States, run_start_mask

PAIRS_AT_ONCE = 1 << 15


class MeetInTheMiddle:
    """The covers of a field that reach its target within the budgets."""

    def __init__(self, core: CoreProblem, cutoffs: tuple[int, ...], work_limit: WorkLimit) -> None:
        self._core = core
        self._cutoffs = cutoffs
        self._work_limit = work_limit
        self._relaxations = range(len(core.multipliers))

    def collect(self, pool: BestPool) -> None:
        """Holds the cheapest covers."""
        core = self._core
        totals = [
            sum(item_class.saving(relaxation) for item_class in core.item_classes) for relaxation in self._relaxations
        ]
        lower_bounds = [
            multiplier * core.target + total for multiplier, total in zip(core.multipliers, totals, strict=True)
        ]
        slack = [cutoff - lower_bound for cutoff, lower_bound in zip(self._cutoffs, lower_bounds, strict=True)]
        if min(slack) < 0:
            return
        front, back = (DynamicProgram(core, self._cutoffs, self._work_limit, exact=False) for _ in range(2))
        remaining: dict[DynamicProgram, list[int]] = {front: list(totals), back: list(totals)}
        matters = [
            index
            for index, item_class in enumerate(core.item_classes)
            if all(item_class.min_reduced[relaxation] <= slack[relaxation] for relaxation in self._relaxations)
        ]
        few, most = small_pool(core, matters, slack)
        if few:
            back.add_pool([core.item_classes[index] for index in few], most, Remaining(totals))
        pooled = set(few)
        item_classes = [core.item_classes[index] for index in matters if index not in pooled]
        low, high = 0, len(item_classes)
        while low < high and len(front) and len(back):
            if len(front) <= len(back):
                end, item_class, low = front, item_classes[low], low + 1
            else:
                end, item_class, high = back, item_classes[high - 1], high - 1
            for relaxation in self._relaxations:
                remaining[end][relaxation] -= item_class.saving(relaxation)
            end.add_class(item_class, Remaining(remaining[end]))
        self._join(front, back, pool)

    def _join(self, front: DynamicProgram, back: DynamicProgram, pool: BestPool) -> None:
        """Holds the cheapest covers of a state of each end."""
        if not len(front) or not len(back):
            return
        some = front.states
        others = back.states.at(np.argsort(back.states.width, kind="stable"))
        least = np.minimum.accumulate(others.costs[0][::-1])[::-1]
        place = np.searchsorted(others.width, self._core.target - some.width)
        fits = np.flatnonzero(place < len(others))
        promise = some.costs[0][fits] + least[place[fits]]
        order = np.argsort(promise, kind="stable")
        at_once = max(PAIRS_AT_ONCE // len(others), 1)
        for first in range(0, len(order), at_once):
            few = order[first : first + at_once]
            few = fits[few[promise[few] <= pool.cutoff]]
            if not len(few):
                return
            for cost, one, other in self._cheapest_pairs(some, others, few, place[few], pool.cutoff):
                path = (*front.path_to(int(some.node[one])), *back.path_to(int(others.node[other])))
                pool.add(CoreSolution(cost, path))

    def _cheapest_pairs(
        self, some: States, others: States, few: NDArray[np.intp], place: NDArray[np.intp], cutoff: int
    ) -> list[tuple[int, int, int]]:
        """The cheapest pairs of one of `few` with one of those from its `place` on: cost and where both stand."""
        total = some.costs[0][few][:, None] + others.costs[0]
        row, other = np.nonzero((total <= cutoff) & (np.arange(len(others)) >= place[:, None]))
        cost, one = total[row, other], few[row]
        order = np.lexsort((cost, others.signature[other], some.signature[one]))
        order = order[run_start_mask(some.signature[one[order]], others.signature[other[order]])]
        order = order[np.argsort(cost[order], kind="stable")][: self._work_limit.count]
        return list(zip(cost[order].tolist(), one[order].tolist(), other[order].tolist(), strict=True))
