"""Good covers near the one that a price alone would choose: a tighter budget before anything is swept.

Method: at a guide's price some choices pay for themselves. Those taken together nearly
fill the target; whatever is taken otherwise, up to three changes at once, is tried: the two
changes that cost least by the price are paired in every way, and the third one is the
cheapest that makes the rest wide enough, or a strip of free width that makes it exact.
Nothing rests on what is found but the time that the search takes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import Alternatives, ContinuousItems, IntArray, Problem, Selection, Solution, run_starts

PAIRED = 48
"""So many changes are paired with each other."""
PAIRS_WITH_CONTINUOUS = 6_000
"""So many pairs are tried with a free strip, times the free strips."""
OVERSAMPLING = 4
"""So many times the covers wanted are looked at for some that differ."""
NO_ROW = -1


@dataclass(frozen=True)
class _Changes:
    """What a change adds and costs; its row, NOWHERE for none at all; what is then taken, 0 for nothing; by price."""

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
    """Up to `count` covers that differ, the cheapest first; the joint cost is first·scale + second."""
    if not len(problem.alternatives):
        return []
    neighborhood = _Neighborhood(problem, scale, multiplier)
    found: dict[frozenset[tuple[int, int]], Solution] = {}
    for solution in [*neighborhood.with_continuous(OVERSAMPLING * count), *neighborhood.covering(OVERSAMPLING * count)]:
        known = found.get(solution.signature)
        if known is None or (solution.first, solution.second) < (known.first, known.second):
            found[solution.signature] = solution
    return sorted(found.values(), key=lambda each: (each.first, each.second))[:count]


class _Neighborhood:
    """The choices that pay for themselves at a price, and the changes to them."""

    def __init__(self, problem: Problem, scale: int, multiplier: float) -> None:
        self._problem = problem
        self._scale = scale
        self._multiplier = multiplier
        alternatives = problem.alternatives
        cost = alternatives.first * scale + alternatives.second
        reduced_cost = cost - multiplier * np.minimum(alternatives.adds, problem.target)
        least = np.minimum.reduceat(reduced_cost, alternatives.starts)
        best = np.flatnonzero(reduced_cost == np.repeat(least, alternatives.ends - alternatives.starts + 1))
        best = best[run_starts(alternatives.row[best])]
        self._taken = best[least < 0]
        rows = len(problem.multiplicity)
        self._relaxed_choice = {int(alternatives.row[each]): int(each) for each in self._taken}
        many = problem.multiplicity[alternatives.row[self._taken]]
        self._width = int((alternatives.adds[self._taken] * many).sum())
        self._current: dict[str, IntArray] = {}
        for name, column in (
            ("adds", alternatives.adds),
            ("first", alternatives.first),
            ("second", alternatives.second),
        ):
            self._current[name] = np.zeros(rows, dtype=np.int64)
            self._current[name][alternatives.row[self._taken]] = column[self._taken]
        self._changes = self._all_changes(alternatives)

    def _all_changes(self, alternatives: Alternatives) -> _Changes:
        """Every choice instead of what its row gives now, then every piece left alone, then no change at all."""
        rows = alternatives.row[self._taken]
        nothing, none = np.zeros(len(rows), dtype=np.int64), np.zeros(1, dtype=np.int64)
        row = np.concatenate((alternatives.row, rows, none))
        adds = np.concatenate((alternatives.adds, nothing, none)) - self._current["adds"][row]
        first = np.concatenate((alternatives.first, nothing, none)) - self._current["first"][row]
        second = np.concatenate((alternatives.second, nothing, none)) - self._current["second"][row]
        row[-1], adds[-1], first[-1], second[-1] = NO_ROW, 0, 0, 0
        alternative = np.concatenate((alternatives.alternative, nothing, none))
        cost = first * self._scale + second
        reduced_cost = (cost - self._multiplier * np.minimum(adds, self._problem.target)).astype(np.int64)
        return _Changes(row, alternative, adds, first, second, cost, reduced_cost)

    def _pairs(self) -> tuple[_Changes, IntArray, IntArray]:
        """The changes that cost least by the price, and every two of them that concern different rows, or none."""
        changes = self._changes
        if len(changes.row) > PAIRED:
            few = np.argpartition(changes.reduced_cost[:-1], PAIRED - 1)[:PAIRED]
            changes = changes.at(np.r_[few, len(changes.row) - 1])
        one, other = np.triu_indices(len(changes.row))
        differ = (changes.row[one] != changes.row[other]) | (changes.row[other] == NO_ROW)
        return changes, one[differ], other[differ]

    def covering(self, count: int) -> list[Solution]:
        """Covers of three changes that reach the target."""
        pair, one, other = self._pairs()
        changes = self._changes
        order = np.argsort(changes.adds, kind="stable")
        adds, cost = changes.adds[order], changes.cost[order]
        least = np.minimum.accumulate(cost[::-1])[::-1]
        missing = self._problem.target - self._width - pair.adds[one] - pair.adds[other]
        place = np.searchsorted(adds, missing)
        fits = np.flatnonzero(place < len(order))
        total = pair.cost[one[fits]] + pair.cost[other[fits]] + least[place[fits]]
        solutions = []
        for each in np.argsort(total, kind="stable").tolist():
            at = int(fits[each])
            low = int(place[at])
            third = changes.at(order[low + int(np.argmin(cost[low:])) :][:1])
            taken = self._apply([pair.at(one[at : at + 1]), pair.at(other[at : at + 1]), third])
            if taken is not None:
                solutions.append(taken)
            if len(solutions) == count:
                break
        return solutions

    def _apply(self, some: list[_Changes], continuous: tuple[int, int, int, int, int] | None = None) -> Solution | None:
        """What is taken after these changes; None where two of them concern the same row."""
        real = [each for each in some if int(each.row[0]) != NO_ROW]
        rows = [int(each.row[0]) for each in real] + ([] if continuous is None else [continuous[0]])
        if len(set(rows)) < len(rows):
            return None
        alternatives = self._problem.alternatives
        selections: list[Selection] = []
        first = second = 0
        for row, at in self._relaxed_choice.items():
            many = int(self._problem.multiplicity[row]) - (row in rows)
            selections += [Selection(row, int(alternatives.alternative[at]))] * many
            first += int(alternatives.first[at]) * many
            second += int(alternatives.second[at]) * many
        for each in real:
            row = int(each.row[0])
            if each.alternative[0]:
                selections.append(Selection(row, int(each.alternative[0])))
                first += int(each.first[0] + self._current["first"][row])
                second += int(each.second[0] + self._current["second"][row])
        if continuous is not None:
            row, alternative, width, more_first, more_second = continuous
            selections.append(Selection(row, alternative, width))
            first, second = first + more_first, second + more_second
        return Solution(tuple(selections), first, second)

    def with_continuous(self, count: int) -> list[Solution]:
        """Covers of two changes and a free strip that meets the target."""
        continuous_items = self._problem.continuous_items
        if continuous_items is None or not len(continuous_items):
            return []
        pair, one, other = self._pairs()
        few = max(PAIRS_WITH_CONTINUOUS // len(continuous_items), 1)
        if len(one) > few:
            cheap = np.argpartition(pair.reduced_cost[one] + pair.reduced_cost[other], few - 1)[:few]
            one, other = one[cheap], other[cheap]
        return self._best_with_continuous(continuous_items, pair, one, other, count)

    def _best_with_continuous(
        self, continuous_items: ContinuousItems, pair: _Changes, one: IntArray, other: IntArray, count: int
    ) -> list[Solution]:
        gives = continuous_items.adds - self._current["adds"][continuous_items.row]
        width = self._problem.target - self._width - (pair.adds[one] + pair.adds[other])[:, None] - gives
        differ = (pair.row[one][:, None] != continuous_items.row) & (pair.row[other][:, None] != continuous_items.row)
        row, column = np.nonzero(differ & (width >= continuous_items.min_width) & (width <= continuous_items.max_width))
        if not len(row):
            return []
        widths = width[row, column]
        first, second = continuous_items.cost_at(column, widths)
        before = (
            self._current["first"][continuous_items.row] * self._scale + self._current["second"][continuous_items.row]
        )
        total = (first * self._scale + second - before[column]) + (pair.cost[one] + pair.cost[other])[row]
        solutions = []
        for best in np.argsort(total, kind="stable")[:count].tolist():
            continuous, at = int(column[best]), int(row[best])
            gap, costs = int(widths[best]), (int(first[best]), int(second[best]))
            selected = (
                int(continuous_items.row[continuous]),
                int(continuous_items.alternative[continuous]),
                gap,
                *costs,
            )
            solution = self._apply([pair.at(one[at : at + 1]), pair.at(other[at : at + 1])], selected)
            solutions += [] if solution is None else [solution]
        return solutions
