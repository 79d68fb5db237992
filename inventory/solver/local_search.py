"""Local search near the relaxed solution: better incumbents before the dynamic program.

Method: the relaxed solution takes every item whose best alternative has a negative reduced cost and one item of each
mandatory class, and nearly fills the target. All solutions within two of the best changes to it, and a third that
completes the sum, are tried at once (k-exchange around the relaxed or break solution: E. Balas and E. Zemel, An
algorithm for large zero-one knapsack problems, Operations Research 28(5), 1980; from memory). The third change is the
cheapest that is wide enough, or a continuous item as wide as what is missing. Cost: a sort of all changes and some
thousand pairs. Nothing is proven and nothing exact rests on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import (
    Alternatives,
    ContinuousItems,
    Cost,
    IntArray,
    ItemSet,
    Problem,
    Selection,
    Solution,
)
from inventory.solver.runs import run_starts

PAIRED = 48
"""So many changes are paired with each other."""
PAIRS_WITH_CONTINUOUS = 6_000
"""So many combinations of a pair and a continuous item are tried."""
OVERSAMPLING = 4
"""How many solutions are made for each one wanted, since some have equal signatures."""
NO_ROW = -1


@dataclass(frozen=True)
class _Changes:
    """Changes to the relaxed solution as columns: one item of `row` takes `alternative` instead, 0 for none at all.

    `adds`, `first`, `second` and their `cost` in one number are differences. `row` is NO_ROW where nothing changes.
    """

    row: IntArray
    alternative: IntArray
    adds: IntArray
    first: IntArray
    second: IntArray
    cost: IntArray
    reduced_cost: IntArray

    def at(self, index: NDArray[np.intp]) -> _Changes:
        return _Changes(*(getattr(self, name)[index] for name in self.__dataclass_fields__))


def local_search(problem: Problem, scale: int, multiplier: float, count: int) -> list[Solution]:
    """Up to `count` solutions of different signatures, best first; the multiplier is of first * scale + second."""
    if not len(problem.alternatives):
        return []
    neighborhood = _Neighborhood(problem, scale, multiplier)
    found: dict[ItemSet, Solution] = {}
    for solution in (*neighborhood.with_continuous(OVERSAMPLING * count), *neighborhood.discrete(OVERSAMPLING * count)):
        known = found.get(solution.signature)
        if (known is None or solution.cost < known.cost) and problem.takes_mandatory(solution):
            found[solution.signature] = solution
    return sorted(found.values(), key=lambda each: each.cost)[:count]


class _Neighborhood:
    """The relaxed solution at a multiplier, and the changes to it."""

    def __init__(self, problem: Problem, scale: int, multiplier: float) -> None:
        self._problem = problem
        self._scale = scale
        self._multiplier = multiplier
        alternatives = problem.alternatives
        cost = alternatives.first * scale + alternatives.second
        reduced_cost = cost - multiplier * problem.useful_adds(alternatives)
        least = np.minimum.reduceat(reduced_cost, alternatives.starts)
        best = np.flatnonzero(reduced_cost == np.repeat(least, alternatives.ends - alternatives.starts + 1))
        best = best[run_starts(alternatives.row[best])]
        # The alternatives of the relaxed solution, one for each class that it takes, and of how many items.
        taken = (least < 0) | problem.is_mandatory[alternatives.row[best]]
        self._relaxed = best[taken]
        rows = alternatives.row[self._relaxed]
        self._items = np.where(least[taken] < 0, problem.multiplicity[rows], 1)
        self._width = int((alternatives.adds[self._relaxed] * self._items).sum())
        # By class: what one item gives and costs in the relaxed solution.
        self._adds, self._first, self._second = (np.zeros(len(problem.multiplicity), dtype=np.int64) for _ in range(3))
        self._adds[rows] = alternatives.adds[self._relaxed]
        self._first[rows] = alternatives.first[self._relaxed]
        self._second[rows] = alternatives.second[self._relaxed]
        self._changes = self._all_changes(alternatives)

    def _all_changes(self, alternatives: Alternatives) -> _Changes:
        """Every alternative in place of the relaxed one, then no alternative in its place, then no change at all."""
        rows = alternatives.row[self._relaxed]
        # The last item of a mandatory class stays.
        rows = rows[(self._items > 1) | ~self._problem.is_mandatory[rows]]
        nothing, none = np.zeros(len(rows), dtype=np.int64), np.zeros(1, dtype=np.int64)
        row = np.concatenate((alternatives.row, rows, none))
        adds = np.concatenate((alternatives.adds, nothing, none)) - self._adds[row]
        first = np.concatenate((alternatives.first, nothing, none)) - self._first[row]
        second = np.concatenate((alternatives.second, nothing, none)) - self._second[row]
        row[-1], adds[-1], first[-1], second[-1] = NO_ROW, 0, 0, 0
        alternative = np.concatenate((alternatives.alternative, nothing, none))
        cost = first * self._scale + second
        reduced_cost = (cost - self._multiplier * np.minimum(adds, self._problem.target)).astype(np.int64)
        return _Changes(row, alternative, adds, first, second, cost, reduced_cost)

    def _pairs(self) -> tuple[_Changes, IntArray, IntArray]:
        """The changes of the least reduced cost, and the indices of every two of them in different classes."""
        changes = self._changes
        if len(changes.row) > PAIRED:
            cheapest = np.argpartition(changes.reduced_cost[:-1], PAIRED - 1)[:PAIRED]
            changes = changes.at(np.r_[cheapest, len(changes.row) - 1])
        one, other = np.triu_indices(len(changes.row))
        differ = (changes.row[one] != changes.row[other]) | (changes.row[other] == NO_ROW)
        return changes, one[differ], other[differ]

    def discrete(self, count: int) -> list[Solution]:
        """Up to `count` solutions of three changes, the cheapest first."""
        pair, one, other = self._pairs()
        changes = self._changes
        order = np.argsort(changes.adds, kind="stable")
        adds, cost = changes.adds[order], changes.cost[order]
        cheapest_as_wide = np.minimum.accumulate(cost[::-1])[::-1]
        missing = self._problem.target - self._width - pair.adds[one] - pair.adds[other]
        first_third = np.searchsorted(adds, missing)
        feasible = np.flatnonzero(first_third < len(order))
        total = pair.cost[one[feasible]] + pair.cost[other[feasible]] + cheapest_as_wide[first_third[feasible]]
        solutions = []
        for each in np.argsort(total, kind="stable").tolist():
            at = int(feasible[each])
            low = int(first_third[at])
            third = changes.at(order[low + int(np.argmin(cost[low:])) :][:1])
            solution = self._apply([pair.at(one[at : at + 1]), pair.at(other[at : at + 1]), third])
            if solution is not None:
                solutions.append(solution)
            if len(solutions) == count:
                break
        return solutions

    def with_continuous(self, count: int) -> list[Solution]:
        """Up to `count` solutions of two changes and a continuous item, the cheapest first."""
        continuous_items = self._problem.continuous_items
        if continuous_items is None or not len(continuous_items):
            return []
        pair, one, other = self._pairs()
        max_pairs = max(PAIRS_WITH_CONTINUOUS // len(continuous_items), 1)
        if len(one) > max_pairs:
            cheapest = np.argpartition(pair.reduced_cost[one] + pair.reduced_cost[other], max_pairs - 1)[:max_pairs]
            one, other = one[cheapest], other[cheapest]
        return self._best_with_continuous(continuous_items, pair, one, other, count)

    def _best_with_continuous(
        self, continuous_items: ContinuousItems, pair: _Changes, one: IntArray, other: IntArray, count: int
    ) -> list[Solution]:
        rows = continuous_items.row
        missing = (
            self._problem.target
            - self._width
            - (pair.adds[one] + pair.adds[other])[:, None]
            - (continuous_items.adds - self._adds[rows])
        )
        differ = (pair.row[one][:, None] != rows) & (pair.row[other][:, None] != rows)
        row, column = np.nonzero(differ & (missing > 0) & (missing <= continuous_items.max_width))
        if not len(row):
            return []
        widths = np.maximum(missing[row, column], continuous_items.min_width[column])
        first, second = continuous_items.cost_at(column, widths)
        relaxed_cost = self._first[rows] * self._scale + self._second[rows]
        total = (first * self._scale + second - relaxed_cost[column]) + (pair.cost[one] + pair.cost[other])[row]
        solutions = []
        for best in np.argsort(total, kind="stable")[:count].tolist():
            index, at = int(column[best]), int(row[best])
            selection = Selection(int(rows[index]), int(continuous_items.alternative[index]), int(widths[best]))
            solution = self._apply(
                [pair.at(one[at : at + 1]), pair.at(other[at : at + 1])],
                (selection, (int(first[best]), int(second[best]))),
            )
            if solution is not None:
                solutions.append(solution)
        return solutions

    def _apply(self, changes: list[_Changes], continuous: tuple[Selection, Cost] | None = None) -> Solution | None:
        """The relaxed solution after these changes, one row each; None where two of them are in the same class."""
        real = [each for each in changes if int(each.row[0]) != NO_ROW]
        rows = [int(each.row[0]) for each in real] + ([] if continuous is None else [continuous[0].row])
        if len(set(rows)) < len(rows):
            return None
        alternatives = self._problem.alternatives
        selections: list[Selection] = []
        first = second = 0
        for at, items in zip(self._relaxed.tolist(), self._items.tolist(), strict=True):
            row = int(alternatives.row[at])
            unchanged = items - (row in rows)
            selections += [Selection(row, int(alternatives.alternative[at]))] * unchanged
            first += int(alternatives.first[at]) * unchanged
            second += int(alternatives.second[at]) * unchanged
        for each in real:
            row = int(each.row[0])
            if each.alternative[0]:
                selections.append(Selection(row, int(each.alternative[0])))
                first += int(each.first[0] + self._first[row])
                second += int(each.second[0] + self._second[row])
        if continuous is not None:
            selection, (more_first, more_second) = continuous
            selections.append(selection)
            first, second = first + more_first, second + more_second
        return Solution(tuple(selections), first, second)
