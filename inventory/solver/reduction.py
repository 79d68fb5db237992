"""Reduced-cost fixing: from a problem to its core problem, the few item classes that the dynamic program visits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from inventory.solver.cardinality import cost_with_partner, max_width_of
from inventory.solver.core_problem import CoreProblem, ItemClass
from inventory.solver.lagrangian import Relaxation, relaxation
from inventory.solver.multipliers import best_multiplier, best_multiplier_pair
from inventory.solver.problem import Alternatives, ContinuousItems, IntArray, Problem
from inventory.solver.solution_pool import NO_CUTOFF

_BITS = 58


@dataclass(frozen=True)
class Cutoff:
    """What a cover may cost: `joint_cost` = first·scale + second, None for anything at all.

    `fewest_pieces` is the least first cost there is, where that is known beforehand. No
    cover of interest costs more than `most`, known or not.
    """

    scale: int
    joint_cost: int | None
    min_items: int | None
    most: int

    def allows(self, alternatives: Alternatives) -> NDArray[np.bool_]:
        """Which choices cost no more alone."""
        if self.joint_cost is None:
            return np.ones(len(alternatives), dtype=np.bool_)
        first, second = divmod(self.joint_cost, self.scale)
        allowed: NDArray[np.bool_] = alternatives.second <= second
        allowed &= alternatives.first == first
        allowed |= alternatives.first < first
        return allowed

    @property
    def is_min_items(self) -> bool:
        """Whether every cover within the budget has as few pieces as any, two or more."""
        fewest_items = self.min_items
        return (
            fewest_items is not None
            and fewest_items > 1
            and self.joint_cost is not None
            and self.joint_cost // self.scale == fewest_items
        )

    def at_most(self, joint_cost: int) -> Cutoff:
        """The tighter of this budget and another."""
        return replace(self, joint_cost=joint_cost if self.joint_cost is None else min(self.joint_cost, joint_cost))


@dataclass(frozen=True)
class Multipliers:
    """What a nanometre is worth: in joint costs, and in second costs beside a toll on every piece."""

    of_width: float
    of_width_with_item: float
    item_multiplier: float


@dataclass(frozen=True)
class CostScaling:
    """How one guide sees costs, and its price for width.

    It sees `first·scale + second`, raised by `shift` bits so that the price is fine, and
    a toll on every piece. Costs above `cap`, and first costs above `most_first`, are seen
    as no more, which still lies above any budget: that keeps all sums within 63 bits.
    """

    scale: int
    most_first: int
    cap: int
    shift: int
    item_multiplier: int
    multiplier: int

    def cost(self, first: IntArray, second: IntArray) -> IntArray:
        first = np.minimum(first, self.most_first)
        seen: IntArray = first * self.scale
        seen += second
        np.minimum(seen, self.cap, out=seen)
        seen <<= self.shift
        if self.item_multiplier:
            seen += first * self.item_multiplier
        return seen


@dataclass(frozen=True)
class Prepared:
    """A field for sweeps, and how its numbers read.

    `steps` tells for each step the kind, what is taken, and whether a free strip.
    `lower_bound` bounds the joint cost of every cover of the task.
    """

    core: CoreProblem
    scalings: tuple[CostScaling, ...]
    cutoff: Cutoff
    shift: int
    steps: tuple[tuple[int, int, bool], ...]
    lower_bound: int

    def cutoffs(self, joint_cost: int | None) -> tuple[int, ...]:
        """The budgets of the guides when a cover may cost `joint_cost`."""
        return _limits(self.scalings, self.shift, self.cutoff, joint_cost)


def _limits(scalings: tuple[CostScaling, ...], shift: int, cutoff: Cutoff, joint_cost: int | None) -> tuple[int, ...]:
    """What each lens may see as cost when a cover may cost `joint_cost`."""
    if joint_cost is None:
        return (NO_CUTOFF,) * len(scalings)
    limits = [joint_cost << shift]
    if len(scalings) > 1:
        first, second = divmod(joint_cost, cutoff.scale)
        item_multiplier = (second << scalings[1].shift) + first * scalings[1].item_multiplier
        limits.append(item_multiplier if first == cutoff.min_items else NO_CUTOFF)
    return tuple(limits)


def prepare(left: ReducedProblem) -> Prepared:
    """The field of all kinds that can be in a cover within the budget, the most promising first."""
    continuous_items = left.problem.continuous_items
    item_classes, steps = _item_classes(left.problem, left.relaxations)
    core = CoreProblem(
        target=left.problem.target,
        equality=left.problem.equality,
        item_classes=item_classes,
        multipliers=tuple(scaling.multiplier for scaling in left.scalings),
        continuous_items=None
        if continuous_items is None
        else replace(continuous_items, cost_at=_scaled_cost_at(continuous_items, left.scalings)),
        continuous_bounds=tuple(
            each.continuous_reduced
            if continuous_items is None
            else each.continuous_reduced + each.multiplier * continuous_items.adds
            for each in left.relaxations
        ),
        class_of_step=tuple(item_class for item_class, _, _ in steps),
    )
    return Prepared(core, left.scalings, left.cutoff, left.shift, steps, left.lower_bound >> left.shift)


@dataclass(frozen=True)
class ReducedProblem:
    """What the guides leave of a task within a budget, and the guides as they see what is left."""

    problem: Problem
    cutoff: Cutoff
    multipliers: Multipliers
    relaxations: list[Relaxation]
    scalings: tuple[CostScaling, ...]
    shift: int
    lower_bound: int

    @property
    def rows(self) -> IntArray:
        """The rows that can be in a cover within the budget."""
        continuous_items = self.problem.continuous_items
        row = self.problem.alternatives.row
        return np.unique(row) if continuous_items is None else np.union1d(row, continuous_items.row)

    @property
    def multiplier(self) -> float:
        """The first guide's price for width, of joint costs; rounded down, so that it buys nothing that breaks even."""
        return self.scalings[0].multiplier / (1 << self.shift)

    def within(self, joint_cost: int) -> ReducedProblem:
        """The same for a budget that is tighter, perhaps, at the same prices."""
        return reduce_problem(
            self.problem, self.problem.alternatives, self.cutoff.at_most(joint_cost), self.multipliers
        )


