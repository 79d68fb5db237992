"""From a task to the few kinds of pieces that a sweep has to look at.

Knows how the two costs are joined, and how guides leave choices out. Knows nothing of how a sweep goes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from inventory.solver.cardinality import widest_together, with_another
from inventory.solver.core_problem import Field, Kind
from inventory.solver.lagrangian import Guide, guide
from inventory.solver.multipliers import best_price, best_price_and_toll
from inventory.solver.problem import Choices, FreeStrips, Ints, Task
from inventory.solver.solution_pool import NO_LIMIT

_BITS = 58


@dataclass(frozen=True)
class Budget:
    """What a cover may cost: `joint` = first·scale + second, None for anything at all.

    `fewest_pieces` is the least first cost there is, where that is known beforehand. No
    cover of interest costs more than `most`, known or not.
    """

    scale: int
    joint: int | None
    fewest_pieces: int | None
    most: int

    def allows(self, choices: Choices) -> NDArray[np.bool_]:
        """Which choices cost no more alone."""
        if self.joint is None:
            return np.ones(len(choices), dtype=np.bool_)
        first, second = divmod(self.joint, self.scale)
        allowed: NDArray[np.bool_] = choices.second <= second
        allowed &= choices.first == first
        allowed |= choices.first < first
        return allowed

    @property
    def of_fewest_pieces(self) -> bool:
        """Whether every cover within the budget has as few pieces as any, two or more."""
        fewest = self.fewest_pieces
        return fewest is not None and fewest > 1 and self.joint is not None and self.joint // self.scale == fewest

    def at_most(self, joint: int) -> Budget:
        """The tighter of this budget and another."""
        return replace(self, joint=joint if self.joint is None else min(self.joint, joint))


@dataclass(frozen=True)
class Prices:
    """What a nanometre is worth: in joint costs, and in second costs beside a toll on every piece."""

    of_width: float
    of_width_beside_toll: float
    toll: float


@dataclass(frozen=True)
class Lens:
    """How one guide sees costs, and its price for width.

    It sees `first·scale + second`, raised by `shift` bits so that the price is fine, and
    a toll on every piece. Costs above `cap`, and first costs above `most_first`, are seen
    as no more, which still lies above any budget: that keeps all sums within 63 bits.
    """

    scale: int
    most_first: int
    cap: int
    shift: int
    toll: int
    price: int

    def cost(self, first: Ints, second: Ints) -> Ints:
        first = np.minimum(first, self.most_first)
        seen: Ints = first * self.scale
        seen += second
        np.minimum(seen, self.cap, out=seen)
        seen <<= self.shift
        if self.toll:
            seen += first * self.toll
        return seen


@dataclass(frozen=True)
class Prepared:
    """A field for sweeps, and how its numbers read.

    `steps` tells for each step the kind, what is taken, and whether a free strip.
    `floor` bounds the joint cost of every cover of the task.
    """

    field: Field
    lenses: tuple[Lens, ...]
    budget: Budget
    shift: int
    steps: tuple[tuple[int, int, bool], ...]
    floor: int

    def budgets(self, joint: int | None) -> tuple[int, ...]:
        """The budgets of the guides when a cover may cost `joint`."""
        return _limits(self.lenses, self.shift, self.budget, joint)


def _limits(lenses: tuple[Lens, ...], shift: int, budget: Budget, joint: int | None) -> tuple[int, ...]:
    """What each lens may see as cost when a cover may cost `joint`."""
    if joint is None:
        return (NO_LIMIT,) * len(lenses)
    limits = [joint << shift]
    if len(lenses) > 1:
        first, second = divmod(joint, budget.scale)
        toll = (second << lenses[1].shift) + first * lenses[1].toll
        limits.append(toll if first == budget.fewest_pieces else NO_LIMIT)
    return tuple(limits)


def prepare(left: Winnowed) -> Prepared:
    """The field of all kinds that can be in a cover within the budget, the most promising first."""
    strips = left.task.free_strips
    kinds, steps = _kinds(left.task, left.guides)
    field = Field(
        target=left.task.target,
        meet=left.task.meet,
        kinds=kinds,
        prices=tuple(lens.price for lens in left.lenses),
        strips=None if strips is None else replace(strips, cost_at=_seen_through(strips, left.lenses)),
        strip_bound=tuple(
            each.free_reduced if strips is None else each.free_reduced + each.price * strips.adds
            for each in left.guides
        ),
        owners=tuple(kind for kind, _, _ in steps),
    )
    return Prepared(field, left.lenses, left.budget, left.shift, steps, left.floor >> left.shift)


@dataclass(frozen=True)
class Winnowed:
    """What the guides leave of a task within a budget, and the guides as they see what is left."""

    task: Task
    budget: Budget
    prices: Prices
    guides: list[Guide]
    lenses: tuple[Lens, ...]
    shift: int
    floor: int

    @property
    def rows(self) -> Ints:
        """The rows that can be in a cover within the budget."""
        strips = self.task.free_strips
        row = self.task.choices.row
        return np.unique(row) if strips is None else np.union1d(row, strips.row)

    @property
    def price(self) -> float:
        """The first guide's price for width, of joint costs; rounded down, so that it buys nothing that breaks even."""
        return self.lenses[0].price / (1 << self.shift)

    def within(self, joint: int) -> Winnowed:
        """The same for a budget that is tighter, perhaps, at the same prices."""
        return winnow(self.task, self.task.choices, self.budget.at_most(joint), self.prices)


