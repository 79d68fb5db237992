"""Probability of use: in how many replications each offcut was cut within one year and within two."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from math import sqrt

from inventory.core.errors import UserError
from inventory.core.offcuts import Offcut
from inventory.cutting.costs import Preference
from inventory.pruning.rack_classes import PieceClasses, piece_classes
from inventory.pruning.simulation import YEAR, Arrivals, Replication, Simulation
from inventory.pruning.usual_boards import UsualBoard

REPLICATIONS = 200
"""Replications of two years in a forecast that nobody stops: 400 simulated years."""
MIN_REPLICATIONS = 20
"""Fewer say too little to be acted on."""
SEED = 1
_CHUNK = 5


class NothingToForecast(UserError):
    """A shop without usual boards or offcuts, which can't be simulated."""


@dataclass(frozen=True)
class Chance:
    """An event that happened in `successes` of `trials` replications."""

    successes: int
    trials: int

    @property
    def share(self) -> float:
        return self.successes / self.trials if self.trials else 0.0

    @property
    def error(self) -> float:
        """The standard error of the share; for none or all of n, as if it had happened and not happened once more."""
        if not self.trials:
            return 0.5
        share = self.share if 0 < self.successes < self.trials else (self.successes + 1) / (self.trials + 2)
        return sqrt(share * (1 - share) / self.trials)

    @property
    def upper_bound(self) -> float:
        """A share that the true one exceeds in at most one case of twenty where it never happened: 3 of n.

        The "rule of three": Hanley and Lippman-Hand, JAMA 249 (1983), 1743 (from memory).
        """
        return min(3 / self.trials, 1.0) if self.trials else 1.0


@dataclass(frozen=True)
class TagForecast:
    """The forecast for the like pieces of one tag, one number a piece, the first to be cut first.

    `year` and `two_years` count the replications in which that piece was cut; `serves` are the
    positions of the usual boards that one such piece can serve at all.
    """

    year: tuple[int, ...]
    two_years: tuple[int, ...]
    serves: frozenset[int]


@dataclass(frozen=True)
class BoardForecast:
    """How often a usual board was demanded and could be filled in all replications."""

    name: str
    asked: int
    filled: int


@dataclass(frozen=True)
class Forecast:
    """What `replications` replications of two years showed. `tags` holds every tag of the rack that was looked at."""

    replications: int
    tags: dict[str, TagForecast]
    boards: tuple[BoardForecast, ...]

    @property
    def years(self) -> int:
        return 2 * self.replications

    def chance(self, tag: str, *, years: int, unit: int = 0) -> Chance:
        """The probability that a piece of a tag (`unit` counted from 0) is cut within one or two years."""
        found = self.tags[tag]
        return Chance((found.year if years == 1 else found.two_years)[unit], self.replications)

    @property
    def filled(self) -> Chance:
        """How many of all demanded boards could be filled."""
        return Chance(sum(each.filled for each in self.boards), sum(each.asked for each in self.boards))


@dataclass
class _ForecastCounts:
    """Replications counted so far, by piece class and piece."""

    kinds: PieceClasses
    boards: Sequence[UsualBoard]
    serves: Sequence[frozenset[int]]
    replications: int = 0
    year: list[list[int]] = field(default_factory=list)
    two_years: list[list[int]] = field(default_factory=list)
    asked: list[int] = field(default_factory=list)
    filled: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.year = [[0] * len(kind.tags) for kind in self.kinds.kinds]
        self.two_years = [[0] * len(kind.tags) for kind in self.kinds.kinds]
        self.asked, self.filled = [0] * len(self.boards), [0] * len(self.boards)

    def add(self, replication: Replication) -> None:
        self.replications += 1
        for kind, days in replication.cut_days.items():
            for unit, day in enumerate(days):
                self.two_years[kind][unit] += 1
                self.year[kind][unit] += day < YEAR
        for made in replication.made:
            self.asked[made.board] += 1
            self.filled[made.board] += made.filled

    def result(self) -> Forecast:
        tags: dict[str, TagForecast] = {}
        for place, kind in enumerate(self.kinds.kinds):
            units: dict[str, list[int]] = {}
            for unit, tag in enumerate(kind.tags):
                units.setdefault(tag, []).append(unit)
            for tag, own in units.items():
                tags[tag] = TagForecast(
                    tuple(self.year[place][unit] for unit in own),
                    tuple(self.two_years[place][unit] for unit in own),
                    self.serves[place],
                )
        boards = zip(self.boards, self.asked, self.filled, strict=True)
        return Forecast(
            self.replications, tags, tuple(BoardForecast(board.name, asked, filled) for board, asked, filled in boards)
        )


def forecasts(
    rack: Sequence[Offcut],
    boards: Sequence[UsualBoard],
    on: date,
    arrivals: Arrivals,
    *,
    replications: int = REPLICATIONS,
    seed: int = SEED,
) -> Iterator[Forecast]:
    """Better and better forecasts, some replications each, up to `replications`; stop when one is good enough.

    Every tag of the rack is named once. Raises NothingToForecast where there is no board or no offcut.
    """
    years = simulation_of(rack, boards, on, arrivals)
    counts = _ForecastCounts(years.kinds, years.boards, boards_served(years))
    for replication in years.replications(seed):
        counts.add(replication)
        # The first ones one by one: on a large rack each may take seconds, and somebody waits for a first figure.
        if counts.replications < _CHUNK or counts.replications % _CHUNK == 0 or counts.replications == replications:
            yield counts.result()
        if counts.replications == replications:
            return


def simulation_of(rack: Sequence[Offcut], boards: Sequence[UsualBoard], on: date, arrivals: Arrivals) -> Simulation:
    """The simulation of a shop with this rack and these usual boards. Raises NothingToForecast."""
    if not boards:
        raise NothingToForecast(
            "There is no usual board yet, so nothing says what will be needed. "
            "Keep a board that you make again and again as a usual board, with how many a year."
        )
    if not rack:
        raise NothingToForecast("The rack is empty: there is nothing to let go. Tag the first offcut at the saw.")
    by_age = any(board.request.prefer[0] is Preference.OLDEST_FIRST for board in boards)
    return Simulation(piece_classes(rack, by_age=by_age), boards, on, arrivals)


def boards_served(years: Simulation) -> list[frozenset[int]]:
    """By piece class, the positions of the boards that it can serve at all."""
    found: list[set[int]] = [set() for _ in range(len(years.kinds))]
    for board, variants in enumerate(years.variants):
        for place in {place for of_depth in variants for variant in of_depth for place in variant}:
            shelf, continuous = years.demand_alternatives[place]
            rows = {*shelf.row.tolist(), *(continuous.strips.row.tolist() if continuous else ())}
            for row in rows:
                found[row].add(board)
    return [frozenset(each) for each in found]