def reduce_problem(
    problem: Problem, promising: Alternatives, cutoff: Cutoff, multipliers: Multipliers | None = None
) -> ReducedProblem:
    """What the guides leave; `likely` are the choices from which the prices are found, where they are not given."""
    alternatives = problem.alternatives.subset_unless_most(cutoff.allows(problem.alternatives))
    promising = promising.subset(cutoff.allows(promising))
    continuous_items = problem.continuous_items
    if cutoff.min_items is not None and cutoff.joint_cost is not None:
        alternatives, promising, continuous_items = _wide_enough(
            problem, alternatives, promising, cutoff.joint_cost // cutoff.scale
        )
    multipliers = multipliers or _multipliers(problem, promising, cutoff)
    scalings, shift = _scalings(problem, promising, cutoff, multipliers)
    limits = _limits(scalings, shift, cutoff, cutoff.joint_cost)

    def relax_all() -> list[Relaxation]:
        return [
            _relaxation(problem, alternatives, continuous_items, scaling, limit)
            for scaling, limit in zip(scalings, limits, strict=True)
        ]

    relaxations = relax_all()
    lower_bound = relaxations[0].lower_bound + relaxations[0].continuous_gain
    # Twice: with fewer choices left each guide bounds higher.
    for _ in range(2):
        before = alternatives, continuous_items
        alternatives, continuous_items = _unfixed(alternatives, continuous_items, relaxations, limits)
        if cutoff.is_min_items:
            alternatives, continuous_items = _pairable(
                replace(problem, alternatives=alternatives, continuous_items=continuous_items), cutoff
            )
        if alternatives is before[0] and continuous_items is before[1]:
            break
        relaxations = relax_all()
    return ReducedProblem(
        replace(problem, alternatives=alternatives, continuous_items=continuous_items),
        cutoff,
        multipliers,
        relaxations,
        scalings,
        shift,
        lower_bound,
    )


