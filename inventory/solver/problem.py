"""What the search is asked: priced choices, a target, and which pieces are alike.

Knows choices that add width and cost two sums in order. Knows nothing of kerfs,
species or racks: those lie behind `inventory.cutting`. Widths in nanometres.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]

KEEP_ALL_SHARE = 0.75
"""The share of many choices that counts as nearly all."""

Cost = tuple[int, int]
"""What is minimised, in order."""


def run_starts(column: IntArray) -> NDArray[np.intp]:
    """Where a value begins in a column whose like values stand together."""
    new = np.ones(len(column), dtype=np.bool_)
    np.not_equal(column[1:], column[:-1], out=new[1:])
    return np.flatnonzero(new)


@dataclass(frozen=True)
class Alternatives:
    """Columns, rows of `row` ascending: a piece of `row` adds `adds` and costs `first`, then `second`."""

    row: IntArray
    alternative: IntArray
    adds: IntArray
    first: IntArray
    second: IntArray

    def __len__(self) -> int:
        return len(self.row)

    @cached_property
    def starts(self) -> NDArray[np.intp]:
        """The first choice of each row that has any, which adds least."""
        return run_starts(self.row)

    @cached_property
    def ends(self) -> NDArray[np.intp]:
        """The last choice of each row that has any, which adds most."""
        return np.append(self.starts[1:], len(self)) - 1 if len(self) else self.starts

    def subset(self, keep: NDArray[np.bool_]) -> Alternatives:
        """Some of the choices."""
        kept = np.flatnonzero(keep)
        if len(kept) == len(self):
            return self
        return Alternatives(
            self.row[kept], self.alternative[kept], self.adds[kept], self.first[kept], self.second[kept]
        )

    def subset_unless_most(self, wanted: NDArray[np.bool_]) -> Alternatives:
        """The choices wanted, or all where few are not: leaving out a few takes longer than looking at them."""
        return self if np.count_nonzero(wanted) > KEEP_ALL_SHARE * len(self) else self.subset(wanted)


@dataclass(frozen=True)
class Breakpoint:
    """A width of each free strip, and both costs there."""

    width: IntArray
    first: IntArray
    second: IntArray

    def at(self, index: NDArray[np.intp]) -> Breakpoint:
        """That of some of the strips."""
        return Breakpoint(self.width[index], self.first[index], self.second[index])


@dataclass(frozen=True)
class ContinuousItems:
    """Choices with one strip of free width, at most one of which may be taken.

    Such a choice adds `adds` and a strip between `least` and `most` wide, which must
    make the sum exactly the target. `cost_at(index, widths)` gives both costs of
    those choices; neither falls with a wider strip. The corners go from the least width to
    the most; between two of them both costs rise evenly, but that they are rounded: they may
    be less than on a straight line by up to `rounding`.
    """

    row: IntArray
    alternative: IntArray
    adds: IntArray
    min_width: IntArray
    max_width: IntArray
    breakpoints: tuple[Breakpoint, ...]
    rounding: Cost
    cost_at: Callable[[IntArray, IntArray], tuple[IntArray, IntArray]]

    def __len__(self) -> int:
        return len(self.row)

    def subset(self, keep: NDArray[np.bool_]) -> ContinuousItems:
        """Some of the free strips."""
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
            self.rounding,
            lambda index, widths: self.cost_at(kept[index], widths),
        )


@dataclass(frozen=True)
class Problem:
    """A multiple-choice cover: at most one choice for each piece, the sum of `adds` at least `target`.

    Row r stands for a kind: `multiplicity[r]` pieces that are alike in every respect, so that
    it does not matter which of them is taken.
    """

    target: int
    alternatives: Alternatives
    multiplicity: IntArray
    continuous_items: ContinuousItems | None = None
    equality: bool = False
    """Whether the sum must be met exactly: true of strips that are counted, not measured."""

    def is_feasible(self) -> bool:
        """Whether all pieces together reach the target."""
        if not len(self.alternatives):
            return False
        most = np.zeros(len(self.multiplicity), dtype=np.int64)
        np.maximum.at(most, self.alternatives.row, self.alternatives.adds)
        return int((most * self.multiplicity).sum()) >= self.target


@dataclass(frozen=True)
class Selection:
    """One piece of the kind `row` is taken with `take`; `closing` is the width of its free strip, if it gives one."""

    row: int
    alternative: int
    continuous_width: int | None = None


@dataclass(frozen=True)
class Solution:
    """A set of picks that reaches the target, and its two costs."""

    selections: tuple[Selection, ...]
    first: int
    second: int

    @property
    def cost(self) -> Cost:
        return self.first, self.second

    @property
    def signature(self) -> frozenset[tuple[int, int]]:
        """How many pieces of each kind are taken."""
        return frozenset(Counter(selection.row for selection in self.selections).items())


@dataclass(frozen=True)
class Solutions:
    """The best covers, best first. `bound` is a proven lower bound of the first cost of any cover.

    `proven` says that each is the best of all that differ from the earlier ones.
    """

    solutions: tuple[Solution, ...]
    lower_bound: int
    proven: bool
