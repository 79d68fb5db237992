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

from inventory.solver.problem import Alternatives, ContinuousItems, IntArray

NO_BOUND = -(1 << 60)
"""A bound so low that it leaves nothing out; budgets stay below 2^59."""


@dataclass(frozen=True)
class Relaxation:
    """One linear cost and a price, with what they say about every choice.

    `cost` is by choice; `reduced` = cost − price·width; `best_reduced` by row is what one
    piece of it saves at best (0 or less); `lower_bound` bounds every cover from below.
    `continuous_reduced` is the same as `reduced` for free strips, their width chosen at best.
    """

    multiplier: int
    cost: IntArray
    reduced: IntArray
    best_reduced: IntArray
    lower_bound: int
    continuous_reduced: IntArray
    continuous_gain: int
    """What the best free strip in a cover within the limit saves more than its piece's base: 0 or less."""

    def unfixed(self, alternatives: Alternatives, cutoff: int) -> NDArray[np.bool_]:
        """Which choices can be in a cover that costs at most `cutoff`."""
        kept: NDArray[np.bool_] = (
            self.reduced - self.best_reduced[alternatives.row] <= cutoff - self.lower_bound - self.continuous_gain
        )
        return kept

    def unfixed_continuous(self, continuous_items: ContinuousItems, cutoff: int) -> NDArray[np.bool_]:
        """Which free strips can be in a cover that costs at most `cutoff`."""
        kept: NDArray[np.bool_] = (
            self.continuous_reduced - self.best_reduced[continuous_items.row] <= cutoff - self.lower_bound
        )
        return kept


def best_by_class(values: IntArray, alternatives: Alternatives, rows: int) -> IntArray:
    """The least value of each row's choices, 0 at most (a row may also be left alone)."""
    best = np.zeros(rows, dtype=np.int64)
    if len(alternatives):
        best[alternatives.row[alternatives.starts]] = np.minimum(np.minimum.reduceat(values, alternatives.starts), 0)
    return best


def total_saving(best_reduced: IntArray, multiplicity: IntArray) -> int:
    """What all pieces at best save; NOTHING_KNOWN where that is beyond 64 bits: the guide then leaves nothing out."""
    saving = np.flatnonzero(best_reduced)
    best_reduced, multiplicity = best_reduced[saving], multiplicity[saving]
    if float(best_reduced.astype(np.float64) @ multiplicity) < NO_BOUND:
        return NO_BOUND
    return int(best_reduced @ multiplicity)


def relaxation(
    target: int,
    alternatives: Alternatives,
    multiplicity: IntArray,
    cost: IntArray,
    multiplier: int,
    continuous_items: ContinuousItems | None,
    scale_cost: Callable[[IntArray, IntArray], IntArray],
    limit: int,
) -> Relaxation:
    """The guide of this linear cost at this price, for covers that cost at most `limit`.

    `cost` is by choice; `scale_cost` makes the same linear cost of the two costs of a free strip.
    """
    reduced = np.minimum(alternatives.adds, target)
    reduced *= -multiplier
    reduced += cost
    best_reduced = best_by_class(reduced, alternatives, len(multiplicity))
    lower_bound = multiplier * target + total_saving(best_reduced, multiplicity)
    continuous_reduced = np.zeros(0, dtype=np.int64)
    gain = 0
    if continuous_items is not None and len(continuous_items):
        bound = continuous_lower_bounds(continuous_items, scale_cost, multiplier)
        continuous_reduced = bound - multiplier * continuous_items.adds
        saved = continuous_reduced - best_reduced[continuous_items.row]
        gain = int(saved.min(where=saved <= min(limit - lower_bound, -NO_BOUND), initial=0))
    return Relaxation(multiplier, cost, reduced, best_reduced, lower_bound, continuous_reduced, gain)


def continuous_lower_bounds(
    continuous_items: ContinuousItems, scale_cost: Callable[[IntArray, IntArray], IntArray], multiplier: int
) -> IntArray:
    """A lower bound of cost − price·width of each free strip, over all its widths.

    Between two corners the cost is a straight line, so that it is least at one of them; but for the rounding.
    """
    at_breakpoints = [
        scale_cost(breakpoint.first, breakpoint.second) - multiplier * breakpoint.width
        for breakpoint in continuous_items.breakpoints
    ]
    first, second = (np.full(1, each, dtype=np.int64) for each in continuous_items.rounding)
    bound: IntArray = np.minimum.reduce(at_breakpoints) - scale_cost(first, second)
    return bound
