"""Good covers near the one that a price alone would choose: a tighter budget before anything is swept.

Method: at a guide's price some choices pay for themselves. Those taken together nearly
fill the target; whatever is taken otherwise, up to three changes at once, is tried: the two
changes that cost least by the price are paired in every way, and the third one is the
cheapest that makes the rest wide enough, or a strip of free width that makes it exact.
Nothing rests on what is found but the time that the search takes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.solver.problem import Choices, Cover, FreeStrips, Ints, Pick, Task, starts_of

PAIRED = 48
"""So many changes are paired with each other."""
PAIRS_WITH_STRIPS = 6_000
"""So many pairs are tried with a free strip, times the free strips."""
SOME_MORE = 4
"""So many times the covers wanted are looked at for some that differ."""
NOWHERE = -1


@dataclass(frozen=True)
class _Changes:
    """What a change adds and costs; its row, NOWHERE for none at all; what is then taken, 0 for nothing; by price."""

    row: Ints
    take: Ints
    adds: Ints
    first: Ints
    second: Ints
    cost: Ints
    excess: Ints

    def at(self, index: NDArray[np.intp]) -> _Changes:
        return _Changes(*(getattr(self, name)[index] for name in self.__dataclass_fields__))


def near_covers(task: Task, scale: int, price: float, count: int) -> list[Cover]:
    """Up to `count` covers that differ, the cheapest first; the joint cost is first·scale + second."""
    if not len(task.choices):
        return []
    near = _Near(task, scale, price)
    found: dict[frozenset[tuple[int, int]], Cover] = {}
    for cover in [*near.closed(SOME_MORE * count), *near.wide_enough(SOME_MORE * count)]:
        known = found.get(cover.pieces)
        if known is None or (cover.first, cover.second) < (known.first, known.second):
            found[cover.pieces] = cover
    return sorted(found.values(), key=lambda each: (each.first, each.second))[:count]


class _Near:
    """The choices that pay for themselves at a price, and the changes to them."""

    def __init__(self, task: Task, scale: int, price: float) -> None:
        self._task = task
        self._scale = scale
        self._price = price
        choices = task.choices
        cost = choices.first * scale + choices.second
        excess = cost - price * np.minimum(choices.adds, task.target)
        least = np.minimum.reduceat(excess, choices.starts)
        best = np.flatnonzero(excess == np.repeat(least, choices.ends - choices.starts + 1))
        best = best[starts_of(choices.row[best])]
        self._taken = best[least < 0]
        rows = len(task.copies)
        self._base = {int(choices.row[each]): int(each) for each in self._taken}
        many = task.copies[choices.row[self._taken]]
        self._width = int((choices.adds[self._taken] * many).sum())
        self._given: dict[str, Ints] = {}
        for name, column in (("adds", choices.adds), ("first", choices.first), ("second", choices.second)):
            self._given[name] = np.zeros(rows, dtype=np.int64)
            self._given[name][choices.row[self._taken]] = column[self._taken]
        self._changes = self._all_changes(choices)

    def _all_changes(self, choices: Choices) -> _Changes:
        """Every choice instead of what its row gives now, then every piece left alone, then no change at all."""
        rows = choices.row[self._taken]
        nothing, none = np.zeros(len(rows), dtype=np.int64), np.zeros(1, dtype=np.int64)
        row = np.concatenate((choices.row, rows, none))
        adds = np.concatenate((choices.adds, nothing, none)) - self._given["adds"][row]
        first = np.concatenate((choices.first, nothing, none)) - self._given["first"][row]
        second = np.concatenate((choices.second, nothing, none)) - self._given["second"][row]
        row[-1], adds[-1], first[-1], second[-1] = NOWHERE, 0, 0, 0
        take = np.concatenate((choices.take, nothing, none))
        cost = first * self._scale + second
        excess = (cost - self._price * np.minimum(adds, self._task.target)).astype(np.int64)
        return _Changes(row, take, adds, first, second, cost, excess)

    def _pairs(self) -> tuple[_Changes, Ints, Ints]:
        """The changes that cost least by the price, and every two of them that concern different rows, or none."""
        changes = self._changes
        if len(changes.row) > PAIRED:
            few = np.argpartition(changes.excess[:-1], PAIRED - 1)[:PAIRED]
            changes = changes.at(np.r_[few, len(changes.row) - 1])
        one, other = np.triu_indices(len(changes.row))
        differ = (changes.row[one] != changes.row[other]) | (changes.row[other] == NOWHERE)
        return changes, one[differ], other[differ]

    def wide_enough(self, count: int) -> list[Cover]:
        """Covers of three changes that reach the target."""
        pair, one, other = self._pairs()
        changes = self._changes
        order = np.argsort(changes.adds, kind="stable")
        adds, cost = changes.adds[order], changes.cost[order]
        least = np.minimum.accumulate(cost[::-1])[::-1]
        missing = self._task.target - self._width - pair.adds[one] - pair.adds[other]
        place = np.searchsorted(adds, missing)
        fits = np.flatnonzero(place < len(order))
        total = pair.cost[one[fits]] + pair.cost[other[fits]] + least[place[fits]]
        covers = []
        for each in np.argsort(total, kind="stable").tolist():
            at = int(fits[each])
            low = int(place[at])
            third = changes.at(order[low + int(np.argmin(cost[low:])) :][:1])
            taken = self._changed([pair.at(one[at : at + 1]), pair.at(other[at : at + 1]), third])
            if taken is not None:
                covers.append(taken)
            if len(covers) == count:
                break
        return covers

    def _changed(self, some: list[_Changes], strip: tuple[int, int, int, int, int] | None = None) -> Cover | None:
        """What is taken after these changes; None where two of them concern the same row."""
        real = [each for each in some if int(each.row[0]) != NOWHERE]
        rows = [int(each.row[0]) for each in real] + ([] if strip is None else [strip[0]])
        if len(set(rows)) < len(rows):
            return None
        choices = self._task.choices
        picks: list[Pick] = []
        first = second = 0
        for row, at in self._base.items():
            many = int(self._task.copies[row]) - (row in rows)
            picks += [Pick(row, int(choices.take[at]))] * many
            first += int(choices.first[at]) * many
            second += int(choices.second[at]) * many
        for each in real:
            row = int(each.row[0])
            if each.take[0]:
                picks.append(Pick(row, int(each.take[0])))
                first += int(each.first[0] + self._given["first"][row])
                second += int(each.second[0] + self._given["second"][row])
        if strip is not None:
            row, take, width, more_first, more_second = strip
            picks.append(Pick(row, take, width))
            first, second = first + more_first, second + more_second
        return Cover(tuple(picks), first, second)

    def closed(self, count: int) -> list[Cover]:
        """Covers of two changes and a free strip that meets the target."""
        strips = self._task.free_strips
        if strips is None or not len(strips):
            return []
        pair, one, other = self._pairs()
        few = max(PAIRS_WITH_STRIPS // len(strips), 1)
        if len(one) > few:
            cheap = np.argpartition(pair.excess[one] + pair.excess[other], few - 1)[:few]
            one, other = one[cheap], other[cheap]
        return self._closed_by(strips, pair, one, other, count)

    def _closed_by(self, strips: FreeStrips, pair: _Changes, one: Ints, other: Ints, count: int) -> list[Cover]:
        gives = strips.adds - self._given["adds"][strips.row]
        width = self._task.target - self._width - (pair.adds[one] + pair.adds[other])[:, None] - gives
        differ = (pair.row[one][:, None] != strips.row) & (pair.row[other][:, None] != strips.row)
        row, column = np.nonzero(differ & (width >= strips.least) & (width <= strips.most))
        if not len(row):
            return []
        widths = width[row, column]
        first, second = strips.cost_at(column, widths)
        before = self._given["first"][strips.row] * self._scale + self._given["second"][strips.row]
        total = (first * self._scale + second - before[column]) + (pair.cost[one] + pair.cost[other])[row]
        covers = []
        for best in np.argsort(total, kind="stable")[:count].tolist():
            strip, at = int(column[best]), int(row[best])
            gap, costs = int(widths[best]), (int(first[best]), int(second[best]))
            told = (int(strips.row[strip]), int(strips.take[strip]), gap, *costs)
            cover = self._changed([pair.at(one[at : at + 1]), pair.at(other[at : at + 1])], told)
            covers += [] if cover is None else [cover]
        return covers