def winnow(task: Task, likely: Choices, budget: Budget, prices: Prices | None = None) -> Winnowed:
    """What the guides leave; `likely` are the choices from which the prices are found, where they are not given."""
    choices = task.choices.hardly_more_than(budget.allows(task.choices))
    likely = likely.only(budget.allows(likely))
    strips = task.free_strips
    if budget.fewest_pieces is not None and budget.joint is not None:
        choices, likely, strips = _wide_enough(task, choices, likely, budget.joint // budget.scale)
    prices = prices or _prices(task, likely, budget)
    lenses, shift = _lenses(task, likely, budget, prices)
    limits = _limits(lenses, shift, budget, budget.joint)

    def guided() -> list[Guide]:
        return [_guide(task, choices, strips, lens, limit) for lens, limit in zip(lenses, limits, strict=True)]

    guides = guided()
    floor = guides[0].floor + guides[0].free_gain
    # Twice: with fewer choices left each guide bounds higher.
    for _ in range(2):
        before = choices, strips
        choices, strips = _survivors(choices, strips, guides, limits)
        if budget.of_fewest_pieces:
            choices, strips = _with_others(replace(task, choices=choices, free_strips=strips), budget)
        if choices is before[0] and strips is before[1]:
            break
        guides = guided()
    return Winnowed(replace(task, choices=choices, free_strips=strips), budget, prices, guides, lenses, shift, floor)


def _wide_enough(
    task: Task, choices: Choices, likely: Choices, pieces: int
) -> tuple[Choices, Choices, FreeStrips | None]:
    """Choices and free strips that reach the target together with the widest of all pieces, `pieces` in all."""
    least = task.target - widest_together(task, pieces - 1)
    strips = task.free_strips
    choices, near = choices.only(choices.adds >= least), likely.only(likely.adds >= least)
    return (
        choices,
        near if len(near) else choices,
        None if strips is None else strips.only(strips.adds + strips.most >= least),
    )


def _with_others(task: Task, budget: Budget) -> tuple[Choices, FreeStrips | None]:
    """Choices and free strips that some other fills up to the target within the second cost, the rest at its best.

    A guide takes half of a wide piece and half of a narrow one; with two or three pieces to a cover that says little.
    """
    if budget.fewest_pieces is None or budget.joint is None or not len(task.choices):
        return task.choices, task.free_strips
    others = budget.fewest_pieces - 2
    adds, cost, strips = task.choices.adds, task.choices.second, task.free_strips
    if strips is not None:
        adds = np.concatenate((adds, strips.adds + strips.most))
        cost = np.concatenate((cost, strips.corners[0].second))
    spare = budget.joint % budget.scale - others * int(cost.min())
    kept = with_another(adds, cost, task.target - widest_together(task, others)) <= spare
    here = len(task.choices)
    return task.choices.only(kept[:here]), None if strips is None else strips.only(kept[here:])


def floor_of(task: Task, likely: Choices, budget: Budget, free_strips: int) -> int:
    """A lower bound of the joint cost of every cover with up to so many free strips."""
    budget = replace(budget, joint=None, fewest_pieces=None)
    lenses, shift = _lenses(task, likely, budget, _prices(task, likely, budget))
    seen = _guide(task, task.choices, task.free_strips, lenses[0], NO_LIMIT)
    return (seen.floor + free_strips * seen.free_gain) >> shift


def _prices(task: Task, likely: Choices, budget: Budget) -> Prices:
    """Good prices for the guides; any prices bound truly."""
    joint = (likely.first * budget.scale + likely.second).astype(np.float64)
    second = (0.0, 0.0)
    if budget.fewest_pieces is not None:
        seen = likely.second.astype(np.float64)
        second = best_price_and_toll(task.target, budget.fewest_pieces, likely, task.copies, seen)
    return Prices(best_price(task.target, likely, task.copies, joint), *second)


def _lenses(task: Task, likely: Choices, budget: Budget, prices: Prices) -> tuple[tuple[Lens, ...], int]:
    """The guides' lenses, and by how many bits the first one's costs are raised to make its price fine."""
    target, price = task.target, prices.of_width
    most = budget.most if budget.joint is None else budget.joint
    highest = max(most, int(price * target), 1)
    shift = max(_BITS - highest.bit_length(), 0)
    cap = (1 << _BITS + 1) >> shift
    lenses = [Lens(budget.scale, cap // budget.scale + 1, cap, shift, 0, int(price * (1 << shift)))]
    if budget.fewest_pieces is not None:
        price, toll = prices.of_width_beside_toll, prices.toll
        highest = max(int(likely.second.max(initial=0)) * 64, int(price * target), int(toll * budget.fewest_pieces), 1)
        raised = max(_BITS - highest.bit_length(), 0)
        cap, times = (1 << _BITS + 1) >> raised, 1 << raised
        lenses.append(Lens(0, 1, cap, raised, int(toll * times), int(price * times)))
    return tuple(lenses), shift


def _seen_through(strips: FreeStrips, lenses: tuple[Lens, ...]) -> Callable[[Ints, Ints], tuple[Ints, Ints]]:
    def cost_at(index: Ints, widths: Ints) -> tuple[Ints, Ints]:
        first, second = strips.cost_at(index, widths)
        return lenses[0].cost(first, second), lenses[-1].cost(first, second)

    return cost_at


def _survivors(
    choices: Choices, strips: FreeStrips | None, guides: list[Guide], limits: tuple[int, ...]
) -> tuple[Choices, FreeStrips | None]:
    """What every guide leaves of the choices and of the free strips."""
    kept = np.ones(len(choices), dtype=np.bool_)
    kept_free = np.ones(0 if strips is None else len(strips), dtype=np.bool_)
    for each, limit in zip(guides, limits, strict=True):
        if limit < NO_LIMIT:
            kept &= each.survivors(choices, limit)
            if strips is not None:
                kept_free &= each.free_survivors(strips, limit)
    return choices.only(kept), None if strips is None else strips.only(kept_free)


def _guide(task: Task, choices: Choices, strips: FreeStrips | None, lens: Lens, limit: int) -> Guide:
    cost = lens.cost(choices.first, choices.second)
    return guide(task.target, choices, task.copies, cost, lens.price, strips, lens.cost, limit)


def _kinds(task: Task, guides: list[Guide]) -> tuple[tuple[Kind, ...], tuple[tuple[int, int, bool], ...]]:
    """The kinds of a task, the most promising first; which kind each step takes from."""
    choices, strips = task.choices, task.free_strips
    free_row = np.zeros(0, dtype=np.int64) if strips is None else strips.row
    free_adds = np.zeros(0, dtype=np.int64) if strips is None else strips.adds
    rows = np.union1d(choices.row, free_row)
    least = [_least_by_row(each, choices, rows) for each in guides]
    order = np.argsort(least[-1], kind="stable")
    kinds: list[Kind] = []
    steps: list[tuple[int, int, bool]] = []
    spans = (np.searchsorted(column, rows[order], side) for column in (choices.row, free_row) for side in SIDES)
    for place, low, high, free_low, free_high in zip(order.tolist(), *(span.tolist() for span in spans), strict=True):
        number, first_step, row = len(kinds), len(steps), int(rows[place])
        steps += [(number, take, False) for take in choices.take[low:high].tolist()]
        if strips is not None:
            steps += [(number, take, True) for take in strips.take[free_low:free_high].tolist()]
        middle = first_step + high - low
        kinds.append(
            Kind(
                row=row,
                copies=int(task.copies[row]),
                adds=choices.adds[low:high],
                costs=tuple(each.cost[low:high] for each in guides),
                least_reduced=tuple(int(each[place]) for each in least),
                steps=np.arange(first_step, middle, dtype=np.int64),
                free=np.arange(free_low, free_high),
                free_adds=free_adds[free_low:free_high],
                free_reduced=tuple(each.free_reduced[free_low:free_high] for each in guides),
                free_steps=np.arange(middle, len(steps), dtype=np.int64),
            )
        )
    return tuple(kinds), tuple(steps)


SIDES: tuple[Literal["left", "right"], ...] = ("left", "right")


def _least_by_row(guide: Guide, choices: Choices, rows: Ints) -> Ints:
    """The least reduced cost of a piece of each row; 0 where only free strips are left, which the gain counts once."""
    least = np.zeros(len(rows), dtype=np.int64)
    if len(choices):
        starts = choices.starts
        least[np.searchsorted(rows, choices.row[starts])] = np.minimum.reduceat(guide.reduced, starts)
    return least