def _wide_enough(
    problem: Problem, alternatives: Alternatives, promising: Alternatives, pieces: int
) -> tuple[Alternatives, Alternatives, ContinuousItems | None]:
    """Choices and free strips that reach the target together with the widest of all pieces, `pieces` in all."""
    least = problem.target - max_width_of(problem, pieces - 1)
    continuous_items = problem.continuous_items
    alternatives, near = alternatives.subset(alternatives.adds >= least), promising.subset(promising.adds >= least)
    return (
        alternatives,
        near if len(near) else alternatives,
        None
        if continuous_items is None
        else continuous_items.subset(continuous_items.adds + continuous_items.max_width >= least),
    )


def _pairable(problem: Problem, cutoff: Cutoff) -> tuple[Alternatives, ContinuousItems | None]:
    """Choices and free strips that some other fills up to the target within the second cost, the rest at its best.

    A guide takes half of a wide piece and half of a narrow one; with two or three pieces to a cover that says little.
    """
    if cutoff.min_items is None or cutoff.joint_cost is None or not len(problem.alternatives):
        return problem.alternatives, problem.continuous_items
    others = cutoff.min_items - 2
    adds, cost, continuous_items = problem.alternatives.adds, problem.alternatives.second, problem.continuous_items
    if continuous_items is not None:
        adds = np.concatenate((adds, continuous_items.adds + continuous_items.max_width))
        cost = np.concatenate((cost, continuous_items.breakpoints[0].second))
    slack = cutoff.joint_cost % cutoff.scale - others * int(cost.min())
    kept = cost_with_partner(adds, cost, problem.target - max_width_of(problem, others)) <= slack
    here = len(problem.alternatives)
    return problem.alternatives.subset(kept[:here]), None if continuous_items is None else continuous_items.subset(
        kept[here:]
    )


def lagrangian_bound(problem: Problem, promising: Alternatives, cutoff: Cutoff, continuous_items: int) -> int:
    """A lower bound of the joint cost of every cover with up to so many free strips."""
    cutoff = replace(cutoff, joint_cost=None, min_items=None)
    scalings, shift = _scalings(problem, promising, cutoff, _multipliers(problem, promising, cutoff))
    seen = _relaxation(problem, problem.alternatives, problem.continuous_items, scalings[0], NO_CUTOFF)
    return (seen.lower_bound + continuous_items * seen.continuous_gain) >> shift


def _multipliers(problem: Problem, promising: Alternatives, cutoff: Cutoff) -> Multipliers:
    """Good prices for the guides; any prices bound truly."""
    joint_cost = (promising.first * cutoff.scale + promising.second).astype(np.float64)
    second = (0.0, 0.0)
    if cutoff.min_items is not None:
        seen = promising.second.astype(np.float64)
        second = best_multiplier_pair(problem.target, cutoff.min_items, promising, problem.multiplicity, seen)
    return Multipliers(best_multiplier(problem.target, promising, problem.multiplicity, joint_cost), *second)


