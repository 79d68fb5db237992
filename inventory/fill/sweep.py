"""One exact sweep over the kinds of pieces: the cheapest cover within a region.

Method: a dynamic programme over a list of undominated partial sums (for sums that
must be met exactly: of distinct sums), cut short by guides. Exact for every grid,
since sums are whole nanometres in a list, not cells in a table. Cost: number of
kinds times the length of the list, which the guides keep to some hundred states on
real racks; in the worst case the list grows with the number of distinct sums.
Limit: above MOST_STATES the list is cut and the answer no longer called proven.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from inventory.fill.states import NO_STRIP, States, Trail, cheapest_of_equals, joined, none, start, undominated
from inventory.fill.task import FreeStrips, Ints

MOST_STATES = 400_000
NO_STRIP_LEFT = 1 << 61
"""Stands for the cost of a free strip where no kind is left to give one; costs stay below 2^60."""


@dataclass(frozen=True)
class Kind:
    """Pieces that are alike in every respect, their choices, and their free strips.

    `costs` holds one array a guide, by choice; `free` are
    indices of free strips, `free_reduced` one array a guide by those. `steps` number the choices.
    """

    row: int
    copies: int
    adds: Ints
    costs: tuple[Ints, ...]
    least_reduced: tuple[int, ...]
    steps: Ints
    free: Ints
    free_adds: Ints
    free_reduced: tuple[Ints, ...]
    free_steps: Ints


@dataclass(frozen=True)
class Region:
    """Which covers are sought: how many pieces of some kinds, and whether one of another kind must be in it."""

    limits: dict[int, tuple[int, int]] = field(default_factory=dict)
    beyond: frozenset[int] | None = None
    """If given, at least one piece of a kind outside this set is taken."""


@dataclass(frozen=True)
class Field:
    """All that a sweep needs to know: the kinds in order, the target, prices and free strips."""

    target: int
    kinds: tuple[Kind, ...]
    prices: tuple[int, ...]
    strips: FreeStrips | None
    """Priced by the guides: `cost_at` gives the first guide's cost first."""
    strip_bound: tuple[Ints, ...]
    """By guide and free strip: a lower bound of cost − price·width."""


