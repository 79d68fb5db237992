"""Two years of the shop, drawn by lot: boards come, are filled from the rack as it then is, leftovers go back.

Method: boards arrive as Poisson processes month by month, new offcuts as another, drawn
from those that the shop's own history shows. Each board is filled by its first
preference with the quick hand of `hand`. The same seed gives the same years. Knows nothing
of what is concluded from them. Of `clear-out`, days on the rack are those at the beginning.
Sizes in nanometres, moments in days from the beginning.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut, species_key
from inventory.cutting.cuts import Cut
from inventory.cutting.offcut_arrays import Ints
from inventory.fill.rack_table import FACES, RackTable
from inventory.pruning.demand import Want, wants_of
from inventory.pruning.greedy_fill import Closers, Floats, Shelf, Taken, cover, in_order
from inventory.pruning.rack_classes import Kinds
from inventory.pruning.usual_boards import UsualBoard

YEAR = 365
MONTHS_AHEAD = 24


@dataclass(frozen=True)
class Arrivals:
    """New offcuts: on average `a_year` of them come in a year, each like one of `like`."""

    like: tuple[Offcut, ...] = ()
    a_year: float = 0.0


@dataclass(frozen=True)
class Use:
    """Piece `unit` (counted from 0) of kind `kind` gave the share `share` of a board's width."""

    kind: int
    unit: int
    share: float


@dataclass(frozen=True)
class Made:
    """A board that was asked for on a day. `uses` are the first pieces of the rack whose wood went into it."""

    day: int
    board: int
    filled: bool
    uses: tuple[Use, ...] = ()


@dataclass
class Spell:
    """What happened in one run of two years, in order; `cut_on[kind]` are the days on which its pieces were cut."""

    made: list[Made] = field(default_factory=list)
    cut_on: dict[int, list[int]] = field(default_factory=dict)


class Years:
    """The same shop, of which as many spells of two years can be drawn as one likes."""

    def __init__(self, kinds: Kinds, boards: Sequence[UsualBoard], on: date, arrivals: Arrivals) -> None:
        self.kinds = kinds
        self.boards = tuple(boards)
        self.on = on
        self.arrivals = arrivals
        self.wants, self.ways = wants_of([each.request for each in boards])
        self.shelves: list[tuple[Shelf, Closers | None]] = [
            want.offers(kinds.table, want.rows(kinds.table), on) for want in self.wants
        ]
        self.left = np.array([len(kind.tags) for kind in kinds.kinds], dtype=np.int64)
        every = [*(kind.offcut.species for kind in kinds.kinds), *(each.species for each in arrivals.like)]
        self.names = tuple(dict.fromkeys(map(species_key, every)))
        self.species = {name: place for place, name in enumerate(self.names)}
        self.cuts: dict[tuple[int, int, int, int | None], tuple[Cut, ...]] = {}

    def spells(self, seed: int, first: int = 0) -> Iterator[Spell]:
        """Spell after spell without end, from the one numbered `first`; number and seed say what happens in it."""
        while True:
            yield _Running(self, np.random.default_rng((seed, first))).spell()
            first += 1


def months_ahead(on: date) -> Iterator[tuple[int, int]]:
    """The first day and the month of the year of every month of a spell.

    >>> list(months_ahead(date(2030, 11, 20)))[:3]
    [(0, 11), (30, 12), (60, 1)]
    """
    for ahead in range(MONTHS_AHEAD):
        yield ahead * YEAR // 12, (on.month - 1 + ahead) % 12 + 1