def _scalings(
    problem: Problem, promising: Alternatives, cutoff: Cutoff, multipliers: Multipliers
) -> tuple[tuple[CostScaling, ...], int]:
    """The guides' lenses, and by how many bits the first one's costs are raised to make its price fine."""
    target, multiplier = problem.target, multipliers.of_width
    most = cutoff.most if cutoff.joint_cost is None else cutoff.joint_cost
    highest = max(most, int(multiplier * target), 1)
    shift = max(_BITS - highest.bit_length(), 0)
    cap = (1 << _BITS + 1) >> shift
    scalings = [CostScaling(cutoff.scale, cap // cutoff.scale + 1, cap, shift, 0, int(multiplier * (1 << shift)))]
    if cutoff.min_items is not None:
        multiplier, item_multiplier = multipliers.of_width_with_item, multipliers.item_multiplier
        highest = max(
            int(promising.second.max(initial=0)) * 64,
            int(multiplier * target),
            int(item_multiplier * cutoff.min_items),
            1,
        )
        raised = max(_BITS - highest.bit_length(), 0)
        cap, times = (1 << _BITS + 1) >> raised, 1 << raised
        scalings.append(CostScaling(0, 1, cap, raised, int(item_multiplier * times), int(multiplier * times)))
    return tuple(scalings), shift


def _scaled_cost_at(
    continuous_items: ContinuousItems, scalings: tuple[CostScaling, ...]
) -> Callable[[IntArray, IntArray], tuple[IntArray, IntArray]]:
    def cost_at(index: IntArray, widths: IntArray) -> tuple[IntArray, IntArray]:
        first, second = continuous_items.cost_at(index, widths)
        return scalings[0].cost(first, second), scalings[-1].cost(first, second)

    return cost_at


def _unfixed(
    alternatives: Alternatives,
    continuous_items: ContinuousItems | None,
    relaxations: list[Relaxation],
    limits: tuple[int, ...],
) -> tuple[Alternatives, ContinuousItems | None]:
    """What every guide leaves of the choices and of the free strips."""
    kept = np.ones(len(alternatives), dtype=np.bool_)
    kept_free = np.ones(0 if continuous_items is None else len(continuous_items), dtype=np.bool_)
    for each, limit in zip(relaxations, limits, strict=True):
        if limit < NO_CUTOFF:
            kept &= each.unfixed(alternatives, limit)
            if continuous_items is not None:
                kept_free &= each.unfixed_continuous(continuous_items, limit)
    return alternatives.subset(kept), None if continuous_items is None else continuous_items.subset(kept_free)


def _relaxation(
    problem: Problem,
    alternatives: Alternatives,
    continuous_items: ContinuousItems | None,
    scaling: CostScaling,
    limit: int,
) -> Relaxation:
    cost = scaling.cost(alternatives.first, alternatives.second)
    return relaxation(
        problem.target,
        alternatives,
        problem.multiplicity,
        cost,
        scaling.multiplier,
        continuous_items,
        scaling.cost,
        limit,
    )


def _item_classes(
    problem: Problem, relaxations: list[Relaxation]
) -> tuple[tuple[ItemClass, ...], tuple[tuple[int, int, bool], ...]]:
    """The kinds of a task, the most promising first; which kind each step takes from."""
    alternatives, continuous_items = problem.alternatives, problem.continuous_items
    free_row = np.zeros(0, dtype=np.int64) if continuous_items is None else continuous_items.row
    continuous_adds = np.zeros(0, dtype=np.int64) if continuous_items is None else continuous_items.adds
    rows = np.union1d(alternatives.row, free_row)
    least = [_least_by_row(each, alternatives, rows) for each in relaxations]
    order = np.argsort(least[-1], kind="stable")
    item_classes: list[ItemClass] = []
    steps: list[tuple[int, int, bool]] = []
    spans = (np.searchsorted(column, rows[order], side) for column in (alternatives.row, free_row) for side in SIDES)
    for place, low, high, free_low, free_high in zip(order.tolist(), *(span.tolist() for span in spans), strict=True):
        number, first_step, row = len(item_classes), len(steps), int(rows[place])
        steps += [(number, alternative, False) for alternative in alternatives.alternative[low:high].tolist()]
        if continuous_items is not None:
            steps += [
                (number, alternative, True) for alternative in continuous_items.alternative[free_low:free_high].tolist()
            ]
        middle = first_step + high - low
        item_classes.append(
            ItemClass(
                row=row,
                multiplicity=int(problem.multiplicity[row]),
                adds=alternatives.adds[low:high],
                costs=tuple(each.cost[low:high] for each in relaxations),
                min_reduced=tuple(int(each[place]) for each in least),
                steps=np.arange(first_step, middle, dtype=np.int64),
                continuous=np.arange(free_low, free_high),
                continuous_adds=continuous_adds[free_low:free_high],
                continuous_reduced=tuple(each.continuous_reduced[free_low:free_high] for each in relaxations),
                continuous_steps=np.arange(middle, len(steps), dtype=np.int64),
            )
        )
    return tuple(item_classes), tuple(steps)


SIDES: tuple[Literal["left", "right"], ...] = ("left", "right")


def _least_by_row(relaxation: Relaxation, alternatives: Alternatives, rows: IntArray) -> IntArray:
    """The least reduced cost of a piece of each row; 0 where only free strips are left, which the gain counts once."""
    least = np.zeros(len(rows), dtype=np.int64)
    if len(alternatives):
        starts = alternatives.starts
        least[np.searchsorted(rows, alternatives.row[starts])] = np.minimum.reduceat(relaxation.reduced, starts)
    return least