class Sweep:
    """The cheapest cover of one region; `complete` is False if the list had to be cut."""

    def __init__(self, field_: Field, region: Region, budgets: tuple[int, ...], most_states: int = MOST_STATES) -> None:
        self.field = field_
        self.region = region
        self.budgets = budgets
        self.most_states = most_states
        self.complete = True
        self.trail = Trail()
        self._step_count = sum(len(kind.steps) + len(kind.free_steps) for kind in field_.kinds) + 1
        self._limits = [region.limits.get(i, (0, kind.copies)) for i, kind in enumerate(field_.kinds)]
        self._tails = [self._tails_of(guide) for guide in range(len(field_.prices))]
        self._gains = [self._gains_of(guide) for guide in range(len(field_.prices))]

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
                    if len(kind.free):
                        # The gain may be this kind's own strip, which is then what is taken of it.
                        dearer = 0
                passed |= floor + dearer > self.budgets[guide]
            idle.append(passed and self._limits[index][0] == 0)
        return idle

    def _saves(self, kind: int, guide: int, already: int) -> int:
        """What this kind at best saves, with `already` of its pieces taken."""
        least, (low, high) = self.field.kinds[kind].least_reduced[guide], self._limits[kind]
        return least * max(low - already, 0) + min(least, 0) * (high - max(low, already))

    def _tails_of(self, guide: int) -> list[int]:
        """By kind: what all kinds from there on at best save."""
        tails = [0]
        for kind in reversed(range(len(self.field.kinds))):
            tails.append(tails[-1] + self._saves(kind, guide, 0))
        return tails[::-1]

    def _gains_of(self, guide: int) -> list[int]:
        """By kind: what the best free strip of it or of a later kind costs beyond its piece's own choice."""
        gains = [NO_STRIP_LEFT]
        for kind, (low, _) in zip(reversed(self.field.kinds), reversed(self._limits), strict=True):
            here = NO_STRIP_LEFT
            if len(kind.free):
                least = kind.least_reduced[guide]
                here = int(kind.free_reduced[guide].min()) - (least if low else min(least, 0))
            gains.append(min(gains[-1], here))
        return gains[::-1]

    def cheapest(self) -> tuple[int, list[int], int] | None:
        """Cost by the first guide, steps and the free strip's width (0 for none) of the cheapest cover."""
        guides = len(self.field.prices)
        apart = self.region.beyond is not None
        plain, strips = (start(guides), none(guides)), (start(guides), none(guides))
        free = self.field.strips is not None and len(self.field.strips) > 0
        idle, idle_exact = self._idle(exact=False), self._idle(exact=True)
        for index in range(len(self.field.kinds)):
            outside = apart and index not in (self.region.beyond or ())
            if not idle[index]:
                plain = self._advance(plain, index, outside, exact=False)
            if free and not idle_exact[index]:
                strips = self._advance(strips, index, outside, exact=True)
        wanted = 1 if apart else 0
        best = self._best_plain(plain[wanted])
        if free:
            closed = self._best_closed(strips[wanted])
            if closed is not None and (best is None or closed[0] < best[0]):
                best = closed
        if best is None:
            return None
        cost, node, width = best
        return cost, self.trail.steps_to(node), width

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
        return first, self._reduced(joined(parts), exact) if parts else none(len(self.field.prices))

    def _take(self, states: States, index: int, low: int, high: int, exact: bool) -> States:
        """These states with `low` to `high` pieces of the kind taken."""
        if not len(states):
            return states
        layers = [states]
        for copy in range(1, high + 1):
            layer = self._with_one_more(layers[-1], index, copy, copy <= low, exact)
            if not len(layer):
                break
            layers.append(layer)
        wanted = [layer for copy, layer in enumerate(layers) if copy >= low and len(layer)]
        if not wanted:
            return none(len(self.field.prices))
        together = self._affordable(joined(wanted), index, high, exact, decided=True)
        return self._reduced(together, exact) if len(wanted) > 1 else together

    def _with_one_more(self, states: States, index: int, copy: int, must: bool, exact: bool) -> States:
        kind = self.field.kinds[index]
        if not exact and not must:
            states = states.at(states.width < self.field.target)
        if not len(states):
            return states
        parts = [self._grown(states, kind.adds, kind.costs, kind.steps)]
        if exact and len(kind.free):
            ready = states.at(states.strip == NO_STRIP)
            if len(ready):
                nothing = tuple(np.zeros(len(kind.free), dtype=np.int64) for _ in self.field.prices)
                parts.append(self._grown(ready, kind.free_adds, nothing, kind.free_steps, kind.free))
        grown = joined(parts)
        if not exact:
            grown = States(np.minimum(grown.width, self.field.target), grown.costs, grown.strip, grown.node)
        grown = self._reduced(self._affordable(grown, index, copy, exact), exact)
        if not len(grown):
            return grown
        # A fresh node only for what is kept; until here `node` held parent and step in one number.
        parents, steps = np.divmod(grown.node, self._step_count)
        return States(grown.width, grown.costs, grown.strip, self.trail.grow(parents - 1, steps))

    def _grown(
        self, states: States, adds: Ints, costs: tuple[Ints, ...], steps: Ints, strip: Ints | None = None
    ) -> States:
        """Every state with every choice."""
        shape = (len(states), len(adds))
        return States(
            (states.width[:, None] + adds).ravel(),
            tuple((have[:, None] + more).ravel() for have, more in zip(states.costs, costs, strict=True)),
            np.broadcast_to(states.strip[:, None] if strip is None else strip, shape).ravel(),
            ((states.node[:, None] + 1) * self._step_count + steps).ravel(),
        )

    def _affordable(self, states: States, index: int, taken: int, exact: bool, *, decided: bool = False) -> States:
        """Without the states from which no cover within the budget can be reached."""
        keep = np.ones(len(states), dtype=np.bool_)
        missing = self.field.target - states.width
        high = self._limits[index][1]
        holds = states.strip != NO_STRIP
        held_by = np.maximum(states.strip, 0)
        if exact and self.field.strips is not None:
            least = self.field.strips.least
            keep &= missing >= np.where(holds, least[held_by], int(least.min()))
        for guide, price in enumerate(self.field.prices):
            tail = self._tails[guide][index + 1]
            if taken < high:
                tail += self._saves(index, guide, taken)
            bound = price * missing + tail
            if exact:
                to_come = self._gains[guide][index + decided]
                bound = bound + np.where(holds, self.field.strip_bound[guide][held_by], to_come)
            else:
                bound = np.maximum(bound, 0)
            keep &= states.costs[guide] + bound <= self.budgets[guide]
        return states if keep.all() else states.at(keep)

    def _reduced(self, states: States, exact: bool) -> States:
        return self._cut(cheapest_of_equals(states) if exact else undominated(states))

    def _cut(self, states: States) -> States:
        if len(states) <= self.most_states:
            return states
        self.complete = False
        promise = states.costs[0] - self.field.prices[0] * states.width
        return states.at(np.sort(np.argpartition(promise, self.most_states)[: self.most_states]))

    def _best_plain(self, states: States) -> tuple[int, int, int] | None:
        full = states.at((states.width >= self.field.target) & (states.costs[0] <= self.budgets[0]))
        if not len(full):
            return None
        best = int(np.argmin(full.costs[0]))
        return int(full.costs[0][best]), int(full.node[best]), 0

    def _best_closed(self, states: States) -> tuple[int, int, int] | None:
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
        return int(total[best]), int(states.node[best]), int(widths[best])
