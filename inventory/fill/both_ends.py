"""The best covers of sums that need only reach the target, swept from both ends until the two lists meet.

Method: a dynamic programme over lists of unbeaten sums (E. Horowitz and S. Sahni's
meeting in the middle, Journal of the ACM 21(2), 1974, with lists cut by bounds; from
memory). The kinds stand in order of promise: what is surely taken first, what is
surely left last. Either end is nearly decided, so its list stays short; the list that is
shorter takes the next kind. At the end each state of the one list needs those
of the other that are wide enough. Sums that must be met, and strips of free width, are
`inventory.fill.closing`'s.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inventory.fill.guides import NOTHING_KNOWN
from inventory.fill.held import Best, Found
from inventory.fill.kinds import Effort, Field, Kind
from inventory.fill.states import States, Tally, Trail, firsts, joined, start, unbeaten
from inventory.fill.task import Ints

PAIRS_AT_ONCE = 1 << 20


@dataclass(frozen=True)
class _Options:
    """Ways to take one piece: what it adds, what it costs by guide, the step, and which piece it is."""

    adds: Ints
    costs: tuple[Ints, ...]
    steps: Ints
    pieces: Ints


class _End:
    """The kinds decided from one end, and by guide what all others at best save."""

    def __init__(self, guides: int, to_come: list[int]) -> None:
        self.states = start(guides)
        self.to_come = to_come
        self.trail = Trail()
        self.tally = Tally()

    def __len__(self) -> int:
        return len(self.states)


class BothEnds:
    """The covers of a field that reach its target within the budgets."""

    def __init__(self, field: Field, budgets: tuple[int, ...], effort: Effort) -> None:
        self._field = field
        self._budgets = budgets
        self._effort = effort
        self._guides = range(len(field.prices))

    def hold_best(self, best: Best) -> None:
        """Holds the cheapest covers."""
        totals = [sum(kind.saved(guide) for kind in self._field.kinds) for guide in self._guides]
        floors = [price * self._field.target + total for price, total in zip(self._field.prices, totals, strict=True)]
        if any(floor > budget for floor, budget in zip(floors, self._budgets, strict=True)):
            return
        front, back = (_End(len(self._guides), list(totals)) for _ in range(2))
        kinds, lone = self._sorted_out(floors)
        if lone:
            self._take_one_of(back, lone)
        low, high = 0, len(kinds)
        while low < high and len(front) and len(back):
            if len(front) <= len(back):
                self._take(front, kinds[low])
                low += 1
            else:
                high -= 1
                self._take(back, kinds[high])
        self._meet(front, back, best)

    def _sorted_out(self, floors: list[int]) -> tuple[list[Kind], list[Kind]]:
        """The kinds to be swept, and those of which any two pieces together are beyond one and the same budget."""
        spare = [budget - floor for budget, floor in zip(self._budgets, floors, strict=True)]
        matters = [
            index
            for index, kind in enumerate(self._field.kinds)
            if all(kind.least_reduced[guide] <= spare[guide] for guide in self._guides)
        ]
        lone = [
            [index for index in matters if 2 * self._field.kinds[index].least_reduced[guide] > spare[guide]]
            for guide in self._guides
        ]
        alone = max((set(each) for each in lone), key=len)
        kinds = self._field.kinds
        return [kinds[each] for each in matters if each not in alone], [kinds[each] for each in sorted(alone)]

    def _take_one_of(self, end: _End, lone: list[Kind]) -> None:
        """An end at which nothing is decided, with one piece or none of all these kinds."""
        end.states, piece = end.tally.make_room(end.states, len(lone))
        options = _Options(
            np.concatenate([kind.adds for kind in lone]),
            tuple(np.concatenate([kind.costs[guide] for kind in lone]) for guide in self._guides),
            np.concatenate([kind.steps for kind in lone]),
            np.repeat(np.arange(1, len(lone) + 1) * piece, [len(kind.adds) for kind in lone]),
        )
        end.states = self._reduced(joined([end.states, self._one_more(end, end.states, options, end.to_come)]))

    def _take(self, end: _End, kind: Kind) -> None:
        """An end with one more kind decided: none of its pieces taken, or one, and so on."""
        for guide in self._guides:
            end.to_come[guide] -= kind.saved(guide)
        end.states, piece = end.tally.make_room(end.states, kind.copies)
        layers = [end.states]
        options = _Options(kind.adds, kind.costs, kind.steps, np.full(len(kind.adds), piece, dtype=np.int64))
        for copy in range(1, kind.copies + 1):
            if self._effort.spent and copy > 1:
                # What is spent is spent: the layers there are must do.
                self._effort.complete = False
                break
            to_come = [end.to_come[guide] + kind.saved(guide, copy) for guide in self._guides]
            layer = self._one_more(end, layers[-1], options, to_come)
            if not len(layer):
                break
            layers.append(layer)
        if any(least < 0 for least in kind.least_reduced):
            layers = [*(self._within(layer, end.to_come) for layer in layers[:-1]), layers[-1]]
        end.states = layers[0] if len(layers) == 1 else self._reduced(joined(layers))

    def _one_more(self, end: _End, states: States, options: _Options, to_come: list[int]) -> States:
        """Every state with every option, where a cover within the budgets can still be reached."""
        target, prices = self._field.target, self._field.prices
        if self._effort.count == 1:
            # Only among several covers can one with a piece to spare be wanted.
            states = states.at(states.width < target)
        self._effort.left -= len(states) * len(options.adds)
        affordable = np.ones((len(states), len(options.adds)), dtype=np.bool_)
        for guide, (price, cost) in enumerate(zip(prices, states.costs, strict=True)):
            # What a sum costs more than its width is worth: together with what is to come, within the budget.
            left = self._budgets[guide] - price * target - max(to_come[guide], NOTHING_KNOWN)
            own = (cost - price * states.width)[:, None] + (
                options.costs[guide] - price * np.minimum(options.adds, target)
            )
            affordable &= own <= left
        row, column = np.nonzero(affordable)
        grown = States(
            np.minimum(states.width[row] + options.adds[column], target),
            tuple(have[row] + more[column] for have, more in zip(states.costs, options.costs, strict=True)),
            states.strip[row],
            states.pieces[row] + options.pieces[column],
            np.arange(len(row)),
        )
        grown = self._reduced(grown)
        kept = grown.node
        return replace(grown, node=end.trail.grow(states.node[row[kept]], options.steps[column[kept]]))

    def _within(self, states: States, to_come: list[int]) -> States:
        """Without the states from which no cover within the budgets can be reached."""
        missing = self._field.target - states.width
        keep = np.ones(len(states), dtype=np.bool_)
        for guide, price in enumerate(self._field.prices):
            bound = np.maximum(price * missing + max(to_come[guide], NOTHING_KNOWN), 0)
            keep &= states.costs[guide] + bound <= self._budgets[guide]
        return states if keep.all() else states.at(keep)

    def _reduced(self, states: States) -> States:
        """The unbeaten states; if too many, the most promising."""
        kept = unbeaten(states, self._effort.count)
        most = self._effort.longest()
        if len(kept) > most:
            self._effort.complete = False
            promise = states.costs[0][kept] - self._field.prices[0] * states.width[kept]
            kept = kept[np.sort(np.argpartition(promise, most)[:most])]
        return states.at(kept)

    def _meet(self, front: _End, back: _End, best: Best) -> None:
        """Holds the cheapest covers of a state of each end."""
        if not len(front) or not len(back):
            return
        some = front.states
        others = back.states.at(np.argsort(back.states.width, kind="stable"))
        least = np.minimum.accumulate(others.costs[0][::-1])[::-1]
        place = np.searchsorted(others.width, self._field.target - some.width)
        fits = np.flatnonzero(place < len(others))
        promise = some.costs[0][fits] + least[place[fits]]
        order = np.argsort(promise, kind="stable")
        at_once = max(PAIRS_AT_ONCE // len(others), 1)
        for first in range(0, len(order), at_once):
            few = order[first : first + at_once]
            few = fits[few[promise[few] <= best.limit]]
            for cost, one, other in self._cheapest_pairs(some, others, few, place[few], best.limit):
                ways = front.trail.steps_to(int(some.node[one])), back.trail.steps_to(int(others.node[other]))
                best.hold(Found(cost, (*ways[0], *ways[1])))

    def _cheapest_pairs(
        self, some: States, others: States, few: NDArray[np.intp], place: NDArray[np.intp], limit: int
    ) -> list[tuple[int, int, int]]:
        """The cheapest pairs of one of `few` with one of those from its `place` on: cost and where both stand."""
        total = some.costs[0][few][:, None] + others.costs[0]
        row, other = np.nonzero((total <= limit) & (np.arange(len(others)) >= place[:, None]))
        cost, one = total[row, other], few[row]
        order = np.lexsort((cost, others.pieces[other], some.pieces[one]))
        order = order[firsts(some.pieces[one[order]], others.pieces[other[order]])]
        order = order[np.argsort(cost[order], kind="stable")][: self._effort.count]
        return list(zip(cost[order].tolist(), one[order].tolist(), other[order].tolist(), strict=True))
