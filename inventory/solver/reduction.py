"""Reduced-cost fixing: drops every alternative that is in no solution within the cutoff.

Method: Lagrangian relaxations bound what a solution with an alternative costs at least (see `lagrangian`). The first
relaxation sees both costs joined in one number. Where the first cost counts items, a second one sees the second cost
and has a multiplier on the number of items too, and bounds from `cardinality` apply. What is left is the core problem
(in the sense of D. Pisinger, A minimal algorithm for the multiple-choice knapsack problem, European Journal of
Operational Research 83(2), 1995; from memory), but proven to hold all k best solutions. Cost: a few passes over the
alternatives.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inventory.solver.cardinality import cost_with_partner, max_width_of
from inventory.solver.lagrangian import NO_CUTOFF, CostScaling, Relaxation, relaxation
from inventory.solver.multipliers import best_multiplier, best_multiplier_pair
from inventory.solver.problem import Alternatives, IntArray, Problem

_BITS = 58


@dataclass(frozen=True)
class Cutoff:
    """What a solution of interest may cost: at most `joint_cost` = first * scale + second, None where not known.

    `min_items` is the fewest items of any solution, where the first cost counts items. No solution of interest costs
    more than `max_cost`, whether a cutoff is known or not.
    """

    scale: int
    joint_cost: int | None
    min_items: int | None
    max_cost: int

    def allows(self, alternatives: Alternatives) -> NDArray[np.bool_]:
        """Which alternatives cost no more by themselves."""
        if self.joint_cost is None:
            return np.ones(len(alternatives), dtype=np.bool_)
        first, second = divmod(self.joint_cost, self.scale)
        allowed: NDArray[np.bool_] = alternatives.second <= second
        allowed &= alternatives.first == first
        allowed |= alternatives.first < first
        return allowed

    @property
    def at_min_items(self) -> bool:
        """Whether every solution within the cutoff has the fewest items there can be, two or more."""
        return (
            self.min_items is not None
            and self.min_items > 1
            and self.joint_cost is not None
            and self.joint_cost // self.scale == self.min_items
        )

    def at_most(self, joint_cost: int) -> Cutoff:
        """The tighter of this cutoff and another."""
        return replace(self, joint_cost=joint_cost if self.joint_cost is None else min(self.joint_cost, joint_cost))


@dataclass(frozen=True)
class Multipliers:
    """Lagrangian multipliers: of the width in joint costs; of the width and of an item in second costs."""

    of_width: float
    of_width_with_item: float
    item_multiplier: float


@dataclass(frozen=True)
class ReducedProblem:
    """The problem without what was fixed, and the relaxations of what is left.

    `lower_bound` bounds the scaled cost of every solution of the whole problem.
    """

    problem: Problem
    cutoff: Cutoff
    multipliers: Multipliers
    relaxations: list[Relaxation]
    scalings: tuple[CostScaling, ...]
    lower_bound: int

    @property
    def rows(self) -> IntArray:
        """The item classes that can be in a solution within the cutoff."""
        continuous_items = self.problem.continuous_items
        row = self.problem.alternatives.row
        return np.unique(row) if continuous_items is None else np.union1d(row, continuous_items.row)

    @property
    def shift(self) -> int:
        """By how many bits the first scaling shifts joint costs."""
        return self.scalings[0].shift

    @property
    def multiplier(self) -> float:
        """The first multiplier in joint costs; rounded down, so that nothing is taken that only breaks even."""
        return self.scalings[0].multiplier / (1 << self.shift)

    def cutoffs(self, joint_cost: int | None) -> tuple[int, ...]:
        """By relaxation: the cutoff in its scaled cost where a solution may cost `joint_cost`."""
        return _cutoffs(self.scalings, self.cutoff, joint_cost)

    def within(self, joint_cost: int) -> ReducedProblem:
        """The problem reduced further by a tighter cutoff, with the same multipliers."""
        return reduce_problem(
            self.problem, self.problem.alternatives, self.cutoff.at_most(joint_cost), self.multipliers
        )


def reduce_problem(
    problem: Problem, promising: Alternatives, cutoff: Cutoff, multipliers: Multipliers | None = None
) -> ReducedProblem:
    """Fixes what the relaxations allow; multipliers that are not given are found from the `promising` alternatives."""
    reduced = replace(
        problem, alternatives=problem.alternatives.subset_unless_most(cutoff.allows(problem.alternatives))
    )
    promising = promising.subset(cutoff.allows(promising))
    if cutoff.min_items is not None and cutoff.joint_cost is not None:
        reduced, promising = _wide_enough(problem, reduced, promising, cutoff.joint_cost // cutoff.scale)
    multipliers = multipliers or _best_multipliers(problem, promising, cutoff)
    scalings = _scalings(problem, promising, cutoff, multipliers)
    cutoffs = _cutoffs(scalings, cutoff, cutoff.joint_cost)
    relaxations = _relaxations(reduced, scalings, cutoffs)
    lower_bound = relaxations[0].lower_bound + relaxations[0].continuous_gain
    # Twice: with fewer alternatives left, the bounds are higher.
    for _ in range(2):
        before = reduced
        reduced = _without_fixed(reduced, relaxations, cutoffs)
        if cutoff.at_min_items:
            reduced = _pairable(reduced, cutoff)
        if reduced.alternatives is before.alternatives and reduced.continuous_items is before.continuous_items:
            break
        relaxations = _relaxations(reduced, scalings, cutoffs)
    return ReducedProblem(reduced, cutoff, multipliers, relaxations, scalings, lower_bound)


def lagrangian_bound(problem: Problem, promising: Alternatives, cutoff: Cutoff, continuous_items: int) -> int:
    """A lower bound of the joint cost of every solution, if it may have so many continuous items."""
    cutoff = replace(cutoff, joint_cost=None, min_items=None)
    [scaling] = _scalings(problem, promising, cutoff, _best_multipliers(problem, promising, cutoff))
    relaxed = relaxation(problem, scaling, NO_CUTOFF)
    return (relaxed.lower_bound + continuous_items * relaxed.continuous_gain) >> scaling.shift


def _relaxations(problem: Problem, scalings: tuple[CostScaling, ...], cutoffs: tuple[int, ...]) -> list[Relaxation]:
    return [relaxation(problem, scaling, cutoff) for scaling, cutoff in zip(scalings, cutoffs, strict=True)]


def _cutoffs(scalings: tuple[CostScaling, ...], cutoff: Cutoff, joint_cost: int | None) -> tuple[int, ...]:
    """By scaling: the cutoff in its cost."""
    if joint_cost is None:
        return (NO_CUTOFF,) * len(scalings)
    cutoffs = [joint_cost << scalings[0].shift]
    for scaling in scalings[1:]:
        # The second scaling has no first cost, so it bounds only solutions of the fewest items.
        first, second = divmod(joint_cost, cutoff.scale)
        scaled = (second << scaling.shift) + first * scaling.item_multiplier
        cutoffs.append(scaled if first == cutoff.min_items else NO_CUTOFF)
    return tuple(cutoffs)


def _wide_enough(
    problem: Problem, reduced: Problem, promising: Alternatives, max_items: int
) -> tuple[Problem, Alternatives]:
    """What reaches the target with the widest other items of the problem, `max_items` in all."""
    min_width = problem.target - max_width_of(problem, max_items - 1)
    continuous_items = problem.continuous_items
    reduced = reduced.subset(
        reduced.alternatives.adds >= min_width,
        None if continuous_items is None else continuous_items.adds + continuous_items.max_width >= min_width,
    )
    promising = promising.subset(promising.adds >= min_width)
    return reduced, promising if len(promising) else reduced.alternatives


def _pairable(problem: Problem, cutoff: Cutoff) -> Problem:
    """What reaches the target with one partner within the second cost, all others being as wide and cheap as can be."""
    if cutoff.min_items is None or cutoff.joint_cost is None or not len(problem.alternatives):
        return problem
    others = cutoff.min_items - 2
    adds, cost, continuous_items = problem.alternatives.adds, problem.alternatives.second, problem.continuous_items
    if continuous_items is not None:
        adds = np.concatenate((adds, continuous_items.adds + continuous_items.max_width))
        cheapest: IntArray = np.minimum.reduce([each.second for each in continuous_items.breakpoints])
        cost = np.concatenate((cost, cheapest))
    slack = cutoff.joint_cost % cutoff.scale - others * int(cost.min())
    kept = cost_with_partner(adds, cost, problem.target - max_width_of(problem, others)) <= slack
    return problem.subset(kept[: len(problem.alternatives)], kept[len(problem.alternatives) :])


def _without_fixed(problem: Problem, relaxations: list[Relaxation], cutoffs: tuple[int, ...]) -> Problem:
    """The alternatives and continuous items that no relaxation fixes."""
    alternatives, continuous_items = problem.alternatives, problem.continuous_items
    kept = np.ones(len(alternatives), dtype=np.bool_)
    kept_continuous = np.ones(0 if continuous_items is None else len(continuous_items), dtype=np.bool_)
    for each, cutoff in zip(relaxations, cutoffs, strict=True):
        if cutoff < NO_CUTOFF:
            kept &= each.unfixed(alternatives, cutoff)
            if continuous_items is not None:
                kept_continuous &= each.unfixed_continuous(continuous_items, cutoff)
    return problem.subset(kept, kept_continuous)


def _best_multipliers(problem: Problem, promising: Alternatives, cutoff: Cutoff) -> Multipliers:
    """Multipliers whose bounds are about the highest for the promising alternatives."""
    joint_cost = (promising.first * cutoff.scale + promising.second).astype(np.float64)
    pair = (0.0, 0.0)
    if cutoff.min_items is not None:
        second = promising.second.astype(np.float64)
        pair = best_multiplier_pair(problem, cutoff.min_items, promising, second)
    return Multipliers(best_multiplier(problem, promising, joint_cost), *pair)


def _scalings(
    problem: Problem, promising: Alternatives, cutoff: Cutoff, multipliers: Multipliers
) -> tuple[CostScaling, ...]:
    """The scalings of all relaxations, each shifted as far left as 64 bits allow."""
    target, multiplier = problem.target, multipliers.of_width
    max_cost = cutoff.max_cost if cutoff.joint_cost is None else cutoff.joint_cost
    shift = _shift(max_cost, int(multiplier * target))
    cap = (1 << _BITS + 1) >> shift
    joint = CostScaling(cutoff.scale, cap // cutoff.scale + 1, cap, shift, 0, int(multiplier * (1 << shift)))
    if cutoff.min_items is None:
        return (joint,)
    multiplier, item_multiplier = multipliers.of_width_with_item, multipliers.item_multiplier
    shift = _shift(
        int(promising.second.max(initial=0)) * 64, int(multiplier * target), int(item_multiplier * cutoff.min_items)
    )
    cap, unit = (1 << _BITS + 1) >> shift, 1 << shift
    return joint, CostScaling(0, 1, cap, shift, int(item_multiplier * unit), int(multiplier * unit))


def _shift(*values: int) -> int:
    """By how many bits these values can be shifted left within `_BITS`."""
    return max(_BITS - max(*values, 1).bit_length(), 0)
