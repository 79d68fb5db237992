"""The cheapest cover of one region, its kinds swept from both ends until the two lists meet.

Method: a dynamic programme over lists of undominated sums (E. Horowitz and S. Sahni's
meeting in the middle, Journal of the ACM 21(2), 1974, with lists cut by bounds; from
memory). The kinds stand in order of promise: what is surely taken first, what is
surely left last. Either end is nearly decided, so its list stays short; the list that is
shorter takes the next kind. At the end each state of the one list needs the cheapest
of the other that is wide enough. Right where a sum need only reach the target: sums that
must be met, and strips of free width, are `inventory.fill.sweep`'s.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.fill.guides import NOTHING_KNOWN
from inventory.fill.kinds import FEW_STATES, Field, Kind, Region, Work, saved
from inventory.fill.states import Trail
from inventory.fill.task import Ints


@dataclass(frozen=True)
class Sums:
    """Partial covers: the width reached, the target at most; the costs of each guide; the way there."""

    width: Ints
    costs: tuple[Ints, ...]
    node: Ints

    def __len__(self) -> int:
        return len(self.width)

    def at(self, index: NDArray[np.intp] | NDArray[np.bool_]) -> Sums:
        """Some of the sums."""
        return Sums(self.width[index], tuple(cost[index] for cost in self.costs), self.node[index])


@dataclass(frozen=True)
class _Options:
    """Ways to take one piece: what it adds, what it costs by guide, the step."""

    adds: Ints
    costs: tuple[Ints, ...]
    steps: Ints


def _nothing(guides: int) -> Sums:
    zero = np.zeros(1, dtype=np.int64)
    return Sums(zero, (zero,) * guides, np.full(1, -1, dtype=np.int64))


def _none(guides: int) -> Sums:
    empty = np.zeros(0, dtype=np.int64)
    return Sums(empty, (empty,) * guides, empty)


def _joined(parts: list[Sums]) -> Sums:
    return Sums(
        np.concatenate([part.width for part in parts]),
        tuple(np.concatenate(costs) for costs in zip(*(part.costs for part in parts), strict=True)),
        np.concatenate([part.node for part in parts]),
    )


class _End:
    """The kinds decided from one end: covers without and with a piece beyond the region's set."""

    def __init__(self, guides: int, to_come: list[int]) -> None:
        self.without = _nothing(guides)
        self.beyond = _none(guides)
        self.to_come = to_come
        """By guide: what all kinds that are not decided here at best save."""
        self.trail = Trail()

    def __len__(self) -> int:
        return len(self.without) + len(self.beyond)


