"""The cheapest cover within a region, strips of free width and strips that are counted among them.

A sum that need only reach the target is swept from both ends (`inventory.fill.both_ends`).
One that must be met exactly, because its last strip is cut to what is missing or because
strips are counted, is swept here. Method: a dynamic programme over a list of distinct
partial sums, cut short by guides. Exact for every grid, since sums are whole
nanometres in a list, not cells in a table. Cost: number of kinds times the length of the
list, which the guides keep to some hundred states on real racks; in the worst case the
list grows with the number of distinct sums. Limit: above MOST_STATES the list is cut and
the answer no longer called proven.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from inventory.fill.both_ends import BothEnds
from inventory.fill.guides import NOTHING_KNOWN
from inventory.fill.kinds import FEW_STATES, MOST_STATES, Field, Region, Work, saved
from inventory.fill.states import NO_STRIP, States, Trail, cheapest_of_equals, joined, none, start
from inventory.fill.task import Ints

NO_STRIP_LEFT = 1 << 61
"""Stands for the cost of a free strip where no kind is left to give one; costs stay below 2^60."""
PAIRS_AT_ONCE = 1 << 20


class Sweep:
    """The cheapest cover of one region; `complete` is False if the list had to be cut."""

    def __init__(
        self,
        field_: Field,
        region: Region,
        budgets: tuple[int, ...],
        most_states: int = MOST_STATES,
        work: Work | None = None,
    ) -> None:
        self.work = work or Work()
        self.field = field_
        self.region = region
        self.budgets = budgets
        self.most_states = most_states
        self.complete = True
        self.trail = Trail()
        self._limits = [region.limits.get(i, (0, kind.copies)) for i, kind in enumerate(field_.kinds)]
        # Kinds whose free strips are taken along from state to state; those of all others are added at the end.
        self._carried = {index for index, (low, _) in enumerate(self._limits) if low}
        self._gains: list[list[int]] = []

    @cached_property
    def _step_count(self) -> int:
        return 1 + sum(len(kind.steps) + len(kind.free_steps) for kind in self.field.kinds)

    @cached_property
    def _tails(self) -> list[list[int]]:
        return [self._tails_of(guide) for guide in range(len(self.field.prices))]

    def _idle(self, *, exact: bool) -> list[bool]:
        """By kind: whether taking any piece of it leads past a budget, so that the sweep can pass it by."""
        idle = []
        for index, kind in enumerate(self.field.kinds):
            passed = False
            for guide, price in enumerate(self.field.prices):
                floor = price * self.field.target + self._tails[guide][0]
                dearer = max(kind.least_reduced[guide], 0)
                if exact:
                    floor += self._gains[guide][0]
                    if len(kind.free) and index in self._carried:
                        # The gain may be this kind's own strip, which is then what is taken of it.
                        dearer = 0
                passed |= floor + dearer > self.budgets[guide]
            idle.append(passed and self._limits[index][0] == 0)
        return idle

    def _saves(self, kind: int, guide: int, already: int) -> int:
        """What this kind at best saves, with `already` of its pieces taken."""
        return saved(self.field.kinds[kind], guide, *self._limits[kind], already)

    def _tails_of(self, guide: int) -> list[int]:
        """By kind: what all kinds from there on at best save."""
        tails = [0]
        for kind in reversed(range(len(self.field.kinds))):
            tails.append(tails[-1] + self._saves(kind, guide, 0))
        return tails[::-1]

    def _gains_of(self, guide: int) -> list[int]:
        """By kind: what the best free strip that can still come costs beyond its piece's own choice.

        Strips of kinds already decided can come too, unless those are carried: for them
        nothing is saved any more.
        """
        later = [NO_STRIP_LEFT]
        for kind, (low, high) in zip(reversed(self.field.kinds), reversed(self._limits), strict=True):
            here = NO_STRIP_LEFT
            if len(kind.free) and high:
                least = kind.least_reduced[guide]
                here = int(kind.free_reduced[guide].min()) - (least if low else min(least, 0))
            later.append(min(later[-1], here))
        gains = later[::-1]
        earlier = NO_STRIP_LEFT
        for index, kind in enumerate(self.field.kinds):
            gains[index] = min(gains[index], earlier)
            if len(kind.free) and self._limits[index][1] and index not in self._carried:
                earlier = min(earlier, int(kind.free_reduced[guide].min()))
        gains[-1] = earlier
        return gains

    def cheapest(self) -> tuple[int, list[int], int] | None:
        """Cost by the first guide, steps and the free strip's width (0 for none) of the cheapest cover."""
        best = self._cheapest_met() if self.field.meet else self._cheapest_wide_enough()
        if self.field.strips is not None and len(self.field.strips):
            if best is not None:
                self.budgets = (min(self.budgets[0], best[0] - 1), *self.budgets[1:])
            best = self._cheapest_closed() or best
        return best

    def _cheapest_wide_enough(self) -> tuple[int, list[int], int] | None:
        both = BothEnds(self.field, self.region, self.budgets, self.most_states, self.work)
        best = both.cheapest()
        self.complete &= both.complete
        return None if best is None else (*best, 0)

    def _cheapest_met(self) -> tuple[int, list[int], int] | None:
        """The cheapest cover of strips that are counted, without a free one."""
        lists = self._swept(exact=False)
        states = lists[1 if self.region.beyond is not None else 0]
        full = states.at((states.width == self.field.target) & (states.costs[0] <= self.budgets[0]))
        if not len(full):
            return None
        best = int(np.argmin(full.costs[0]))
        return int(full.costs[0][best]), self.trail.steps_to(int(full.node[best])), 0

    def _swept(self, *, exact: bool) -> tuple[States, States]:
        """All kinds decided: the covers without and with a piece beyond the region's set."""
        if exact:
            self._gains = [self._gains_of(guide) for guide in range(len(self.field.prices))]
        guides = len(self.field.prices)
        idle = self._idle(exact=exact)
        lone = self._lone(idle, exact=exact)
        lists = self._one_of(lone, exact=exact) if lone else (start(guides), none(guides))
        for index in range(len(self.field.kinds)):
            if not idle[index] and index not in lone:
                lists = self._advance(lists, index, self._is_beyond(index), exact=exact)
        return lists

    def _is_beyond(self, index: int) -> bool:
        return self.region.beyond is not None and index not in self.region.beyond

    def _lone(self, idle: list[bool], *, exact: bool) -> set[int]:
        """Kinds of which any two pieces together are beyond one and the same budget, but for a free strip."""
        most: set[int] = set()
        for guide, price in enumerate(self.field.prices):
            spare = self.budgets[guide] - price * self.field.target - self._tails[guide][0]
            if exact:
                spare -= self._gains[guide][0]
            lone = {
                index
                for index, (kind, (low, high)) in enumerate(zip(self.field.kinds, self._limits, strict=True))
                if high and not low and not idle[index] and index not in self._carried
                if len(kind.steps) and 2 * kind.least_reduced[guide] > spare
            }
            most = max(most, lone, key=len)
        return most

    def _one_of(self, lone: set[int], *, exact: bool) -> tuple[States, States]:
        """Both lists at the start, with one piece or none of all these kinds."""
        guides = range(len(self.field.prices))
        nothing, lists = start(len(guides)), []
        for outside in (False, True):
            kinds = [self.field.kinds[index] for index in sorted(lone) if self._is_beyond(index) is outside]
            if not kinds:
                lists.append(none(len(guides)))
                continue
            grown = self._grown(
                nothing,
                np.concatenate([kind.adds for kind in kinds]),
                tuple(np.concatenate([kind.costs[guide] for kind in kinds]) for guide in guides),
                np.concatenate([kind.steps for kind in kinds]),
            )
            to_come = [self._gains[guide][0] for guide in guides] if exact else None
            lists.append(self._kept(self._within(grown, [self._tails[guide][0] for guide in guides], to_come)))
        inside, beyond = lists
        return (self._reduced(joined([nothing, inside])) if len(inside) else nothing), beyond

    def _cheapest_closed(self) -> tuple[int, list[int], int] | None:
        """The cheapest cover with a free strip.

        A strip added at the end may want a piece that its cover has already taken. Then its
        kind is carried and the sweep is done again, until the cheapest one is sound.
        """
        while True:
            without, beyond = self._swept(exact=True)
            carried = self._best_closed(without if self.region.beyond is None else beyond)
            late = self._best_late(without, beyond)
            if late is None or (carried is not None and carried[0] <= late[0]):
                return carried
            cost, steps, width, index = late
            own = [step for step in steps if step in self._steps_of(index)]
            if len(own) <= self._limits[index][1]:
                return cost, steps, width
            if self.work.left <= 0:
                self.complete = False
                return carried
            self._carried.add(index)

    def _steps_of(self, index: int) -> range:
        kind = self.field.kinds[index]
        first = int(kind.steps[0]) if len(kind.steps) else int(kind.free_steps[0])
        return range(first, first + len(kind.steps) + len(kind.free_steps))

    def _best_late(self, without: States, beyond: States) -> tuple[int, list[int], int, int] | None:
        """The cheapest cover to which a free strip is added now: cost, steps, the strip's width, its kind."""
        kinds = [
            index
            for index, kind in enumerate(self.field.kinds)
            if len(kind.free) and self._limits[index][1] and index not in self._carried
        ]
        if self.region.beyond is None:
            return self._best_pair(without, kinds)
        pairs = [
            self._best_pair(beyond, kinds),
            self._best_pair(without, [index for index in kinds if index not in (self.region.beyond or ())]),
        ]
        return min((pair for pair in pairs if pair is not None), default=None, key=lambda pair: pair[0])

    def _best_pair(self, states: States, kinds: list[int]) -> tuple[int, list[int], int, int] | None:
        strips = self.field.strips
        states = states.at(states.strip == NO_STRIP)
        if strips is None or not kinds or not len(states):
            return None
        free = np.concatenate([self.field.kinds[index].free for index in kinds])
        owner = np.repeat(kinds, [len(self.field.kinds[index].free) for index in kinds])
        steps = np.concatenate([self.field.kinds[index].free_steps for index in kinds])
        best: tuple[int, int, int, int] | None = None
        at_once = max(PAIRS_AT_ONCE // len(free), 1)
        for first in range(0, len(states), at_once):
            some = states.at(np.arange(first, min(first + at_once, len(states))))
            self.work.left -= len(some) * len(free)
            missing = self.field.target - some.width
            widths = missing[:, None] - strips.adds[free]
            fits = (widths >= strips.least[free]) & (widths <= strips.most[free])
            for guide, price in enumerate(self.field.prices):
                promise = some.costs[guide] + price * missing
                bound = self.field.strip_bound[guide][free] - price * strips.adds[free]
                fits &= promise[:, None] + bound <= self.budgets[guide]
            row, column = np.nonzero(fits)
            if not len(row):
                continue
            total = some.costs[0][row] + strips.cost_at(free[column], widths[row, column])[0]
            place = int(np.argmin(total))
            if int(total[place]) <= self.budgets[0] and (best is None or int(total[place]) < best[0]):
                where = int(column[place])
                best = (int(total[place]), int(some.node[row[place]]), int(widths[row[place], where]), where)
        if best is None:
            return None
        cost, node, width, where = best
        return cost, [int(steps[where]), *self.trail.steps_to(node)], width, int(owner[where])

    def _advance(
        self, lists: tuple[States, States], index: int, outside: bool, *, exact: bool
    ) -> tuple[States, States]:
        """Both lists (no piece beyond yet, one beyond) with this kind decided."""
        without, beyond = lists
        low, high = self._limits[index]
        if not outside:
            return self._take(without, index, low, high, exact), self._take(beyond, index, low, high, exact)
        parts = [part for part in (self._take(beyond, index, low, high, exact),) if len(part)]
        if high >= 1:
            parts.append(self._take(without, index, max(low, 1), high, exact))
        first = self._take(without, index, 0, 0, exact) if low == 0 else none(len(self.field.prices))
        return first, self._reduced(joined(parts)) if parts else none(len(self.field.prices))

    def _take(self, states: States, index: int, low: int, high: int, exact: bool) -> States:
        """These states with `low` to `high` pieces of the kind taken."""
        if not len(states):
            return states
        layers = [states]
        for copy in range(1, high + 1):
            if self.work.left <= 0 and copy > max(low, 1):
                # The work is spent: the layers there are must do.
                self.complete = False
                break
            layer = self._with_one_more(layers[-1], index, copy, copy <= low, exact)
            if not len(layer):
                break
            layers.append(layer)
        wanted = [layer for copy, layer in enumerate(layers) if copy >= low and len(layer)]
        if not wanted:
            return none(len(self.field.prices))
        together = joined(wanted)
        if min(self.field.kinds[index].least_reduced) < 0:
            # What the kind would have saved is gone for those that did not take it.
            together = self._affordable(together, index, high, exact, decided=True)
        return self._reduced(together) if len(layers) > 1 else together

    def _with_one_more(self, states: States, index: int, copy: int, must: bool, exact: bool) -> States:
        kind = self.field.kinds[index]
        if not exact and not must:
            states = states.at(states.width < self.field.target)
        if not len(states):
            return states
        parts = [self._grown(states, kind.adds, kind.costs, kind.steps)]
        if exact and len(kind.free) and index in self._carried:
            ready = states.at(states.strip == NO_STRIP)
            if len(ready):
                nothing = tuple(np.zeros(len(kind.free), dtype=np.int64) for _ in self.field.prices)
                parts.append(self._grown(ready, kind.free_adds, nothing, kind.free_steps, kind.free))
        grown = self._affordable(joined(parts), index, copy, exact)
        return self._kept(self._reduced(grown) if copy < self._limits[index][1] else grown)

    def _kept(self, grown: States) -> States:
        """What has grown, each with a node of its own; without what is too wide where the target must be met."""
        if self.field.meet:
            grown = grown.at(grown.width <= self.field.target)
        # A fresh node only for what is kept; until here `node` held parent and step in one number.
        parents, steps = np.divmod(grown.node, self._step_count)
        return States(grown.width, grown.costs, grown.strip, self.trail.grow(parents - 1, steps))

    def _grown(
        self, states: States, adds: Ints, costs: tuple[Ints, ...], steps: Ints, strip: Ints | None = None
    ) -> States:
        """Every state with every choice."""
        shape = (len(states), len(adds))
        self.work.left -= len(states) * len(adds)
        return States(
            (states.width[:, None] + adds).ravel(),
            tuple((have[:, None] + more).ravel() for have, more in zip(states.costs, costs, strict=True)),
            np.broadcast_to(states.strip[:, None] if strip is None else strip, shape).ravel(),
            ((states.node[:, None] + 1) * self._step_count + steps).ravel(),
        )

    def _affordable(self, states: States, index: int, taken: int, exact: bool, *, decided: bool = False) -> States:
        """Without the states from which no cover within the budget can be reached."""
        guides = range(len(self.field.prices))
        more = taken < self._limits[index][1]
        tails = [self._tails[guide][index + 1] + (self._saves(index, guide, taken) if more else 0) for guide in guides]
        return self._within(states, tails, [self._gains[guide][index + decided] for guide in guides] if exact else None)

    def _within(self, states: States, tails: list[int], to_come: list[int] | None) -> States:
        """The same, where the kinds still to come save `tails` at best, a free strip `to_come` if one is wanted."""
        keep = np.ones(len(states), dtype=np.bool_)
        missing = self.field.target - states.width
        holds = states.strip != NO_STRIP
        held_by = np.maximum(states.strip, 0)
        if to_come is not None and self.field.strips is not None:
            least = self.field.strips.least
            keep &= missing >= np.where(holds, least[held_by], int(least.min()))
        for guide, price in enumerate(self.field.prices):
            bound = price * missing + max(tails[guide], NOTHING_KNOWN)
            if to_come is not None:
                bound = bound + np.where(holds, self.field.strip_bound[guide][held_by], to_come[guide])
            else:
                bound = np.maximum(bound, 0)
            keep &= states.costs[guide] + bound <= self.budgets[guide]
        return states if keep.all() else states.at(keep)

    def _reduced(self, states: States) -> States:
        return self._cut(cheapest_of_equals(states))

    def _cut(self, states: States) -> States:
        """The states, or where they are too many or the work is spent, those that promise most."""
        most = self.most_states if self.work.left > 0 else min(self.most_states, FEW_STATES)
        if len(states) <= most:
            return states
        self.complete = False
        promise = states.costs[0] - self.field.prices[0] * states.width
        return states.at(np.sort(np.argpartition(promise, most)[:most]))

    def _best_closed(self, states: States) -> tuple[int, list[int], int] | None:
        """The cheapest cover whose free strip was carried along."""
        strips = self.field.strips
        if strips is None:
            return None
        states = states.at(states.strip != NO_STRIP)
        widths = self.field.target - states.width
        fits = (widths >= strips.least[states.strip]) & (widths <= strips.most[states.strip])
        states, widths = states.at(fits), widths[fits]
        if not len(states):
            return None
        total = states.costs[0] + strips.cost_at(states.strip, widths)[0]
        best = int(np.argmin(total))
        if int(total[best]) > self.budgets[0]:
            return None
        return int(total[best]), self.trail.steps_to(int(states.node[best])), int(widths[best])
