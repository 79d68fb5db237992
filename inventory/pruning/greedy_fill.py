"""A greedy heuristic that covers a width at nearly the least cost, for boards filled by the thousand.

Method: pieces are taken in the order of cost per width; at each step the cheapest single piece and the cheapest pair
that complete the cover are tried, and the best completion wins. It finds a cover wherever one exists; its cost is not
bounded, and tests/bench measures what it loses against the exact search. Widths in nanometers, costs as floats in the
unit of the preference.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import ContinuousItems, IntArray

Floats = NDArray[np.float64]


class GreedyPick(NamedTuple):
    """One piece of the class `row` is cut by the alternative `take`, with a part of a length of this width if any."""

    row: int
    take: int
    adds: int
    width: int | None = None


class GreedyCover(NamedTuple):
    """The picks that reach a target, and their cost."""

    cost: float
    picks: list[GreedyPick]


@dataclass(frozen=True)
class SortedAlternatives:
    """Alternatives in the order of their width: a piece of `row` adds `adds` for `cost`."""

    row: IntArray
    take: IntArray
    adds: IntArray
    cost: Floats

    def only(self, keep: NDArray[np.bool_]) -> SortedAlternatives:
        """Some of the alternatives."""
        return SortedAlternatives(self.row[keep], self.take[keep], self.adds[keep], self.cost[keep])


def sort_alternatives(row: IntArray, take: IntArray, adds: IntArray, cost: Floats) -> SortedAlternatives:
    """The alternatives in the order of their width."""
    order = np.argsort(adds, kind="stable")
    return SortedAlternatives(row[order], take[order], adds[order], cost[order])


@dataclass(frozen=True)
class ContinuousAlternatives:
    """Pieces that can give a part of a length, with the weights of their two costs."""

    strips: ContinuousItems
    weights: tuple[float, float]

    def shifted(self, by: int) -> ContinuousAlternatives:
        """The same with all rows increased by an offset."""
        return replace(self, strips=replace(self.strips, row=self.strips.row + by))

    def best(self, remaining: int, left: IntArray) -> tuple[float, int, int]:
        """The cheapest that gives the missing width: its cost, its position, its width."""
        strips = self.strips
        widths = np.maximum(remaining - strips.adds, strips.min_width)
        fits = np.flatnonzero((widths <= strips.max_width) & (left[strips.row] > 0))
        if not len(fits):
            return np.inf, -1, 0
        first, second = strips.cost_at(fits, widths[fits])
        cost = first * self.weights[0] + second * self.weights[1]
        chosen = int(np.argmin(cost))
        return float(cost[chosen]), int(fits[chosen]), int(widths[fits[chosen]])


def fill_greedily(
    shelf: SortedAlternatives,
    left: IntArray,
    target: int,
    *,
    equality: bool,
    continuous: tuple[ContinuousAlternatives, ...] = (),
) -> GreedyCover | None:
    """A cheap cover of the target, None where there is none; there are `left[row]` pieces of each class.

    With `equality` the sum must be exactly the target, as of stripes that are counted.
    """
    shelf = shelf.only(left[shelf.row] > 0)
    if equality:
        shelf = shelf.only(shelf.adds <= target)
    search = _Search(shelf, left.copy(), target, equality, continuous)
    return search.by_cost_ratio() or _Search(shelf, left.copy(), target, equality, continuous).widest_first()


class _Search:
    def __init__(
        self,
        shelf: SortedAlternatives,
        left: IntArray,
        remaining: int,
        equality: bool,
        continuous: tuple[ContinuousAlternatives, ...],
    ) -> None:
        self.shelf = shelf
        self.cost = shelf.cost.copy()
        self.left = left
        self.remaining = remaining
        self.equality = equality
        self.continuous = continuous
        self.used: list[GreedyPick] = []
        self.spent = 0.0
        self.best_cost = np.inf
        self.best: list[GreedyPick] | None = None

    def by_cost_ratio(self) -> GreedyCover | None:
        """At every step the cheapest width, and the best completion after any step."""
        adds = self.shelf.adds
        while self.remaining > 0 and self.spent < self.best_cost:
            short = int(np.searchsorted(adds, self.remaining))
            self._try_finish(short)
            if not short:
                break
            ratio = self.cost[:short] / adds[:short]
            at = int(np.argmin(ratio))
            if ratio[at] == np.inf:
                break
            self._take(at)
        return self._result()

    def widest_first(self) -> GreedyCover | None:
        """At every step the widest piece: reaches the target wherever all pieces together do."""
        adds = self.shelf.adds
        while self.remaining > 0:
            short = int(np.searchsorted(adds, self.remaining))
            self._try_finish(short)
            there = np.flatnonzero(self.cost[:short] < np.inf)
            if self.best is not None or not len(there):
                break
            self._take(int(there[-1]))
        return self._result()

    def _result(self) -> GreedyCover | None:
        return None if self.best is None else GreedyCover(self.best_cost, self.best)

    def _take(self, at: int) -> None:
        row = int(self.shelf.row[at])
        self.used.append(self._pick_at(at))
        self.spent += float(self.cost[at])
        self.remaining -= int(self.shelf.adds[at])
        self.left[row] -= 1
        if self.left[row] == 0:
            self.cost[self.shelf.row == row] = np.inf

    def _pick_at(self, at: int) -> GreedyPick:
        return GreedyPick(int(self.shelf.row[at]), int(self.shelf.take[at]), int(self.shelf.adds[at]))

    def _keep(self, cost: float, ending: list[GreedyPick]) -> None:
        if self.spent + cost < self.best_cost:
            self.best_cost = self.spent + cost
            self.best = [*self.used, *ending]

    def _try_finish(self, short: int) -> None:
        """Finds the cheapest piece, part or pair that completes; `short` alternatives add too little alone."""
        adds, cost = self.shelf.adds, self.cost
        if self.equality:
            beyond = int(np.searchsorted(adds, self.remaining, side="right"))
            if beyond > short:
                last = short + int(np.argmin(cost[short:beyond]))
                self._keep(float(cost[last]), [self._pick_at(last)] if cost[last] < np.inf else [])
            return
        if short < len(adds):
            last = short + int(np.argmin(cost[short:]))
            if cost[last] < np.inf:
                self._keep(float(cost[last]), [self._pick_at(last)])
        for closer in self.continuous:
            price, place, width = closer.best(self.remaining, self.left)
            if place >= 0:
                strips = closer.strips
                ending = GreedyPick(int(strips.row[place]), int(strips.alternative[place]), self.remaining, width)
                self._keep(price, [ending])
        if short:
            self._try_pair(short)

    def _try_pair(self, short: int) -> None:
        adds, cost = self.shelf.adds, self.cost
        cheapest = np.empty(len(cost) + 1)
        cheapest[-1] = np.inf
        cheapest[:-1] = np.minimum.accumulate(cost[::-1])[::-1]
        place = np.searchsorted(adds, self.remaining - adds[:short])
        both = cost[:short] + cheapest[place]
        one = int(np.argmin(both))
        if both[one] == np.inf or self.spent + both[one] >= self.best_cost:
            return
        tail = cost[place[one] :]
        row = self.shelf.row
        if self.left[row[one]] < 2:
            tail = np.where(row[place[one] :] == row[one], np.inf, tail)
        other = int(np.argmin(tail))
        if tail[other] < np.inf:
            self._keep(float(cost[one] + tail[other]), [self._pick_at(one), self._pick_at(int(place[one]) + other)])
