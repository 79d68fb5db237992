"""A discrete-event simulation of two years: boards arrive, are filled from the rack, and return their leftovers.

Method: boards arrive as Poisson processes month by month, new offcuts as another, sampled from the shop's history. Each
board is filled by its first preference with the greedy heuristic of `greedy_fill`. The seed determines all events. The
ages that `oldest-first` uses are those at the start. Sizes in nanometers, moments in days from the start.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut, species_key
from inventory.cutting.cuts import Cut
from inventory.cutting.offcut_arrays import IntArray
from inventory.cutting.rack_table import FACES, RackTable
from inventory.pruning.demand import BoardDemand, demands_of
from inventory.pruning.greedy_fill import (
    ContinuousAlternatives,
    Floats,
    GreedyCover,
    GreedyPick,
    SortedAlternatives,
    fill_greedily,
    sort_alternatives,
)
from inventory.pruning.rack_classes import PieceClasses
from inventory.pruning.usual_boards import UsualBoard

YEAR = 365
HORIZON_MONTHS = 24


@dataclass(frozen=True)
class Arrivals:
    """Arrivals of new offcuts: on average `a_year` of them in a year, each like one of `samples`."""

    samples: tuple[Offcut, ...] = ()
    a_year: float = 0.0


@dataclass(frozen=True)
class PieceUse:
    """Piece `unit` (counted from 0) of the class `kind` gave the share `share` of a board's width."""

    kind: int
    unit: int
    share: float


@dataclass(frozen=True)
class SimulatedBoard:
    """A board that was demanded on a day. `uses` are the pieces of the rack whose wood went into it."""

    day: int
    board: int
    filled: bool
    uses: tuple[PieceUse, ...] = ()


@dataclass
class Replication:
    """What happened in one run of two years, in order; `cut_days[kind]` are the days on which its pieces were cut."""

    made: list[SimulatedBoard] = field(default_factory=list)
    cut_days: dict[int, list[int]] = field(default_factory=dict)


class Simulation:
    """A shop that can be simulated for any number of replications of two years."""

    def __init__(self, kinds: PieceClasses, boards: Sequence[UsualBoard], on: date, arrivals: Arrivals) -> None:
        self.kinds = kinds
        self.boards = tuple(boards)
        self.on = on
        self.arrivals = arrivals
        every = [*(kind.offcut.species for kind in kinds.kinds), *(each.species for each in arrivals.samples)]
        self.names = tuple(dict.fromkeys(map(species_key, every)))
        self.wants, self.variants = demands_of([each.request for each in boards], self.names)
        self.demand_alternatives: list[tuple[SortedAlternatives, ContinuousAlternatives | None]] = [
            board_demand.alternatives(kinds.table, board_demand.rows(kinds.table), on) for board_demand in self.wants
        ]
        self.left = np.array([len(kind.tags) for kind in kinds.kinds], dtype=np.int64)
        self.species = {name: place for place, name in enumerate(self.names)}
        self.cuts: dict[tuple[int, int, int, int | None], tuple[Cut, ...]] = {}

    def replications(self, seed: int, first: int = 0) -> Iterator[Replication]:
        """Replications without end, from the one numbered `first`; number and seed determine its events."""
        while True:
            yield _Run(self, np.random.default_rng((seed, first))).replication()
            first += 1


def horizon_months(on: date) -> Iterator[tuple[int, int]]:
    """The first day and the month of the year of every month of a replication.

    >>> list(horizon_months(date(2030, 11, 20)))[:3]
    [(0, 11), (30, 12), (60, 1)]
    """
    for ahead in range(HORIZON_MONTHS):
        yield ahead * YEAR // 12, (on.month - 1 + ahead) % 12 + 1


