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

from inventory.solver.problem import Choices, FreeStrips, Ints

NOTHING_KNOWN = -(1 << 60)
"""A bound so low that it leaves nothing out; budgets stay below 2^59."""


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
    free_reduced: Ints
    free_gain: int
    """What the best free strip in a cover within the limit saves more than its piece's base: 0 or less."""

    def survivors(self, choices: Choices, budget: int) -> NDArray[np.bool_]:
        """Which choices can be in a cover that costs at most `budget`."""
        kept: NDArray[np.bool_] = self.reduced - self.base[choices.row] <= budget - self.floor - self.free_gain
        return kept

    def free_survivors(self, strips: FreeStrips, budget: int) -> NDArray[np.bool_]:
        """Which free strips can be in a cover that costs at most `budget`."""
        kept: NDArray[np.bool_] = self.free_reduced - self.base[strips.row] <= budget - self.floor
        return kept


def best_by_row(values: Ints, choices: Choices, rows: int) -> Ints:
    """The least value of each row's choices, 0 at most (a row may also be left alone)."""
    best = np.zeros(rows, dtype=np.int64)
    if len(choices):
        best[choices.row[choices.starts]] = np.minimum(np.minimum.reduceat(values, choices.starts), 0)
    return best


def total_of(base: Ints, copies: Ints) -> int:
    """What all pieces at best save; NOTHING_KNOWN where that is beyond 64 bits: the guide then leaves nothing out."""
    saving = np.flatnonzero(base)
    base, copies = base[saving], copies[saving]
    if float(base.astype(np.float64) @ copies) < NOTHING_KNOWN:
        return NOTHING_KNOWN
    return int(base @ copies)


def guide(
    target: int,
    choices: Choices,
    copies: Ints,
    cost: Ints,
    price: int,
    strips: FreeStrips | None,
    seen: Callable[[Ints, Ints], Ints],
    limit: int,
) -> Guide:
    """The guide of this linear cost at this price, for covers that cost at most `limit`.

    `cost` is by choice; `seen` makes the same linear cost of the two costs of a free strip.
    """
    reduced = np.minimum(choices.adds, target)
    reduced *= -price
    reduced += cost
    base = best_by_row(reduced, choices, len(copies))
    floor = price * target + total_of(base, copies)
    free_reduced = np.zeros(0, dtype=np.int64)
    gain = 0
    if strips is not None and len(strips):
        bound = free_strip_bound(strips, seen, price)
        free_reduced = bound - price * strips.adds
        saved = free_reduced - base[strips.row]
        gain = int(saved.min(where=saved <= min(limit - floor, -NOTHING_KNOWN), initial=0))
    return Guide(price, cost, reduced, base, floor, free_reduced, gain)


def free_strip_bound(strips: FreeStrips, seen: Callable[[Ints, Ints], Ints], price: int) -> Ints:
    """A lower bound of cost − price·width of each free strip, over all its widths.

    Between two corners the cost is a straight line, so that it is least at one of them; but for the rounding.
    """
    at_corners = [seen(corner.first, corner.second) - price * corner.width for corner in strips.corners]
    first, second = (np.full(1, each, dtype=np.int64) for each in strips.rounding)
    bound: Ints = np.minimum.reduce(at_corners) - seen(first, second)
    return bound
