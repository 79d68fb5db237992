"""Instances of the multiple-choice knapsack cover problem, and their solutions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from inventory.solver.runs import IntArray, run_starts

__all__ = [
    "Alternatives",
    "Breakpoint",
    "ContinuousItems",
    "Cost",
    "IntArray",
    "ItemSet",
    "Problem",
    "Selection",
    "Solution",
    "Solutions",
]

KEEP_ALL_SHARE = 0.75
"""Where more than this share of the alternatives is wanted, copying them takes longer than it saves."""

Cost = tuple[int, int]
"""The first and the second cost, compared in this order."""

ItemSet = frozenset[tuple[int, int]]
"""An item-set signature: (item class, number of items taken) for each class that is used."""


@dataclass(frozen=True)
class Alternatives:
    """The alternatives of all item classes as columns of equal length, sorted by `row` and then by `adds`.

    An item of class `row` (an index into `Problem.multiplicity`) adds `adds` to the sum and costs `first` and `second`.
    `alternative` is the caller's number of the alternative, 1 or more.
    """

    row: IntArray
    alternative: IntArray
    adds: IntArray
    first: IntArray
    second: IntArray

    def __len__(self) -> int:
        return len(self.row)

    @cached_property
    def starts(self) -> NDArray[np.intp]:
        """The first alternative of each class that has any: its narrowest."""
        return run_starts(self.row)

    @cached_property
    def ends(self) -> NDArray[np.intp]:
        """The last alternative of each class that has any: its widest."""
        return np.append(self.starts[1:], len(self)) - 1 if len(self) else self.starts

    def subset(self, keep: NDArray[np.bool_]) -> Alternatives:
        """The alternatives where `keep` is true; the same object where that is all of them."""
        kept = np.flatnonzero(keep)
        if len(kept) == len(self):
            return self
        return Alternatives(
            self.row[kept], self.alternative[kept], self.adds[kept], self.first[kept], self.second[kept]
        )

    def subset_unless_most(self, keep: NDArray[np.bool_]) -> Alternatives:
        """As `subset`, but all alternatives where most would stay (`KEEP_ALL_SHARE`)."""
        return self if np.count_nonzero(keep) > KEEP_ALL_SHARE * len(self) else self.subset(keep)


@dataclass(frozen=True)
class Breakpoint:
    """A width for each continuous item, and both costs at that width."""

    width: IntArray
    first: IntArray
    second: IntArray

    def at(self, index: NDArray[np.intp]) -> Breakpoint:
        """The same for some of the items."""
        return Breakpoint(self.width[index], self.first[index], self.second[index])


@dataclass(frozen=True)
class ContinuousItems:
    """Alternatives with a continuous width, of which a solution takes at most one.

    An item of class `row` adds `adds` and a whole width from `min_width` to `max_width`, which must make the sum equal
    to the target. `cost_at(index, widths)` gives both costs of the items at `index`; neither falls with the width.
    `breakpoints` go from the minimum to the maximum width, with lower bounds of both costs. Between neighboring ones no
    cost is below the straight line between its two bounds. No item may add more this way than with the widest
    alternative of its class: `Problem.reaches_target` and the bounds of `cardinality` rely on that.
    """

    row: IntArray
    alternative: IntArray
    adds: IntArray
    min_width: IntArray
    max_width: IntArray
    breakpoints: tuple[Breakpoint, ...]
    cost_at: Callable[[IntArray, IntArray], tuple[IntArray, IntArray]]

    def __len__(self) -> int:
        return len(self.row)

    def max_costs(self) -> tuple[IntArray, IntArray]:
        """Both costs of each item at its maximum width."""
        return self.cost_at(np.arange(len(self)), self.max_width)

    def subset(self, keep: NDArray[np.bool_]) -> ContinuousItems:
        """The items where `keep` is true; the same object where that is all of them."""
        kept = np.flatnonzero(keep)
        if len(kept) == len(self):
            return self
        return ContinuousItems(
            self.row[kept],
            self.alternative[kept],
            self.adds[kept],
            self.min_width[kept],
            self.max_width[kept],
            tuple(breakpoint.at(kept) for breakpoint in self.breakpoints),
            lambda index, widths: self.cost_at(kept[index], widths),
        )


@dataclass(frozen=True)
class Problem:
    """An instance: item class r has `multiplicity[r]` interchangeable items.

    Each item takes one alternative of its class or none. The sum of `adds` must be at least `target`, or equal to it
    with `equality`.
    """

    target: int
    alternatives: Alternatives
    multiplicity: IntArray
    continuous_items: ContinuousItems | None = None
    equality: bool = False

    def reaches_target(self) -> bool:
        """Whether the widest alternatives of all items together reach the target; continuous items do not count."""
        if not len(self.alternatives):
            return False
        widest = np.zeros(len(self.multiplicity), dtype=np.int64)
        np.maximum.at(widest, self.alternatives.row, self.alternatives.adds)
        return int((widest * self.multiplicity).sum()) >= self.target

    def subset(self, keep: NDArray[np.bool_], keep_continuous: NDArray[np.bool_] | None) -> Problem:
        """The problem with some of its alternatives and continuous items; `keep_continuous` may be None without any."""
        continuous_items = self.continuous_items
        if continuous_items is not None and keep_continuous is not None:
            continuous_items = continuous_items.subset(keep_continuous)
        return replace(self, alternatives=self.alternatives.subset(keep), continuous_items=continuous_items)

    def with_multiplicity(self, multiplicity: IntArray) -> Problem:
        """The problem with fewer items of some classes; alternatives of classes without any are dropped."""
        continuous_items = self.continuous_items
        left = self.subset(
            multiplicity[self.alternatives.row] > 0,
            None if continuous_items is None else multiplicity[continuous_items.row] > 0,
        )
        return replace(left, multiplicity=multiplicity)


@dataclass(frozen=True)
class Selection:
    """One item of class `row` takes this alternative; `continuous_width` is set where that is a continuous one."""

    row: int
    alternative: int
    continuous_width: int | None = None


@dataclass(frozen=True)
class Solution:
    """A feasible solution and its two costs."""

    selections: tuple[Selection, ...]
    first: int
    second: int

    @property
    def cost(self) -> Cost:
        return self.first, self.second

    @property
    def signature(self) -> ItemSet:
        """How many items of each class are taken."""
        return frozenset(Counter(selection.row for selection in self.selections).items())


@dataclass(frozen=True)
class Solutions:
    """The k best solutions, best first; `lower_bound` is a proven lower bound of the first cost of every solution.

    With `proven` each is optimal among those whose signature differs from all earlier ones.
    """

    solutions: tuple[Solution, ...]
    lower_bound: int
    proven: bool
