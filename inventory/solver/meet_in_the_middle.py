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

from inventory.solver.core_problem import Effort, Field
from inventory.solver.dynamic_program import Ahead, Growing, few_at_once
from inventory.solver.solution_pool import Best, Found
from inventory.solver.states import States, firsts

PAIRS_AT_ONCE = 1 << 15


class BothEnds:
    """The covers of a field that reach its target within the budgets."""

    def __init__(self, field: Field, budgets: tuple[int, ...], effort: Effort) -> None:
        self._field = field
        self._budgets = budgets
        self._effort = effort
        self._guides = range(len(field.prices))

    def hold_best(self, best: Best) -> None:
        """Holds the cheapest covers."""
        field = self._field
        totals = [sum(kind.saved(guide) for kind in field.kinds) for guide in self._guides]
        floors = [price * field.target + total for price, total in zip(field.prices, totals, strict=True)]
        spare = [budget - floor for budget, floor in zip(self._budgets, floors, strict=True)]
        if min(spare) < 0:
            return
        front, back = (Growing(field, self._budgets, self._effort, exact=False) for _ in range(2))
        ahead: dict[Growing, list[int]] = {front: list(totals), back: list(totals)}
        matters = [
            index
            for index, kind in enumerate(field.kinds)
            if all(kind.least_reduced[guide] <= spare[guide] for guide in self._guides)
        ]
        few, most = few_at_once(field, matters, spare)
        if few:
            back.take_few_of([field.kinds[index] for index in few], most, Ahead(totals))
        pooled = set(few)
        kinds = [field.kinds[index] for index in matters if index not in pooled]
        low, high = 0, len(kinds)
        while low < high and len(front) and len(back):
            if len(front) <= len(back):
                end, kind, low = front, kinds[low], low + 1
            else:
                end, kind, high = back, kinds[high - 1], high - 1
            for guide in self._guides:
                ahead[end][guide] -= kind.saved(guide)
            end.take(kind, Ahead(ahead[end]))
        self._meet(front, back, best)

    def _meet(self, front: Growing, back: Growing, best: Best) -> None:
        """Holds the cheapest covers of a state of each end."""
        if not len(front) or not len(back):
            return
        some = front.states
        others = back.states.at(np.argsort(back.states.width, kind="stable"))
        least = np.minimum.accumulate(others.costs[0][::-1])[::-1]
        place = np.searchsorted(others.width, self._field.target - some.width)
        fits = np.flatnonzero(place < len(others))
        promise = some.costs[0][fits] + least[place[fits]]
        order = np.argsort(promise, kind="stable")
        at_once = max(PAIRS_AT_ONCE // len(others), 1)
        for first in range(0, len(order), at_once):
            few = order[first : first + at_once]
            few = fits[few[promise[few] <= best.limit]]
            if not len(few):
                return
            for cost, one, other in self._cheapest_pairs(some, others, few, place[few], best.limit):
                way = (*front.way_to(int(some.node[one])), *back.way_to(int(others.node[other])))
                best.hold(Found(cost, way))

    def _cheapest_pairs(
        self, some: States, others: States, few: NDArray[np.intp], place: NDArray[np.intp], limit: int
    ) -> list[tuple[int, int, int]]:
        """The cheapest pairs of one of `few` with one of those from its `place` on: cost and where both stand."""
        total = some.costs[0][few][:, None] + others.costs[0]
        row, other = np.nonzero((total <= limit) & (np.arange(len(others)) >= place[:, None]))
        cost, one = total[row, other], few[row]
        order = np.lexsort((cost, others.pieces[other], some.pieces[one]))
        order = order[firsts(some.pieces[one[order]], others.pieces[other[order]])]
        order = order[np.argsort(cost[order], kind="stable")][: self._effort.count]
        return list(zip(cost[order].tolist(), one[order].tolist(), other[order].tolist(), strict=True))
