"""The best covers whose sum meets the target exactly: with a strip of free width, or of strips that are counted.

Method: a dynamic programme over a list of distinct partial sums, cut short by guides.
Exact for every grid, since sums are whole nanometres in a list, not cells in a table.
Cost: number of kinds times the length of the list, which the guides keep to some hundred
states on real racks; in the worst case the list grows with the number of distinct sums.
Limit: above the longest list allowed it is cut and the answer no longer called proven.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from inventory.fill.guides import NOTHING_KNOWN
from inventory.fill.held import NO_LIMIT, Best, Found
from inventory.fill.kinds import Effort, Field
from inventory.fill.states import NO_STRIP, States, Tally, Trail, cheapest_of_equals, firsts, joined, start
from inventory.fill.task import Ints

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

    def __init__(self, field: Field, budgets: tuple[int, ...], effort: Effort) -> None:
        self._field = field
        self._budgets = budgets
        self._effort = effort
        self._guides = range(len(field.prices))
        self._step_count = 1 + sum(len(kind.steps) + len(kind.free_steps) for kind in field.kinds)
        self._tails = [self._tails_of(guide) for guide in self._guides]
        self._trail = Trail()
        self._tally = Tally()
        # Kinds whose free strips are taken along from state to state; those of all others are added at the end.
        self._carried: set[int] = set()
        # By guide and kind, what the best free strip still to come costs; empty where none is wanted.
        self._gains: list[list[int]] = []

    def hold_counted(self, best: Best) -> None:
        """Holds the cheapest covers of strips that are counted."""
        states = self._swept()
        full = states.at(states.width == self._field.target)
        for each in np.argsort(full.costs[0], kind="stable")[: self._effort.count].tolist():
            best.hold(Found(int(full.costs[0][each]), self._way_to(full, each)))

    def hold_closed(self, best: Best) -> None:
        """Holds the cheapest covers with a free strip.

        A strip added at the end may want a piece that its cover has already taken. Then its
        kind is carried and the sweep is done again, until the cheapest ones are sound.
        """
        while True:
            self._gains = [self._gains_of(guide) for guide in self._guides]
            states = self._swept()
            self._hold_carried(states, best)
            taken_twice = self._hold_late(states, best)
            if not taken_twice:
                return
            if self._effort.spent:
                self._effort.complete = False
                return
            self._carried |= taken_twice

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

    def _lone(self, idle: set[int]) -> set[int]:
        """Kinds of which any two pieces together are beyond one and the same budget, but for a free strip."""
        most: set[int] = set()
        for guide in self._guides:
            spare = self._spare(guide)
            lone = {
                index
                for index, kind in enumerate(self._field.kinds)
                if index not in idle and index not in self._carried
                if len(kind.steps) and 2 * kind.least_reduced[guide] > spare
            }
            most = max(most, lone, key=len)
        return most

    def _spare(self, guide: int) -> int:
        """By how much the cheapest cover imaginable is below a budget."""
        floor = self._field.prices[guide] * self._field.target + self._tails[guide][0]
        if self._gains:
            floor += self._gains[guide][0]
        return self._budgets[guide] - floor

    def _swept(self) -> States:
        """All kinds decided."""
        self._tally = Tally()
        idle = self._idle()
        lone = self._lone(idle)
        states = start(len(self._guides))
        if lone:
            states = self._take_one_of(states, sorted(lone))
        for index in range(len(self._field.kinds)):
            if index not in idle and index not in lone and len(states):
                states = self._take(states, index)
        return states

    def _take_one_of(self, nothing: States, lone: list[int]) -> States:
        """One piece or none of all these kinds."""
        nothing, piece = self._tally.make_room(nothing, len(lone))
        kinds = [self._field.kinds[index] for index in lone]
        grown = self._grown(
            nothing,
            np.concatenate([kind.adds for kind in kinds]),
            tuple(np.concatenate([kind.costs[guide] for kind in kinds]) for guide in self._guides),
            np.concatenate([kind.steps for kind in kinds]),
            np.repeat(np.arange(1, len(kinds) + 1) * piece, [len(kind.adds) for kind in kinds]),
        )
        tails = [self._tails[guide][0] for guide in self._guides]
        to_come = [self._gains[guide][0] for guide in self._guides] if self._gains else None
        return self._reduced(joined([nothing, self._kept(self._within(grown, tails, to_come))]))

    def _take(self, states: States, index: int) -> States:
        """These states with one more kind decided: none of its pieces taken, or one, and so on."""
        kind = self._field.kinds[index]
        states, piece = self._tally.make_room(states, kind.copies)
        layers = [states]
        for copy in range(1, kind.copies + 1):
            if self._effort.spent and copy > 1:
                # The work is spent: the layers there are must do.
                self._effort.complete = False
                break
            layer = self._with_one_more(layers[-1], index, copy, piece)
            if not len(layer):
                break
            layers.append(layer)
        together = joined(layers)
        if min(kind.least_reduced) < 0:
            # What the kind would have saved is gone for those that did not take it.
            together = self._affordable(together, index, kind.copies, decided=True)
        return self._reduced(together) if len(layers) > 1 else together

    def _with_one_more(self, states: States, index: int, copy: int, piece: int) -> States:
        kind = self._field.kinds[index]
        if not self._gains:
            states = states.at(states.width < self._field.target)
        parts = [self._grown(states, kind.adds, kind.costs, kind.steps, piece)]
        if self._gains and index in self._carried:
            ready = states.at(states.strip == NO_STRIP)
            nothing = tuple(np.zeros(len(kind.free), dtype=np.int64) for _ in self._guides)
            parts.append(self._grown(ready, kind.free_adds, nothing, kind.free_steps, piece, kind.free))
        grown = self._affordable(joined(parts), index, copy)
        return self._kept(self._reduced(grown) if copy < kind.copies else grown)

    def _kept(self, grown: States) -> States:
        """What has grown, each with a node of its own; without what is too wide where the target must be met."""
        if self._field.meet:
            grown = grown.at(grown.width <= self._field.target)
        # A fresh node only for what is kept; until here `node` held parent and step in one number.
        parents, steps = np.divmod(grown.node, self._step_count)
        return replace(grown, node=self._trail.grow(parents - 1, steps))

    def _grown(
        self,
        states: States,
        adds: Ints,
        costs: tuple[Ints, ...],
        steps: Ints,
        pieces: Ints | int,
        strip: Ints | None = None,
    ) -> States:
        """Every state with every choice."""
        shape = (len(states), len(adds))
        self._effort.left -= len(states) * len(adds)
        return States(
            (states.width[:, None] + adds).ravel(),
            tuple((have[:, None] + more).ravel() for have, more in zip(states.costs, costs, strict=True)),
            np.broadcast_to(states.strip[:, None] if strip is None else strip, shape).ravel(),
            np.broadcast_to(states.pieces[:, None] + pieces, shape).ravel(),
            ((states.node[:, None] + 1) * self._step_count + steps).ravel(),
        )

    def _affordable(self, states: States, index: int, taken: int, *, decided: bool = False) -> States:
        """Without the states from which no cover within the budget can be reached."""
        kind = self._field.kinds[index]
        tails = [self._tails[guide][index + 1] + kind.saved(guide, taken) for guide in self._guides]
        to_come = [self._gains[guide][index + decided] for guide in self._guides] if self._gains else None
        return self._within(states, tails, to_come)

    def _within(self, states: States, tails: list[int], to_come: list[int] | None) -> States:
        """The same, where the kinds still to come save `tails` at best, a free strip `to_come` if one is wanted."""
        keep = np.ones(len(states), dtype=np.bool_)
        missing = self._field.target - states.width
        holds = states.strip != NO_STRIP
        held_by = np.maximum(states.strip, 0)
        if to_come is not None and self._field.strips is not None:
            least = self._field.strips.least
            keep &= missing >= np.where(holds, least[held_by], int(least.min()))
        for guide, price in enumerate(self._field.prices):
            bound = price * missing + max(tails[guide], NOTHING_KNOWN)
            if to_come is not None:
                bound = bound + np.where(holds, self._field.strip_bound[guide][held_by], to_come[guide])
            else:
                bound = np.maximum(bound, 0)
            keep &= states.costs[guide] + bound <= self._budgets[guide]
        return states if keep.all() else states.at(keep)

    def _reduced(self, states: States) -> States:
        """The states worth carrying on, or where they are too many or the work is spent, those that promise most."""
        states = cheapest_of_equals(states, self._effort.count)
        most = self._effort.longest()
        if len(states) <= most:
            return states
        self._effort.complete = False
        promise = states.costs[0] - self._field.prices[0] * states.width
        return states.at(np.sort(np.argpartition(promise, most)[:most]))

    def _hold_carried(self, states: States, best: Best) -> None:
        """Holds the cheapest covers whose free strip was carried along."""
        strips = self._field.strips
        if strips is None or not self._carried:
            return
        states = states.at(states.strip != NO_STRIP)
        widths = self._field.target - states.width
        fits = (widths >= strips.least[states.strip]) & (widths <= strips.most[states.strip])
        states, widths = states.at(fits), widths[fits]
        total = states.costs[0] + strips.cost_at(states.strip, widths)[0]
        order = np.lexsort((total, states.pieces))
        order = order[firsts(states.pieces[order])]
        for each in order[np.argsort(total[order], kind="stable")][: self._effort.count].tolist():
            best.hold(Found(int(total[each]), self._way_to(states, each), int(widths[each])))

    def _hold_late(self, states: States, best: Best) -> set[int]:
        """Holds the cheapest covers to which a free strip is added now; the kinds whose strips need to be carried.

        Those are wanted by a cover that has all their pieces already, and would be among the best.
        """
        kinds = [index for index, kind in enumerate(self._field.kinds) if len(kind.free) and index not in self._carried]
        states = states.at(states.strip == NO_STRIP)
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
                found = Found(cost, (int(late.steps[strip]), *self._way_to(some, place)), width)
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

    def _way_to(self, states: States, place: int) -> tuple[int, ...]:
        return tuple(self._trail.steps_to(int(states.node[place])))
