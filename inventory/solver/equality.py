"""The best covers whose sum meets the target exactly: with a strip of free width, or of strips that are counted.

Method: a dynamic programme over a list of distinct partial sums, cut short by guides.
Exact for every grid, since sums are whole nanometres in a list, not cells in a table.
Cost: number of kinds times the length of the list, which the guides keep to some hundred
states on real racks; in the worst case the list grows with the number of distinct sums.
Limit: above the longest list allowed it is cut and the answer no longer called proven.

A strip that is added at the end may be of a piece that its cover has taken. Such a cover is
none, but it may have driven a sound one out of the list. So whatever bounds this list must
hold for such covers too: only those that are still there at the end are seen and mended.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from inventory.solver.core_problem import Effort, Field
from inventory.solver.dynamic_program import Ahead, Growing, few_at_once
from inventory.solver.problem import Ints
from inventory.solver.solution_pool import NO_LIMIT, Best, Found
from inventory.solver.states import NO_STRIP, States, firsts

NO_STRIP_LEFT = 1 << 61
"""Stands for the cost of a free strip where no kind is left to give one; costs stay below 2^60."""
PAIRS_AT_ONCE = 1 << 20


@dataclass(frozen=True)
class _Late:
    """Free strips that are added at the end: their indices, kinds and steps."""

    strips: Ints
    kinds: Ints
    steps: Ints


class Closing:
    """The covers of a field that meet its target within the budgets."""

    def __init__(
        self, field: Field, budgets: tuple[int, ...], effort: Effort, fewest_pieces: int | None = None
    ) -> None:
        self._field = field
        self._budgets = budgets
        self._effort = effort
        self._guides = range(len(field.prices))
        self._tails = [self._tails_of(guide) for guide in self._guides]
        # Kinds whose free strips are taken along from state to state; those of all others are added at the end.
        self._carried = set() if fewest_pieces is None else self._too_good(fewest_pieces)
        # By guide and kind, what the best free strip still to come costs; empty where none is wanted.
        self._gains: list[list[int]] = []

    def hold_counted(self, best: Best) -> None:
        """Holds the cheapest covers of strips that are counted."""
        swept = self._swept()
        full = swept.states.at(swept.states.width == self._field.target)
        for each in np.argsort(full.costs[0], kind="stable")[: self._effort.count].tolist():
            best.hold(Found(int(full.costs[0][each]), swept.way_to(int(full.node[each]))))

    def hold_closed(self, best: Best) -> None:
        """Holds the cheapest covers with a free strip.

        A strip added at the end may want a piece that its cover has already taken. Then its
        kind is carried and the sweep is done again, until the cheapest ones are sound.
        """
        while True:
            self._gains = [self._gains_of(guide) for guide in self._guides]
            swept = self._swept()
            self._hold_carried(swept, best)
            taken_twice = self._hold_late(swept, best)
            if not taken_twice:
                return
            if self._effort.spent:
                self._effort.complete = False
                return
            self._carried |= taken_twice

    def _too_good(self, fewest: int) -> set[int]:
        """The kinds that, with a piece more than there are, would reach the target with fewer pieces than any cover.

        The guide of boards of fewest pieces knows no such covers: it would leave them out,
        after they have already beaten sound ones, and nobody would see that a piece is taken twice.
        """
        strips = self._field.strips
        if strips is None:
            return set()
        widest = [int(kind.adds.max(initial=0)) for kind in self._field.kinds]
        pieces = sorted(
            (
                wide
                for wide, kind in zip(widest, self._field.kinds, strict=True)
                for _ in range(min(kind.copies, fewest))
            ),
            reverse=True,
        )
        found = set()
        for index, kind in enumerate(self._field.kinds):
            others = fewest - 2 - kind.copies
            if len(kind.free) and len(kind.adds) and others >= 0:
                strip = int((kind.free_adds + strips.most[kind.free]).max())
                if strip + kind.copies * widest[index] + sum(pieces[:others]) >= self._field.target:
                    found.add(index)
        return found

    def _tails_of(self, guide: int) -> list[int]:
        """By kind: what all kinds from there on at best save."""
        tails = [0]
        for kind in reversed(self._field.kinds):
            tails.append(tails[-1] + kind.saved(guide))
        return tails[::-1]

    def _gains_of(self, guide: int) -> list[int]:
        """By kind: what the best free strip that can still come costs beyond its piece's own choice.

        Strips of kinds already decided can come too, unless those are carried: for them
        nothing is saved any more.
        """
        later = [NO_STRIP_LEFT]
        for kind in reversed(self._field.kinds):
            here = NO_STRIP_LEFT
            if len(kind.free):
                here = int(kind.free_reduced[guide].min()) - min(kind.least_reduced[guide], 0)
            later.append(min(later[-1], here))
        gains = later[::-1]
        earlier = NO_STRIP_LEFT
        for index, kind in enumerate(self._field.kinds):
            gains[index] = min(gains[index], earlier)
            if len(kind.free) and index not in self._carried:
                earlier = min(earlier, int(kind.free_reduced[guide].min()))
        gains[-1] = earlier
        return gains

    def _idle(self) -> set[int]:
        """The kinds of which any piece leads past a budget, so that the sweep can pass them by."""
        idle = set()
        for index, kind in enumerate(self._field.kinds):
            for guide in self._guides:
                dearer = max(kind.least_reduced[guide], 0)
                if self._gains and len(kind.free) and index in self._carried:
                    # The gain may be this kind's own strip, which is then what is taken of it.
                    dearer = 0
                if dearer > self._spare(guide):
                    idle.add(index)
        return idle

    def _spare(self, guide: int) -> int:
        """By how much the cheapest cover imaginable is below a budget."""
        floor = self._field.prices[guide] * self._field.target + self._tails[guide][0]
        if self._gains:
            floor += self._gains[guide][0]
        return self._budgets[guide] - floor

    def _swept(self) -> Growing:
        """All kinds decided."""
        swept = Growing(self._field, self._budgets, self._effort, exact=True)
        idle = self._idle()
        kinds = [index for index in range(len(self._field.kinds)) if index not in idle]
        free = [index for index in kinds if index not in self._carried]
        few, most = few_at_once(self._field, free, [self._spare(guide) for guide in self._guides])
        if few:
            swept.take_few_of([self._field.kinds[index] for index in few], most, self._ahead(0, 0))
        pooled = set(few)
        for index in kinds:
            if index not in pooled and len(swept):
                swept.take(self._field.kinds[index], self._ahead(index, index + 1), carried=index in self._carried)
        return swept

    def _ahead(self, index: int, after: int) -> Ahead:
        """What is to come with all kinds before `after` decided, a strip of the kind `index` among it."""
        saved = [self._tails[guide][after] for guide in self._guides]
        if not self._gains:
            return Ahead(saved)
        gains = self._gains
        return Ahead(saved, [each[index] for each in gains], [each[after] for each in gains])

    def _hold_carried(self, swept: Growing, best: Best) -> None:
        """Holds the cheapest covers whose free strip was carried along."""
        strips = self._field.strips
        if strips is None or not self._carried:
            return
        states = swept.states.at(swept.states.strip != NO_STRIP)
        widths = self._field.target - states.width
        fits = (widths >= strips.least[states.strip]) & (widths <= strips.most[states.strip])
        states, widths = states.at(fits), widths[fits]
        total = states.costs[0] + strips.cost_at(states.strip, widths)[0]
        order = np.lexsort((total, states.pieces))
        order = order[firsts(states.pieces[order])]
        for each in order[np.argsort(total[order], kind="stable")][: self._effort.count].tolist():
            best.hold(Found(int(total[each]), swept.way_to(int(states.node[each])), int(widths[each])))

    def _hold_late(self, swept: Growing, best: Best) -> set[int]:
        """Holds the cheapest covers to which a free strip is added now; the kinds whose strips need to be carried.

        Those are wanted by a cover that has all their pieces already, and would be among the best.
        """
        kinds = [index for index, kind in enumerate(self._field.kinds) if len(kind.free) and index not in self._carried]
        states = swept.states.at(swept.states.strip == NO_STRIP)
        if not kinds or not len(states):
            return set()
        late = _Late(
            np.concatenate([self._field.kinds[index].free for index in kinds]),
            np.repeat(kinds, [len(self._field.kinds[index].free) for index in kinds]),
            np.concatenate([self._field.kinds[index].free_steps for index in kinds]),
        )
        twice: dict[int, int] = {}
        at_once = max(PAIRS_AT_ONCE // len(late.strips), 1)
        for first in range(0, len(states), at_once):
            some = states.at(np.arange(first, min(first + at_once, len(states))))
            for cost, place, strip, width in self._pairs(some, late, best.limit):
                kind = int(late.kinds[strip])
                if cost > best.limit:
                    break
                if cost >= twice.get(kind, NO_LIMIT):
                    continue
                found = Found(cost, (int(late.steps[strip]), *swept.way_to(int(some.node[place]))), width)
                if best.pieces_of(found)[kind] > self._field.kinds[kind].copies:
                    twice[kind] = cost
                else:
                    best.hold(found)
        return {kind for kind, cost in twice.items() if cost <= best.limit}

    def _pairs(self, some: States, late: _Late, limit: int) -> Iterator[tuple[int, int, int, int]]:
        """The cheapest pairs of a state and a strip within the limit: cost, where both stand, and the strip's width."""
        strips = self._field.strips
        if strips is None:
            return
        free = late.strips
        self._effort.left -= len(some) * len(free)
        missing = self._field.target - some.width
        widths = missing[:, None] - strips.adds[free]
        fits = (widths >= strips.least[free]) & (widths <= strips.most[free])
        for guide, price in enumerate(self._field.prices):
            promise = some.costs[guide] + price * missing
            bound = self._field.strip_bound[guide][free] - price * strips.adds[free]
            fits &= promise[:, None] + bound <= self._budgets[guide]
        row, column = np.nonzero(fits)
        width = widths[row, column]
        cost = some.costs[0][row] + strips.cost_at(free[column], width)[0]
        near = cost <= limit
        row, column, width, cost = row[near], column[near], width[near], cost[near]
        order = np.lexsort((cost, late.kinds[column], some.pieces[row]))
        order = order[firsts(some.pieces[row[order]], late.kinds[column[order]])]
        for each in order[np.argsort(cost[order], kind="stable")]:
            yield int(cost[each]), int(row[each]), int(column[each]), int(width[each])
