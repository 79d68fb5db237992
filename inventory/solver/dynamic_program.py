"""A list of partial covers that grows by one kind of pieces after another, within budgets.

Knows the layers of a kind (none of its pieces taken, one, two, …), the bounds that cut the list, and pools of
kinds of which few pieces go together. Knows nothing of the order of kinds, nor when a cover is complete.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inventory.solver.core_problem import Effort, Field, Kind
from inventory.solver.lagrangian import NOTHING_KNOWN
from inventory.solver.problem import Ints
from inventory.solver.states import NO_STRIP, States, Tally, Trail, cheapest_of_equals, joined, start, unbeaten

FEW, MOST_TOGETHER = 4, 200_000
"""Of a pool at most so many pieces are taken together, and at most so many combinations are looked at at once."""


@dataclass(frozen=True)
class Ahead:
    """By guide: what the other kinds not yet decided at best save, and what the best free strip still to come costs.

    `strip` is empty where none is wanted; `strip_after` is the same once the next kind is decided.
    """

    saved: Sequence[int]
    strip: Sequence[int] = ()
    strip_after: Sequence[int] = ()


@dataclass(frozen=True)
class _Options:
    """Ways to take one piece: what it adds, its costs by guide, the step, which piece it is, its free strip if any."""

    adds: Ints
    costs: tuple[Ints, ...]
    steps: Ints
    pieces: Ints
    strips: Ints | None = None


class Growing:
    """Partial covers whose sum need only reach the target, or must be met exactly."""

    def __init__(self, field: Field, budgets: tuple[int, ...], effort: Effort, *, exact: bool) -> None:
        self._field = field
        self._budgets = budgets
        self._effort = effort
        self._exact = exact
        self._guides = range(len(field.prices))
        self._trail = Trail()
        self._tally = Tally()
        self.states = start(len(field.prices))

    def __len__(self) -> int:
        return len(self.states)

    def way_to(self, node: int) -> tuple[int, ...]:
        """The steps that lead to a node of the list, last first."""
        return tuple(self._trail.steps_to(node))

    def take(self, kind: Kind, ahead: Ahead, *, carried: bool = False) -> None:
        """Decides one more kind; `carried` says that its free strips are taken too."""
        self.states, piece = self._tally.make_room(self.states, kind.copies)
        options = [_Options(kind.adds, kind.costs, kind.steps, np.full(len(kind.adds), piece, dtype=np.int64))]
        if carried:
            nothing = tuple(np.zeros(len(kind.free), dtype=np.int64) for _ in self._guides)
            pieces = np.full(len(kind.free), piece, dtype=np.int64)
            options.append(_Options(kind.free_adds, nothing, kind.free_steps, pieces, kind.free))
        several = sum(len(each.adds) for each in options) > 1
        layers = [self.states]
        for copy in range(1, kind.copies + 1):
            if self._effort.spent and copy > 1:
                # What is spent is spent: the layers there are must do.
                self._effort.complete = False
                break
            saved = [ahead.saved[guide] + kind.saved(guide, copy) for guide in self._guides]
            layer = joined([self._one_more(layers[-1], each, saved, ahead.strip) for each in options])
            if not len(layer):
                break
            # One choice alone leaves a list as unbeaten as it was, and the last layer is reduced with all others.
            layers.append(self._noted(self._reduced(layer) if several and copy < kind.copies else layer))
        if any(least < 0 for least in kind.least_reduced):
            # What the kind would have saved is gone for those that did not take all of it.
            layers = [*(self._within(layer, ahead) for layer in layers[:-1]), layers[-1]]
        self.states = layers[0] if len(layers) == 1 else self._reduced(joined(layers))

    def take_few_of(self, pool: Sequence[Kind], most: int, ahead: Ahead) -> None:
        """Decides kinds that save nothing, of which at most so many pieces go together within the budgets."""
        owner = np.repeat(np.arange(1, len(pool) + 1), [len(kind.adds) for kind in pool])
        copies = np.repeat([kind.copies for kind in pool], [len(kind.adds) for kind in pool])
        options = _Options(
            np.concatenate([kind.adds for kind in pool]),
            tuple(np.concatenate([kind.costs[guide] for kind in pool]) for guide in self._guides),
            np.concatenate([kind.steps for kind in pool]),
            np.zeros(len(owner), dtype=np.int64),
        )
        # Kinds are taken in order, so that a number with a digit for each piece tells which pieces were taken.
        radix = len(pool) + 1
        states, piece = self._tally.make_room(self.states, radix**most - 1)
        layers, before = [states], states.pieces
        number, last, run = (np.zeros(len(states), dtype=np.int64) for _ in range(3))
        for _ in range(most):
            again = (owner == owner[last][:, None]) & (run[:, None] > 0)
            allowed = self._affordable(layers[-1], options, ahead.saved, ahead.strip)
            allowed &= (np.arange(len(owner)) >= last[:, None]) & (~again | (run[:, None] < copies))
            row, column = np.nonzero(allowed)
            if not len(row):
                break
            before, number = before[row], number[row] * radix + owner[column]
            run = np.where(again[row, column], run[row], 0) + 1
            last = column
            grown = self._grown(layers[-1], options, row, column)
            layers.append(self._noted(replace(grown, pieces=before + number * piece)))
        self.states = self._reduced(joined(layers))

    def _one_more(self, states: States, options: _Options, saved: Sequence[int], strip: Sequence[int]) -> States:
        """Every state with every option, where a cover within the budgets can still be reached."""
        if self._effort.count == 1 and not self._exact:
            # Only among several covers can one with a piece to spare be wanted.
            states = states.at(states.width < self._field.target)
        return self._grown(states, options, *np.nonzero(self._affordable(states, options, saved, strip)))

    def _grown(self, states: States, options: _Options, row: NDArray[np.intp], column: NDArray[np.intp]) -> States:
        """These states with these options. `node` holds parent and step in one number until they are noted."""
        width = states.width[row] + options.adds[column]
        return States(
            width if self._exact else np.minimum(width, self._field.target),
            tuple(have[row] + more[column] for have, more in zip(states.costs, options.costs, strict=True)),
            states.strip[row] if options.strips is None else options.strips[column],
            states.pieces[row] + options.pieces[column],
            (states.node[row] + 1) * len(self._field.owners) + options.steps[column],
        )

    def _noted(self, grown: States) -> States:
        """What has grown, each with a node of its own."""
        parents, steps = np.divmod(grown.node, len(self._field.owners))
        return replace(grown, node=self._trail.grow(parents - 1, steps))

    def _affordable(
        self, states: States, options: _Options, saved: Sequence[int], strip: Sequence[int]
    ) -> NDArray[np.bool_]:
        """By state and option: whether a cover within the budgets can still be reached."""
        target, strips = self._field.target, self._field.strips
        self._effort.left -= len(states) * len(options.adds)
        allowed = np.ones((len(states), len(options.adds)), dtype=np.bool_)
        adds = options.adds if self._exact else np.minimum(options.adds, target)
        holds, held = _strips_of(states) if strip else (None, None)
        if self._exact:
            needs, room = adds, target - states.width
            if strips is not None and options.strips is not None:
                needs = adds + strips.least[options.strips]
                allowed &= states.strip[:, None] == NO_STRIP
            elif strips is not None and holds is not None:
                room = room - np.where(holds, strips.least[held], int(strips.least.min()))
            allowed &= needs <= room[:, None]
        for guide, price in enumerate(self._field.prices):
            # What a sum costs more than its width is worth: together with what is to come, within the budget.
            left = self._budgets[guide] - price * target - max(saved[guide], NOTHING_KNOWN)
            own, more = states.costs[guide] - price * states.width, options.costs[guide] - price * adds
            if options.strips is not None:
                more = more + self._field.strip_bound[guide][options.strips]
            elif holds is not None:
                own = own + np.where(holds, self._field.strip_bound[guide][held], strip[guide])
            allowed &= own[:, None] + more <= left
        return allowed

    def _within(self, states: States, ahead: Ahead) -> States:
        """Without the states from which no cover within the budgets can be reached, once the next kind is decided."""
        missing, strips = self._field.target - states.width, self._field.strips
        holds, held = _strips_of(states)
        keep = np.ones(len(states), dtype=np.bool_)
        if ahead.strip_after and strips is not None:
            keep &= missing >= np.where(holds, strips.least[held], int(strips.least.min()))
        for guide, price in enumerate(self._field.prices):
            bound = price * missing + max(ahead.saved[guide], NOTHING_KNOWN)
            if ahead.strip_after:
                bound = bound + np.where(holds, self._field.strip_bound[guide][held], ahead.strip_after[guide])
            else:
                bound = np.maximum(bound, 0)
            keep &= states.costs[guide] + bound <= self._budgets[guide]
        return states if keep.all() else states.at(keep)

    def _reduced(self, states: States) -> States:
        """The states worth carrying on; where they are too many or the work is spent, those that promise most."""
        count, most = self._effort.count, self._effort.longest()
        states = cheapest_of_equals(states, count) if self._exact else states.at(unbeaten(states, count))
        if len(states) <= most:
            return states
        self._effort.complete = False
        promise = states.costs[0] - self._field.prices[0] * states.width
        return states.at(np.sort(np.argpartition(promise, most)[:most]))


def _strips_of(states: States) -> tuple[NDArray[np.bool_], Ints]:
    """Whether each state holds a free strip, and which, 0 for none."""
    return states.strip != NO_STRIP, np.maximum(states.strip, 0)


def few_at_once(field: Field, kinds: Sequence[int], spare: Sequence[int]) -> tuple[list[int], int]:
    """Of these kinds those of which few pieces go together, and how few.

    `spare` is by guide what a cover may cost beyond the least imaginable: so many pieces and
    one more, each of which costs more than its share of that, do not go together.
    """
    best: tuple[list[int], int] = ([], 0)
    for most in range(1, FEW + 1):
        for guide, left in enumerate(spare):
            pool = [each for each in kinds if (most + 1) * field.kinds[each].least_reduced[guide] > max(left, 0)]
            choices = sum(len(field.kinds[each].adds) for each in pool)
            if len(pool) > len(best[0]) and choices**most <= MOST_TOGETHER:
                best = pool, most
    return best