class _Run:
    """The state of a replication. Rows beyond the classes of the rack are pieces that arrived during it."""

    def __init__(self, years: Simulation, rng: np.random.Generator) -> None:
        self.years = years
        self.rng = rng
        self.own_count = len(years.kinds)
        self.left = years.left.copy()
        self.used_counts = [0] * self.own_count
        self.new: list[Offcut] = []
        self.origins: list[tuple[int, int] | None] = []
        self.size_rows: list[tuple[int, ...]] = []
        self.infeasible_at: dict[int, int] = {}
        self.result = Replication()

    def replication(self) -> Replication:
        for day, _, what in self._event_calendar():
            if what < 0:
                samples = self.years.arrivals.samples
                self._add(samples[int(self.rng.integers(len(samples)))], None)
            else:
                self._make(day, what)
        return self.result

    def _event_calendar(self) -> list[tuple[int, int, int]]:
        """The events in order: day, a number that keeps the order, the board or -1 for a new offcut."""
        comes: list[tuple[int, int, int]] = []
        rates = [(-1, None), *enumerate(self.years.boards)]
        for begin, month in horizon_months(self.years.on):
            for what, board in rates:
                rate = self.years.arrivals.a_year / 12 if board is None else board.in_month(month)
                for day in self.rng.integers(0, 30, self.rng.poisson(rate)).tolist():
                    comes.append((begin + day, len(comes), what))
        comes.sort()
        return comes

    def _make(self, day: int, board: int) -> None:
        # A board that could not be filled can't be filled until wood arrives: less wood never helps.
        if self.infeasible_at.get(board) == len(self.new):
            self.result.made.append(SimulatedBoard(day, board, False))
            return
        for variants in self.years.variants[board]:
            found = [(variant, covers) for variant in variants if (covers := self._fill(variant)) is not None]
            if found:
                variant, covers = min(found, key=lambda each: sum(cover.cost for cover in each[1]))
                self._cut(day, board, variant, [cover.picks for cover in covers])
                return
        self.infeasible_at[board] = len(self.new)
        self.result.made.append(SimulatedBoard(day, board, False))

    def _fill(self, variant: Sequence[int]) -> list[GreedyCover] | None:
        left = self.left.copy()
        covers = []
        for place in variant:
            board_demand = self.years.wants[place]
            shelf, continuous = self._alternatives(place, board_demand)
            found = fill_greedily(
                shelf, left, board_demand.target, equality=board_demand.equality, continuous=continuous
            )
            if found is None:
                return None
            for taken in found.picks:
                left[taken.row] -= 1
            covers.append(found)
        return covers

    def _alternatives(
        self, place: int, board_demand: BoardDemand
    ) -> tuple[SortedAlternatives, tuple[ContinuousAlternatives, ...]]:
        """The alternatives of the rack's classes and of the pieces that arrived, for a demand."""
        shelf, own = self.years.demand_alternatives[place]
        continuous = () if own is None else (own,)
        if not self.new:
            return shelf, continuous
        table = self._table()
        rows = board_demand.rows(table)
        rows = rows[self.left[self.own_count + rows] > 0]
        if not len(rows):
            return shelf, continuous
        more, others = board_demand.alternatives(table, rows, self.years.on)
        if len(more.row):
            both = (shelf, SortedAlternatives(more.row + self.own_count, more.take, more.adds, more.cost))
            shelf = sort_alternatives(*(np.concatenate(arrays) for arrays in zip(*map(_columns, both), strict=True)))
        if others is not None:
            continuous = (*continuous, others.shifted(self.own_count))
        return shelf, continuous

    def _table(self) -> RackTable:
        """The pieces that arrived, as a table."""
        length, width, thickness, face_a, face_b, species = np.array(self.size_rows, dtype=np.int64).T
        none = np.zeros(len(length), dtype=np.int64)
        return RackTable(
            length,
            width,
            thickness,
            face_a,
            face_b,
            species,
            tagged_day=none,
            count=none + 1,
            reserved=none > 0,
            required=none,
            names=self.years.names,
            offcuts=self._made,
        )

    def _made(self, rows: IntArray) -> list[Offcut]:
        return [self.new[row] for row in rows.tolist()]

    def _cut(self, day: int, board: int, variant: Sequence[int], covers: list[list[GreedyPick]]) -> None:
        uses = []
        leftovers: list[tuple[Offcut, tuple[int, int] | None]] = []
        target = sum(self._width(place) for place in variant)
        for place, found in zip(variant, covers, strict=True):
            each = self.years.wants[place]
            width = each.part.demand.stripe or 1
            for taken in found:
                root = self._take(taken.row, day)
                if root is not None:
                    uses.append(PieceUse(*root, taken.adds * width / target))
                offcut = self._offcut(taken.row)
                for cut in self._cuts(place, taken, offcut):
                    leftovers += [
                        (_left(offcut, left.length, left.width, left.thickness), root)
                        for left in cut.leftovers
                        if left.kept
                    ]
        for offcut, root in leftovers:
            self._add(offcut, root)
        self.result.made.append(SimulatedBoard(day, board, True, tuple(uses)))

    def _width(self, place: int) -> int:
        demand = self.years.wants[place].part.demand
        return demand.target * (demand.stripe or 1)

    def _offcut(self, row: int) -> Offcut:
        return self.years.kinds.kinds[row].offcut if row < self.own_count else self.new[row - self.own_count]

    def _take(self, row: int, day: int) -> tuple[int, int] | None:
        """Removes one piece of this row; returns the piece of the rack that its wood came from."""
        self.left[row] -= 1
        if row >= self.own_count:
            return self.origins[row - self.own_count]
        unit = self.used_counts[row]
        self.used_counts[row] += 1
        self.result.cut_days.setdefault(row, []).append(day)
        return row, unit

    def _cuts(self, place: int, taken: GreedyPick, offcut: Offcut) -> tuple[Cut, ...]:
        part = self.years.wants[place].part
        width = None if taken.width is None else Length(taken.width)
        if taken.row >= self.own_count:
            return part.construction.cuts(offcut, 1, taken.take, width, part.glue_up)
        key = (place, taken.row, taken.take, taken.width)
        if key not in self.years.cuts:
            self.years.cuts[key] = part.construction.cuts(offcut, 1, taken.take, width, part.glue_up)
        return self.years.cuts[key]

    def _add(self, offcut: Offcut, root: tuple[int, int] | None) -> None:
        self.new.append(offcut)
        self.origins.append(root)
        self.size_rows.append(
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


def _columns(shelf: SortedAlternatives) -> tuple[IntArray, IntArray, IntArray, Floats]:
    return shelf.row, shelf.take, shelf.adds, shelf.cost


def _left(offcut: Offcut, length: Length, width: Length, thickness: Length) -> Offcut:
    return Offcut(length, width, thickness, offcut.species, offcut.face_a, offcut.face_b)