class _Running:
    """One spell as it goes. Rows beyond the rack's own kinds are pieces that came since."""

    def __init__(self, years: Years, dice: np.random.Generator) -> None:
        self.years = years
        self.dice = dice
        self.base = len(years.kinds)
        self.left = years.left.copy()
        self.given = [0] * self.base
        self.new: list[Offcut] = []
        self.roots: list[tuple[int, int] | None] = []
        self.numbers: list[tuple[int, ...]] = []
        self.barren: dict[int, int] = {}
        self.told = Spell()

    def spell(self) -> Spell:
        for day, _, what in self._calendar():
            if what < 0:
                like = self.years.arrivals.like
                self._add(like[int(self.dice.integers(len(like)))], None)
            else:
                self._make(day, what)
        return self.told

    def _calendar(self) -> list[tuple[int, int, int]]:
        """What comes when: day, a number to keep the order, the board or -1 for a new offcut."""
        comes: list[tuple[int, int, int]] = []
        rates = [(-1, None), *enumerate(self.years.boards)]
        for begin, month in months_ahead(self.years.on):
            for what, board in rates:
                rate = self.years.arrivals.a_year / 12 if board is None else board.in_month(month)
                for day in self.dice.integers(0, 30, self.dice.poisson(rate)).tolist():
                    comes.append((begin + day, len(comes), what))
        comes.sort()
        return comes

    def _make(self, day: int, board: int) -> None:
        # A board that could not be filled can't be until wood comes: what went since makes nothing better.
        if self.barren.get(board) == len(self.new):
            self.told.made.append(Made(day, board, False))
            return
        for way in self.years.ways[board]:
            covers = self._fill(way)
            if covers is not None:
                self._cut(day, board, way, covers)
                return
        self.barren[board] = len(self.new)
        self.told.made.append(Made(day, board, False))

    def _fill(self, way: Sequence[int]) -> list[list[Taken]] | None:
        left = self.left.copy()
        covers = []
        for place in way:
            want = self.years.wants[place]
            shelf, closers = self._offers(place, want)
            found = cover(shelf, left, want.target, meet=want.meet, closers=closers)
            if found is None:
                return None
            for taken in found:
                left[taken.row] -= 1
            covers.append(found)
        return covers

    def _offers(self, place: int, want: Want) -> tuple[Shelf, tuple[Closers, ...]]:
        """What the rack's own kinds and the pieces that came since offer to a want."""
        shelf, own = self.years.shelves[place]
        closers = () if own is None else (own,)
        if not self.new:
            return shelf, closers
        table = self._table()
        rows = want.rows(table)
        rows = rows[self.left[self.base + rows] > 0]
        if not len(rows):
            return shelf, closers
        more, others = want.offers(table, rows, self.years.on)
        if len(more.row):
            both = (shelf, Shelf(more.row + self.base, more.take, more.adds, more.cost))
            shelf = in_order(*(np.concatenate(columns) for columns in zip(*map(_columns, both), strict=True)))
        if others is not None:
            closers = (*closers, others.moved(self.base))
        return shelf, closers

    def _table(self) -> RackTable:
        """The pieces that came since, as a table."""
        length, width, thickness, face_a, face_b, species = np.array(self.numbers, dtype=np.int64).T
        none = np.zeros(len(length), dtype=np.int64)
        names = self.years.names
        return RackTable(length, width, thickness, face_a, face_b, species, none, none + 1, names, self._made)

    def _made(self, rows: Ints) -> list[Offcut]:
        return [self.new[row] for row in rows.tolist()]

    def _cut(self, day: int, board: int, way: Sequence[int], covers: list[list[Taken]]) -> None:
        uses = []
        remainders: list[tuple[Offcut, tuple[int, int] | None]] = []
        target = sum(self._width(place) for place in way)
        for place, found in zip(way, covers, strict=True):
            each = self.years.wants[place]
            width = each.part.demand.accent or 1
            for taken in found:
                root = self._take(taken.row, day)
                if root is not None:
                    uses.append(Use(*root, taken.adds * width / target))
                offcut = self._offcut(taken.row)
                for cut in self._cuts(place, taken, offcut):
                    remainders += [
                        (_left(offcut, left.length, left.width, left.thickness), root)
                        for left in cut.remainders
                        if left.kept
                    ]
        for offcut, root in remainders:
            self._add(offcut, root)
        self.told.made.append(Made(day, board, True, tuple(uses)))

    def _width(self, place: int) -> int:
        demand = self.years.wants[place].part.demand
        return demand.target * (demand.accent or 1)

    def _offcut(self, row: int) -> Offcut:
        return self.years.kinds.kinds[row].offcut if row < self.base else self.new[row - self.base]

    def _take(self, row: int, day: int) -> tuple[int, int] | None:
        """Takes one piece of this row away; the piece of the rack that its wood came from."""
        self.left[row] -= 1
        if row >= self.base:
            return self.roots[row - self.base]
        unit = self.given[row]
        self.given[row] += 1
        self.told.cut_on.setdefault(row, []).append(day)
        return row, unit

    def _cuts(self, place: int, taken: Taken, offcut: Offcut) -> tuple[Cut, ...]:
        part = self.years.wants[place].part
        closing = None if taken.closing is None else Length(taken.closing)
        if taken.row >= self.base:
            return part.construction.cuts(offcut, 1, taken.take, closing, part.glue_up)
        key = (place, taken.row, taken.take, taken.closing)
        if key not in self.years.cuts:
            self.years.cuts[key] = part.construction.cuts(offcut, 1, taken.take, closing, part.glue_up)
        return self.years.cuts[key]

    def _add(self, offcut: Offcut, root: tuple[int, int] | None) -> None:
        self.new.append(offcut)
        self.roots.append(root)
        self.numbers.append(
            (
                offcut.length,
                offcut.width,
                offcut.thickness,
                FACES.index(offcut.face_a),
                FACES.index(offcut.face_b),
                self.years.species[species_key(offcut.species)],
            )
        )
        self.left = np.append(self.left, offcut.count)


def _columns(shelf: Shelf) -> tuple[Ints, Ints, Ints, Floats]:
    return shelf.row, shelf.take, shelf.adds, shelf.cost


def _left(offcut: Offcut, length: Length, width: Length, thickness: Length) -> Offcut:
    return Offcut(length, width, thickness, offcut.species, offcut.face_a, offcut.face_b)
