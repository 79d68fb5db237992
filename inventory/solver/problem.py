"""Instances of the multiple-choice knapsack cover problem, and their solutions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
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

    An item of class `row` adds `adds` and a whole width: what is missing to the target, `min_width` where less is
    missing, and never more than `max_width`. `cost_at(index, widths)` gives both costs of the items at `index`, none
    above `max_first` and `max_second`. With `rising` neither falls with the width; without it the search is slower.
    `breakpoints` are the minimum width, the maximum and some between, in any order, with lower bounds of both costs.
    Between neighboring ones no cost is below the straight line between its two bounds. No item may add more this way
    than with the widest alternative of its class: `Problem.reaches_target` and `cardinality` rely on that.
    """

    row: IntArray
    alternative: IntArray
    adds: IntArray
    min_width: IntArray
    max_width: IntArray
    max_first: IntArray
    max_second: IntArray
    breakpoints: tuple[Breakpoint, ...]
    cost_at: Callable[[IntArray, IntArray], tuple[IntArray, IntArray]]
    rising: bool = True

    def __len__(self) -> int:
        return len(self.row)

    def cheaper_by(self, first: IntArray, second: IntArray) -> ContinuousItems:
        """The items with both costs lower by these amounts, one for each item."""

        def cost_at(index: IntArray, widths: IntArray) -> tuple[IntArray, IntArray]:
            one, other = self.cost_at(index, widths)
            return one - first[index], other - second[index]

        breakpoints = (Breakpoint(each.width, each.first - first, each.second - second) for each in self.breakpoints)
        return replace(
            self,
            max_first=self.max_first - first,
            max_second=self.max_second - second,
            breakpoints=tuple(breakpoints),
            cost_at=cost_at,
        )

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
            self.max_first[kept],
            self.max_second[kept],
            tuple(breakpoint.at(kept) for breakpoint in self.breakpoints),
            lambda index, widths: self.cost_at(kept[index], widths),
            self.rising,
        )


@dataclass(frozen=True)
class Problem:
    """An instance: item class r has `multiplicity[r]` interchangeable items.

    Each item takes one alternative of its class or none. The sum of `adds` must be at least `target`, or equal to it
    with `equality`, which excludes continuous items. Of every class in `mandatory` at least one item takes an
    alternative.
    """

    target: int
    alternatives: Alternatives
    multiplicity: IntArray
    continuous_items: ContinuousItems | None = None
    equality: bool = False
    mandatory: IntArray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))

    @cached_property
    def is_mandatory(self) -> NDArray[np.bool_]:
        """By item class: whether it is mandatory."""
        mask = np.zeros(len(self.multiplicity), dtype=np.bool_)
        mask[self.mandatory] = True
        return mask

    def useful_adds(self, alternatives: Alternatives) -> IntArray:
        """What some of its alternatives add at most to a sum that still misses the target.

        Coefficient tightening: nothing adds more than what the mandatory classes, each at its narrowest, leave of the
        target. So the constraint holds for these widths too, and its relaxation is sharper.
        """
        if not len(self.mandatory):
            return np.minimum(alternatives.adds, self.target)
        return np.minimum(alternatives.adds, self._useful_width[alternatives.row])

    @cached_property
    def _useful_width(self) -> IntArray:
        """By item class: what all mandatory classes at their narrowest leave of the target, on top of its own width."""
        narrowest, continuous = (np.full(len(self.multiplicity), self.target, dtype=np.int64) for _ in range(2))
        np.minimum.at(narrowest, self.alternatives.row, self.alternatives.adds)
        items = self.continuous_items
        if items is not None:
            np.minimum.at(continuous, items.row, items.adds + items.min_width)
        # At most one of them takes a continuous item in place of its narrowest alternative.
        saved = int(np.maximum(narrowest - continuous, 0)[self.mandatory].max(initial=0))
        least = np.where(self.is_mandatory, narrowest, 0)
        slack = max(self.target - (int(least.sum()) - saved), 0)
        # Not 0: widths are divided by.
        useful: IntArray = np.clip(least + slack, 1, self.target)
        return useful

    def has_alternatives(self, row: int) -> bool:
        """Whether an item of this class can take some alternative, a continuous one or not."""
        continuous_items = self.continuous_items
        return bool(
            self.multiplicity[row] > 0
            and ((self.alternatives.row == row).any() or (continuous_items is not None and row in continuous_items.row))
        )

    def is_trivially_infeasible(self) -> bool:
        """Whether all items together miss the target, or a mandatory class has nothing to take."""
        return not self.reaches_target() or not all(self.has_alternatives(row) for row in self.mandatory.tolist())

    def reaches_target(self) -> bool:
        """Whether the widest alternatives of all items together reach the target; continuous items do not count."""
        if not len(self.alternatives):
            return False
        widest = np.zeros(len(self.multiplicity), dtype=np.int64)
        np.maximum.at(widest, self.alternatives.row, self.alternatives.adds)
        return int((widest * self.multiplicity).sum()) >= self.target

    def takes_mandatory(self, solution: Solution) -> bool:
        """Whether the solution takes an item of every mandatory class."""
        return {selection.row for selection in solution.selections}.issuperset(self.mandatory.tolist())

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