class BothEnds:
    """The cheapest cover of one region; `complete` is False if a list had to be cut."""

    def __init__(self, field: Field, region: Region, budgets: tuple[int, ...], most_states: int, work: Work) -> None:
        self._field = field
        self._region = region
        self._budgets = budgets
        self._most_states = most_states
        self._work = work
        self._guides = len(field.prices)
        self._limits = [region.limits.get(index, (0, kind.copies)) for index, kind in enumerate(field.kinds)]
        self.complete = True

    def cheapest(self) -> tuple[int, list[int]] | None:
        """The cost by the first guide, and the steps, of the cheapest cover within the budgets."""
        totals = [
            sum(saved(kind, guide, *limits, 0) for kind, limits in zip(self._field.kinds, self._limits, strict=True))
            for guide in range(self._guides)
        ]
        floors = [price * self._field.target + total for price, total in zip(self._field.prices, totals, strict=True)]
        if any(floor > budget for floor, budget in zip(floors, self._budgets, strict=True)):
            return None
        front, back = _End(self._guides, list(totals)), _End(self._guides, list(totals))
        kinds, lone = self._sorted_out(floors)
        self._one_of(back, lone)
        low, high = 0, len(kinds)
        while low < high and len(front) and len(back):
            if len(front) <= len(back):
                self._advance(front, kinds[low])
                low += 1
            else:
                high -= 1
                self._advance(back, kinds[high])
        return self._met(front, back)

    def _sorted_out(self, floors: list[int]) -> tuple[list[int], list[int]]:
        """The kinds to be swept, and those of which any two pieces together are beyond one and the same budget."""
        matters: list[int] = []
        lone: list[list[int]] = [[] for _ in range(self._guides)]
        spare = [budget - floor for budget, floor in zip(self._budgets, floors, strict=True)]
        for index, (kind, (low, high)) in enumerate(zip(self._field.kinds, self._limits, strict=True)):
            least = kind.least_reduced
            if low or (high and all(least[guide] <= spare[guide] for guide in range(self._guides))):
                matters.append(index)
                for guide in range(self._guides):
                    if not low and 2 * least[guide] > spare[guide]:
                        lone[guide].append(index)
        most = max(lone, key=len)
        alone = set(most)
        return [index for index in matters if index not in alone], most

    def _one_of(self, end: _End, lone: list[int]) -> None:
        """The covers of an end at which nothing is decided, with one piece or none of all these kinds."""
        inside = [index for index in lone if self._region.beyond is None or index in self._region.beyond]
        outside = [index for index in lone if self._region.beyond is not None and index not in self._region.beyond]
        nothing = end.without
        if outside:
            end.beyond = self._one_more(end, nothing, self._pooled(outside), end.to_come, must=False)
        if inside:
            some = self._one_more(end, nothing, self._pooled(inside), end.to_come, must=False)
            end.without = self._reduced(_joined([nothing, some]))

    def _pooled(self, indices: list[int]) -> _Options:
        kinds = [self._field.kinds[index] for index in indices]
        return _Options(
            np.concatenate([kind.adds for kind in kinds]),
            tuple(np.concatenate([kind.costs[guide] for kind in kinds]) for guide in range(self._guides)),
            np.concatenate([kind.steps for kind in kinds]),
        )

    def _advance(self, end: _End, index: int) -> None:
        """The covers of this end with one more kind decided."""
        kind, (low, high) = self._field.kinds[index], self._limits[index]
        for guide in range(self._guides):
            end.to_come[guide] -= saved(kind, guide, low, high, 0)
        if self._region.beyond is None or index in self._region.beyond:
            end.without = self._taken(end, end.without, kind, low, high, low, high)
            if len(end.beyond):
                end.beyond = self._taken(end, end.beyond, kind, low, high, low, high)
            return
        some = [self._taken(end, end.without, kind, max(low, 1), high, low, high)]
        if len(end.beyond):
            some.append(self._taken(end, end.beyond, kind, low, high, low, high))
        if low:
            end.without = _none(self._guides)
        some = [each for each in some if len(each)]
        end.beyond = self._reduced(_joined(some)) if some else _none(self._guides)

    def _taken(self, end: _End, states: Sums, kind: Kind, least: int, most: int, low: int, high: int) -> Sums:
        """These states with `least` to `most` pieces of the kind taken, of which a cover takes `low` to `high`."""
        layers = [states]
        options = _Options(kind.adds, kind.costs, kind.steps)
        for copy in range(1, most + 1):
            if self._work.left <= 0 and copy > max(low, 1):
                # What is spent is spent: the layers there are must do.
                self.complete = False
                break
            to_come = [end.to_come[guide] + saved(kind, guide, low, high, copy) for guide in range(self._guides)]
            layer = self._one_more(end, layers[-1], options, to_come, must=copy <= least)
            if not len(layer):
                break
            layers.append(layer)
        wanted = layers[least:]
        if not wanted:
            return _none(self._guides)
        if any(kind.least_reduced[guide] < 0 for guide in range(self._guides)):
            wanted = [self._within(layer, end.to_come) for layer in wanted[:-1]] + wanted[-1:]
        return wanted[0] if len(wanted) == 1 else self._reduced(_joined(wanted))

    def _one_more(self, end: _End, states: Sums, options: _Options, to_come: list[int], *, must: bool) -> Sums:
        """Every state with every option, where a cover within the budgets can still be reached."""
        target, prices = self._field.target, self._field.prices
        if not must:
            states = states.at(states.width < target)
        self._work.left -= len(states) * len(options.adds)
        affordable: NDArray[np.bool_] | None = None
        for guide, (price, cost) in enumerate(zip(prices, states.costs, strict=True)):
            # What a sum costs more than its width is worth: together with what is to come, within the budget.
            left = self._budgets[guide] - price * target - max(to_come[guide], NOTHING_KNOWN)
            own = (cost - price * states.width)[:, None] + (
                options.costs[guide] - price * np.minimum(options.adds, target)
            )
            within = own <= left
            affordable = within if affordable is None else affordable & within
        if affordable is None:
            raise ValueError("a field has at least one guide")
        row, column = np.nonzero(affordable)
        grown = Sums(
            np.minimum(states.width[row] + options.adds[column], target),
            tuple(have[row] + more[column] for have, more in zip(states.costs, options.costs, strict=True)),
            row,
        )
        kept = self._kept(grown)
        grown = grown.at(kept)
        return Sums(grown.width, grown.costs, end.trail.grow(states.node[grown.node], options.steps[column[kept]]))

    def _within(self, states: Sums, to_come: list[int]) -> Sums:
        """Without the states from which no cover within the budgets can be reached."""
        missing = self._field.target - states.width
        keep = np.ones(len(states), dtype=np.bool_)
        for guide, price in enumerate(self._field.prices):
            bound = np.maximum(price * missing + max(to_come[guide], NOTHING_KNOWN), 0)
            keep &= states.costs[guide] + bound <= self._budgets[guide]
        return states if keep.all() else states.at(keep)

    def _reduced(self, states: Sums) -> Sums:
        return states.at(self._kept(states))

    def _kept(self, states: Sums) -> NDArray[np.intp]:
        """Which states are not beaten in width and in the first guide's cost; if too many, the most promising."""
        kept = np.argsort(-states.width, kind="stable")
        cost = states.costs[0][kept]
        if len(kept) > 1:
            cheaper = np.ones(len(kept), dtype=np.bool_)
            cheaper[1:] = cost[1:] < np.minimum.accumulate(cost)[:-1]
            kept = kept[cheaper]
            width = states.width[kept]
            last = np.ones(len(kept), dtype=np.bool_)
            last[:-1] = width[1:] < width[:-1]
            kept = kept[last]
        most = self._most_states if self._work.left > 0 else min(self._most_states, FEW_STATES)
        if len(kept) > most:
            self.complete = False
            promise = states.costs[0][kept] - self._field.prices[0] * states.width[kept]
            kept = kept[np.sort(np.argpartition(promise, most)[:most])]
        return kept

    def _met(self, front: _End, back: _End) -> tuple[int, list[int]] | None:
        """The cheapest cover of a state of each end."""
        if self._region.beyond is None:
            pairs = [(front.without, back.without)]
        else:
            pairs = [(front.beyond, back.without), (front.beyond, back.beyond), (front.without, back.beyond)]
        best = min((pair for some, others in pairs for pair in self._cheapest_pair(some, others)), default=None)
        if best is None or best[0] > self._budgets[0]:
            return None
        return best[0], [*front.trail.steps_to(best[1]), *back.trail.steps_to(best[2])]

    def _cheapest_pair(self, some: Sums, others: Sums) -> list[tuple[int, int, int]]:
        """The cost and both nodes of the cheapest, if any two are wide enough."""
        order = np.argsort(others.width, kind="stable")
        width, cost = others.width[order], others.costs[0][order]
        least = np.minimum.accumulate(cost[::-1])[::-1]
        wide_enough = np.searchsorted(width, self._field.target - some.width)
        fits = np.flatnonzero(wide_enough < len(others))
        if not len(fits):
            return []
        total = some.costs[0][fits] + least[wide_enough[fits]]
        best = int(np.argmin(total))
        first = int(wide_enough[fits[best]])
        other = order[first + int(np.argmin(cost[first:]))]
        return [(int(total[best]), int(some.node[fits[best]]), int(others.node[other]))]
