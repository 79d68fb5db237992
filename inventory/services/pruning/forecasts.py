"""The forecast: simulates the usual boards on the rack with the shop's history, and stores the result."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Generator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from inventory.core.lengths import volume_mm3
from inventory.core.offcuts import Offcut
from inventory.fill.request import request_document
from inventory.pruning.forecast import (
    MIN_REPLICATIONS,
    REPLICATIONS,
    BoardForecast,
    Chance,
    Forecast,
    TagForecast,
    forecasts,
    simulation_of,
)
from inventory.pruning.simulation import Arrivals
from inventory.pruning.usual_boards import UsualBoard
from inventory.services.boards import usual_board_list
from inventory.services.jobs import Progress
from inventory.services.rack import queries
from inventory.services.rack.queries import StatusFilter
from inventory.shop import Shop
from inventory.storage.errors import StorageFault
from inventory.storage.records import OffcutRecord
from inventory.storage.repositories import prune_checklists

STALE_SHARE = 0.05
"""A forecast is stale once pieces that came, went or changed hold more than this share of the wood that it saw."""
MAX_AGE = timedelta(days=90)
"""After so long the months ahead are others, and the forecast is stale."""
WARM_UP = timedelta(days=60)
"""What is tagged in the first days of a shop is the old pile, not what comes in."""
MIN_HISTORY = timedelta(days=180)
"""A shorter history says nothing of how many offcuts come in a year."""
_MOST_LIKE = 500
_YEAR = 365.25


@dataclass(frozen=True)
class ForecastInputs:
    """What a forecast depends on: the free pieces, the usual boards, arrivals of offcuts, the day."""

    rack: tuple[Offcut, ...]
    boards: tuple[UsualBoard, ...]
    arrivals: Arrivals
    on: date
    with_arrivals: bool

    @property
    def fingerprint(self) -> str:
        """A hash of everything but the rack and the day: usual boards with preference and allowances, arrivals."""
        forecast_row = [
            [each.name, str(each.a_year), list(each.months), request_document(replace(each.request, on=date.min))]
            for each in self.boards
        ]
        return hashlib.sha256(json.dumps([forecast_row, self.with_arrivals]).encode()).hexdigest()[:16]


@dataclass(frozen=True)
class FreePiece:
    """A tag with free pieces: the count of its offcut is the number of free pieces."""

    offcut: Offcut

    @property
    def free_volume(self) -> int:
        """Whole mm³ of all its free pieces."""
        return self.offcut.count * volume_mm3(self.offcut.length, self.offcut.width, self.offcut.thickness)


@dataclass(frozen=True)
class StoredForecast:
    """The stored forecast. `stale_reason` is a sentence on why it no longer holds, empty while it does."""

    forecast: Forecast
    made_at: datetime
    stale_reason: str
    with_arrivals: bool


def free_pieces(shop: Shop) -> tuple[FreePiece, ...]:
    """The free pieces on the rack: only these are simulated and may be pruned."""
    records = queries.all_pieces(shop, StatusFilter.FREE)
    return tuple(FreePiece(replace(each.offcut, count=each.free)) for each in records if each.free)


def check_inputs(asked: ForecastInputs) -> None:
    """Raises NothingToForecast where there is no usual board or no offcut."""
    simulation_of(asked.rack[:1], asked.boards, asked.on, Arrivals())


@dataclass(frozen=True)
class TagChances:
    """What the stored forecast says of the first piece of a tag, in words and probabilities."""

    chances: tuple[tuple[str, Chance], ...]
    made_at: datetime


def tag_chances(shop: Shop, code: str) -> TagChances | None:
    """The probability that a tag is used by the stored forecast, however old; None where the tag is not in it."""
    with shop.reading() as connection:
        kept = prune_checklists.load_forecast(connection)
    if kept is None or code not in kept.document["forecast"]["tags"]:
        return None
    forecast_row, replications = kept.document["forecast"]["tags"][code], kept.document["forecast"]["spells"]
    chances = (
        ("12 months", Chance(forecast_row["year"][0], replications)),
        ("24 months", Chance(forecast_row["two_years"][0], replications)),
    )
    return TagChances(chances, kept.made_at)


def basis(shop: Shop, *, with_arrivals: bool = True) -> ForecastInputs:
    """The inputs of a forecast as of now."""
    records = queries.all_pieces(shop, StatusFilter.ALL)
    rack = tuple(replace(each.offcut, count=each.free) for each in records if each.free)
    boards = tuple(each.board for each in usual_board_list.listed(shop))
    arrivals = arrivals_of(records, shop.today()) if with_arrivals else Arrivals()
    return ForecastInputs(rack, boards, arrivals, shop.today(), with_arrivals)


def arrivals_of(records: Sequence[OffcutRecord], today: date) -> Arrivals:
    """How many offcuts arrive in a year by the shop's history, without leftovers of its boards, and of what sizes.

    None where the history is too short.
    """
    first = min((each.offcut.tagged_on or today for each in records), default=today)
    begin = first + WARM_UP
    if today - begin < MIN_HISTORY:
        return Arrivals()
    came = [
        each
        for each in records
        if each.from_board is None and each.offcut.tagged_on is not None and begin < each.offcut.tagged_on <= today
    ]
    pieces = sum(each.offcut.count for each in came)
    samples = tuple(replace(each.offcut, count=1, tag="", notes="") for each in came[-_MOST_LIKE:])
    return Arrivals(samples, pieces * _YEAR / (today - begin).days) if samples else Arrivals()


def latest(shop: Shop) -> StoredForecast | None:
    """The stored forecast, None where none was made yet."""
    with shop.reading() as connection:
        kept = prune_checklists.load_forecast(connection)
    if kept is None:
        return None
    document = kept.document
    now = basis(shop, with_arrivals=document["with_arrivals"])
    return StoredForecast(
        read_forecast(document["forecast"]), kept.made_at, _stale(kept, now, shop.now()), document["with_arrivals"]
    )


def _stale(kept: prune_checklists.ForecastRow, now: ForecastInputs, moment: datetime) -> str:
    if kept.document["mark"] != now.fingerprint:
        return "The usual boards, their preference or the shop's allowances have changed since."
    if moment - kept.made_at > MAX_AGE:
        return f"It is older than {MAX_AGE.days} days, and the months ahead are others."
    before = {tag: tuple(sizes) for tag, sizes in kept.document["rack"].items()}
    after = {each.tag: _sizes(each) for each in now.rack}
    changed = [tag for tag in before.keys() | after.keys() if before.get(tag) != after.get(tag)]
    moved = sum(abs(_wood(before.get(tag)) - _wood(after.get(tag))) or _wood(after.get(tag)) for tag in changed)
    if moved > STALE_SHARE * max(sum(map(_wood, before.values())), 1):
        return (
            f"Pieces that came, went or changed since hold more than {STALE_SHARE * 100:.0f} % of the wood on the rack."
        )
    return ""


def _sizes(offcut: Offcut) -> tuple[Any, ...]:
    return (offcut.count, int(offcut.length), int(offcut.width), int(offcut.thickness), offcut.species)


def _wood(sizes: tuple[Any, ...] | None) -> int:
    return 0 if sizes is None else int(sizes[0]) * volume_mm3(sizes[1], sizes[2], sizes[3])


def drawing(asked: ForecastInputs, *, replications: int = REPLICATIONS) -> Generator[Progress, None, Forecast]:
    """Makes a forecast without storing it. Raises NothingToForecast."""
    found: Forecast | None = None
    for found in forecasts(asked.rack, asked.boards, asked.on, asked.arrivals, replications=replications):
        message = f"{found.years:,} of {2 * replications:,} years drawn"
        yield Progress(
            found.replications / replications, message, found if found.replications >= MIN_REPLICATIONS else None
        )
    if found is None:
        raise ValueError("a forecast of no replications")
    return found


def run_forecast(
    shop: Shop, asked: ForecastInputs, *, replications: int = REPLICATIONS
) -> Generator[Progress, None, Forecast]:
    """As `drawing`, and stores the result; one that was stopped is stored too if it has enough replications."""
    steps = drawing(asked, replications=replications)
    so_far: Forecast | None = None
    while True:
        try:
            step = next(steps)
        except StopIteration as end:
            found: Forecast = end.value
            _keep(shop, asked, found)
            return found
        so_far = step.so_far
        try:
            yield step
        except GeneratorExit:
            if so_far is not None:
                _keep(shop, asked, so_far)
            raise


def _keep(shop: Shop, asked: ForecastInputs, found: Forecast) -> None:
    document = {
        "mark": asked.fingerprint,
        "with_arrivals": asked.with_arrivals,
        "rack": {each.tag: _sizes(each) for each in asked.rack},
        "forecast": forecast_document(found),
    }
    # On a full disk the forecast still serves this advice; the next one computes it again.
    with suppress(StorageFault), shop.writing() as connection:
        prune_checklists.save_forecast(connection, shop.now(), document)


def forecast_document(found: Forecast) -> dict[str, Any]:
    """A forecast as JSON."""
    return {
        "spells": found.replications,
        "tags": {
            tag: {"year": list(each.year), "two_years": list(each.two_years), "serves": sorted(each.serves)}
            for tag, each in found.tags.items()
        },
        "boards": [{"name": each.name, "asked": each.asked, "filled": each.filled} for each in found.boards],
    }


def read_forecast(document: dict[str, Any]) -> Forecast:
    """The forecast that `forecast_document` wrote."""
    return Forecast(
        document["spells"],
        {
            tag: TagForecast(tuple(each["year"]), tuple(each["two_years"]), frozenset(each["serves"]))
            for tag, each in document["tags"].items()
        },
        tuple(BoardForecast(each["name"], each["asked"], each["filled"]) for each in document["boards"]),
    )
