"""Lower bounds by a price for width: which choices and states can be in no best answer.

A guide puts a price on every nanometre of width. Whatever the price, the target
times the price plus what every piece would at best save is a lower bound of any
cover (Lagrangian relaxation: Geoffrion, Mathematical Programming Study 2, 1974; from
memory). The price is found in floats, since any price gives a true bound; the
bound itself is reckoned in whole numbers. Knows nothing of species or racks.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.fill.task import Choices, FreeStrips, Ints

NOTHING_KNOWN = -(1 << 60)
"""A bound so low that it leaves nothing out; budgets stay below 2^59."""
SPLIT = 8
"""The width of a free strip is split into so many parts to bound its cost, and each part that may be the best again."""
COARSE, FINE = 1, 3
"""How many times: of every strip, and of those left."""


@dataclass(frozen=True)
class Guide:
    """One linear cost and a price, with what they say about every choice.

    `cost` is by choice; `reduced` = cost − price·width; `base` by row is what one
    piece of it saves at best (0 or less); `floor` bounds every cover from below.
    `free_reduced` is the same as `reduced` for free strips, their width chosen at best.
    """

    price: int
    cost: Ints
    reduced: Ints
    base: Ints
    floor: int
    free_cost: Callable[[Ints, Ints], Ints] | None
    free_reduced: Ints
    free_gain: int
    """What the best free strip saves more than its piece's base: 0 or less."""

    def survivors(self, choices: Choices, budget: int) -> NDArray[np.bool_]:
        """Which choices can be in a cover that costs at most `budget`."""
        kept: NDArray[np.bool_] = self.reduced - self.base[choices.row] <= budget - self.floor - self.free_gain
        return kept

    def free_survivors(self, strips: FreeStrips, budget: int) -> NDArray[np.bool_]:
        """Which free strips can be in a cover that costs at most `budget`."""
        kept: NDArray[np.bool_] = self.free_reduced - self.base[strips.row] <= budget - self.floor
        return kept


def best_by_row(values: Ints, row: Ints, rows: int) -> Ints:
    """The least value of each row, 0 at most (a row may also be left alone); `row` ascends."""
    best = np.zeros(rows, dtype=np.int64)
    if len(row):
        starts = np.flatnonzero(np.r_[True, row[1:] != row[:-1]])
        best[row[starts]] = np.minimum(np.minimum.reduceat(values, starts), 0)
    return best


def total_of(base: Ints, copies: Ints) -> int:
    """What all pieces at best save; NOTHING_KNOWN where that is beyond 64 bits: the guide then leaves nothing out."""
    if float((base.astype(np.float64) * copies).sum()) < NOTHING_KNOWN:
        return NOTHING_KNOWN
    return int((base * copies).sum())


def guide(
    target: int,
    choices: Choices,
    copies: Ints,
    cost: Ints,
    price: int,
    strips: FreeStrips | None,
    free_cost: Callable[[Ints, Ints], Ints] | None,
    splits: int,
) -> Guide:
    """The guide of this linear cost at this price; free strips are bounded in parts, split so many times."""
    reduced = cost - price * np.minimum(choices.adds, target)
    base = best_by_row(reduced, choices.row, len(copies))
    floor = price * target + total_of(base, copies)
    free_reduced = np.zeros(0, dtype=np.int64)
    gain = 0
    if strips is not None and free_cost is not None and len(strips):
        free_reduced = free_strip_bound(strips, free_cost, price, splits) - price * strips.adds
        gain = min(0, int((free_reduced - base[strips.row]).min()))
    return Guide(price, cost, reduced, base, floor, free_cost, free_reduced, gain)


def free_strip_bound(strips: FreeStrips, free_cost: Callable[[Ints, Ints], Ints], price: int, splits: int) -> Ints:
    """A lower bound of cost − price·width of each free strip, over all its widths.

    The cost never falls with the width, so between two widths it is at least that of
    the narrower.
    """
    strip, low, high = np.arange(len(strips)), strips.least, strips.most
    reached = np.full(len(strips), np.iinfo(np.int64).max, dtype=np.int64)
    for _ in range(splits):
        edges = low + (high - low) * np.arange(SPLIT + 1)[:, None] // SPLIT
        strip, low, high = np.tile(strip, SPLIT), edges[:-1].ravel(), edges[1:].ravel()
        cost = free_cost(strip, low)
        np.minimum.at(reached, strip, cost - price * low)
        bound = cost - price * high
        better = bound < reached[strip]
        strip, low, high, bound = strip[better], low[better], high[better], bound[better]
    best = reached.copy()
    np.minimum.at(best, strip, bound)
    return best
