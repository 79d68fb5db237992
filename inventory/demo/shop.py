"""Makes the demo shop: three years of an invented workshop.

Every piece is tagged and every board planned, held, cut and finished by the services, with a clock that is set from
day to day. The same day gives the same shop: pieces, codes, boards and photos.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import partial
from pathlib import Path

from inventory.demo.photo import photo
from inventory.demo.stock import DemoPiece, read_pieces
from inventory.demo.story import (
    BOARDS,
    LABELS_PRINTED,
    MOVED,
    REMOVED,
    SHOP_NAME,
    USED,
    DemoBoard,
    MovedPiece,
    PieceName,
    RemovedPiece,
    UsedPiece,
)
from inventory.demo.usual_boards import save_usual_boards
from inventory.services.boards import filling, making
from inventory.services.labels import label_content
from inventory.services.rack import editing, queries, tagging
from inventory.shop import Shop, local_now
from inventory.storage.photos import PhotoStore
from inventory.storage.records import StoredPhoto

_SEED = 20_300_131
_PHOTO_WORKERS = 4


class _Clock:
    """A clock that keeps its moment until it is set."""

    def __init__(self, today: date) -> None:
        self._today = today
        self._moment = datetime.combine(today, time(8), UTC)

    def set(self, days_ago: int, hour: int, minute: int) -> None:
        day = self._today - timedelta(days=days_ago)
        self._moment = datetime.combine(day, time(hour, minute), UTC)

    def __call__(self) -> datetime:
        return self._moment


@dataclass(frozen=True)
class _TimelineEvent:
    """Something done `days_ago`, at an hour and minute of that day."""

    days_ago: int
    hour: int
    minute: int
    do: Callable[[], object]


def make_demo(folder: Path, *, today: date, now: Callable[[], datetime] = local_now) -> Shop:
    """Makes the demo shop in an empty folder and opens it, with `now` as its clock from then on.

    The invented three years end the day before `today`. Takes a few seconds, for the boards and the photos.
    """
    clock = _Clock(today)
    stock = read_pieces()
    shop = Shop.open(folder, now=clock, randbelow=random.Random(_SEED).randrange)
    try:
        shop.save_settings(replace(shop.settings(), shop_name=SHOP_NAME))
        _Timeline(shop, stock, _photos(shop.photos, stock)).run(clock)
        save_usual_boards(shop)
    finally:
        shop.close()
    return Shop.open(folder, now=now)


def _photos(store: PhotoStore, stock: tuple[DemoPiece, ...]) -> tuple[StoredPhoto, ...]:
    """Makes and stores the photo of each piece, on all cores."""

    def stored(number: int) -> StoredPhoto:
        line = stock[number]
        return store.keep(photo(line.offcut, number + 1, line.coat))

    with ThreadPoolExecutor(_PHOTO_WORKERS) as executor:
        return tuple(executor.map(stored, range(len(stock))))


class _Timeline:
    """The shop's three years, event by event, with the code that each piece was given."""

    def __init__(self, shop: Shop, stock: tuple[DemoPiece, ...], photos: tuple[StoredPhoto, ...]) -> None:
        self._shop = shop
        self._pieces = stock
        self._photos = photos
        self._codes: dict[PieceName, str] = {}
        self._boards: dict[str, int] = {}

    def run(self, clock: _Clock) -> None:
        """Does everything, oldest first."""
        for event in sorted(self._events(), key=lambda event: (-event.days_ago, event.hour, event.minute)):
            clock.set(event.days_ago, event.hour, event.minute)
            event.do()

    def _events(self) -> Iterator[_TimelineEvent]:
        for number, line in enumerate(self._pieces):
            yield _TimelineEvent(line.days_ago, 15, number % 60, partial(self._tag, number))
        for days_ago in LABELS_PRINTED:
            yield _TimelineEvent(days_ago, 16, 5, self._print_labels)
        for made in BOARDS:
            yield _TimelineEvent(made.held, 9, 12, partial(self._hold, made))
            if made.cut is not None:
                yield _TimelineEvent(made.cut, 10, 40, partial(self._cut, made))
            if made.finished is not None:
                yield _TimelineEvent(made.finished, 14, 25, partial(self._finish, made))
            if made.abandoned is not None:
                yield _TimelineEvent(made.abandoned, 11, 3, partial(self._abandon, made))
        for moved in MOVED:
            yield _TimelineEvent(moved.days_ago, 13, 20, partial(self._move, moved))
        for used in USED:
            yield _TimelineEvent(used.days_ago, 13, 31, partial(self._use, used))
        for gone in REMOVED:
            yield _TimelineEvent(gone.days_ago, 13, 44, partial(self._remove, gone))

    def _tag(self, number: int) -> None:
        line = self._pieces[number]
        self._codes[line.name] = tagging.tag(self._shop, line.offcut, photos=[self._photos[number]]).code

    def _print_labels(self) -> None:
        label_content.mark_printed(self._shop, [record.code for record in label_content.queue(self._shop)])

    def _hold(self, made: DemoBoard) -> None:
        board_request = filling.request(
            self._shop,
            {
                "length": made.length,
                "width": made.width,
                "thickness": made.thickness,
                "grain": made.grain,
                "bands": [{"species": list(made.species)}],
                "prefer": [made.prefer.value],
                "fills": 1,
            },
        )
        best = filling.fill(self._shop, board_request).fills[0]
        self._boards[made.name] = making.set_aside(self._shop, board_request, best, made.name).id

    def _cut(self, made: DemoBoard) -> None:
        board = making.board(self._shop, self._boards[made.name])
        confirmed = [
            making.ConfirmedLeftover(
                left.cut, left.remainder, left.length, left.width, left.thickness, left.keep, left.location
            )
            for left in making.proposed_leftovers(self._shop, board.id)
        ]
        making.cut(self._shop, board.id, board.version, confirmed)

    def _finish(self, made: DemoBoard) -> None:
        board = making.board(self._shop, self._boards[made.name])
        making.finish(self._shop, board.id, board.version)

    def _abandon(self, made: DemoBoard) -> None:
        board = making.board(self._shop, self._boards[made.name])
        making.abandon(self._shop, board.id, board.version)

    def _move(self, moved: MovedPiece) -> None:
        record = queries.record(self._shop, self._codes[moved.piece])
        editing.change(self._shop, record.code, record.version, replace(record.offcut, location=moved.location))

    def _use(self, used: UsedPiece) -> None:
        record = queries.record(self._shop, self._codes[used.piece])
        editing.use_up(self._shop, record.code, record.version, pieces=used.pieces, note=used.note)

    def _remove(self, gone: RemovedPiece) -> None:
        record = queries.record(self._shop, self._codes[gone.piece])
        editing.remove(self._shop, record.code, record.version, gone.reason, gone.note)
