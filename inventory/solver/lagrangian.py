"""Lagrangian relaxation of the covering constraint: lower bounds, and reduced-cost fixing from them.

Method: with a multiplier u on the constraint, u * target plus the reduced cost, where negative, of every item's best
alternative is a lower bound of every solution (A. M. Geoffrion, Mathematical Programming Study 2, 1974; from memory).
Of a mandatory class one item's best alternative counts even where its reduced cost is positive. An alternative whose
reduced cost exceeds the best of its class by more than the gap between bound and cutoff is in no solution within the
cutoff, and is fixed to 0. Cost: one pass over the alternatives. All arithmetic here is in whole numbers, and the bound
is valid at any multiplier; `multipliers` finds good ones."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import Alternatives, ContinuousItems, IntArray, Problem

NO_BOUND = -(1 << 60)
"""A bound that fixes nothing; cutoffs stay below 2^59."""
NO_CUTOFF = 1 << 61
"""More than any scaled cost."""


@dataclass(frozen=True)
class CostScaling:
    """One linear cost in whole numbers, and the multipliers that belong to it.

    The cost is `first * scale + second`, shifted left by `shift` bits so that rounding the multiplier loses little,
    plus `item_multiplier` for every item that `first` counts. Costs above `cap` and first costs above `max_first` are
    clipped; clipped costs are still above every cutoff, and all sums stay within 63 bits.
    """

    scale: int
    max_first: int
    cap: int
    shift: int
    item_multiplier: int
    multiplier: int

    def cost(self, first: IntArray, second: IntArray) -> IntArray:
        """The scaled costs."""
        first = np.minimum(first, self.max_first)
        scaled: IntArray = first * self.scale
        scaled += second
        np.minimum(scaled, self.cap, out=scaled)
        scaled <<= self.shift
        if self.item_multiplier:
            scaled += first * self.item_multiplier
        return scaled


@dataclass(frozen=True)
class Relaxation:
    """The relaxed problem of one scaled cost at its multiplier.

    By alternative: `cost` and `reduced` = cost - multiplier * width. By item class: `best_reduced`, the least reduced
    cost of an item, 0 at most (an item need not be taken) unless the class is mandatory. `continuous_reduced` is a
    lower bound of the reduced cost of each continuous item over all its widths. `lower_bound` holds for every solution
    without a continuous item. For one with it, `continuous_gain` (0 or less) is added: by how much the best one within
    the cutoff undercuts its class.
    """

    multiplier: int
    cost: IntArray
    reduced: IntArray
    best_reduced: IntArray
    lower_bound: int
    continuous_reduced: IntArray
    continuous_gain: int

    def unfixed(self, alternatives: Alternatives, cutoff: int) -> NDArray[np.bool_]:
        """Which alternatives can be in a solution that costs at most `cutoff`."""
        kept: NDArray[np.bool_] = (
            self.reduced - self.best_reduced[alternatives.row] <= cutoff - self.lower_bound - self.continuous_gain
        )
        return kept

    def unfixed_continuous(self, continuous_items: ContinuousItems, cutoff: int) -> NDArray[np.bool_]:
        """Which continuous items can be in a solution that costs at most `cutoff`."""
        kept: NDArray[np.bool_] = (
            self.continuous_reduced - self.best_reduced[continuous_items.row] <= cutoff - self.lower_bound
        )
        return kept


def relaxation(problem: Problem, scaling: CostScaling, cutoff: int) -> Relaxation:
    """Solves the relaxed problem, for solutions that cost at most `cutoff` in scaled cost."""
    alternatives, continuous_items = problem.alternatives, problem.continuous_items
    cost = scaling.cost(alternatives.first, alternatives.second)
    reduced = problem.useful_adds(alternatives)
    reduced *= -scaling.multiplier
    reduced += cost
    best_reduced = _best_by_class(reduced, problem)
    lower_bound = scaling.multiplier * problem.target + total_saving(best_reduced, problem.multiplicity)
    continuous_reduced = np.zeros(0, dtype=np.int64)
    gain = 0
    if continuous_items is not None and len(continuous_items):
        bounds = _continuous_lower_bounds(continuous_items, scaling)
        continuous_reduced = bounds - scaling.multiplier * continuous_items.adds
        over_class = continuous_reduced - best_reduced[continuous_items.row]
        gain = int(over_class.min(where=over_class <= min(cutoff - lower_bound, -NO_BOUND), initial=0))
    return Relaxation(scaling.multiplier, cost, reduced, best_reduced, lower_bound, continuous_reduced, gain)


def _best_by_class(values: IntArray, problem: Problem) -> IntArray:
    """The least value of each class's alternatives, 0 at most unless it is mandatory; 0 without alternatives."""
    alternatives = problem.alternatives
    best = np.zeros(len(problem.multiplicity), dtype=np.int64)
    if len(alternatives):
        best[alternatives.row[alternatives.starts]] = np.minimum.reduceat(values, alternatives.starts)
        np.minimum(best, 0, out=best, where=~problem.is_mandatory)
    return best


def total_saving(best_reduced: IntArray, multiplicity: IntArray) -> int:
    """The sum of all items' best reduced costs, where one is positive of one item; within NO_BOUND and -NO_BOUND.

    The limits keep sums within 64 bits.
    """
    some = np.flatnonzero(best_reduced)
    best_reduced, items = best_reduced[some], np.where(best_reduced[some] > 0, 1, multiplicity[some])
    estimate = float(best_reduced.astype(np.float64) @ items)
    if abs(estimate) > -NO_BOUND:
        return NO_BOUND if estimate < 0 else -NO_BOUND
    return int(best_reduced @ items)


def _continuous_lower_bounds(continuous_items: ContinuousItems, scaling: CostScaling) -> IntArray:
    """By continuous item: a lower bound of cost - multiplier * width over all its widths.

    Between breakpoints the cost is not below a straight line, so the least of the bounds is at a breakpoint.
    """
    at_breakpoints = [
        scaling.cost(breakpoint.first, breakpoint.second) - scaling.multiplier * breakpoint.width
        for breakpoint in continuous_items.breakpoints
    ]
    bounds: IntArray = np.minimum.reduce(at_breakpoints)
    return bounds
