"""Stock levels: wood by species, size and age, and what came and went by month; actions on a range of sizes.

Volumes are whole mm³, lengths Length, ages days since the piece was tagged.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from enum import Enum

from sqlalchemy import Connection, select

from inventory.core.codes import format_code
from inventory.core.errors import UserError
from inventory.core.lengths import Length
from inventory.core.offcuts import State, species_key
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.queries import get_pieces
from inventory.shop import Shop
from inventory.storage.records import BoardState, EventKind
from inventory.storage.repositories import usual_boards
from inventory.storage.repositories.offcuts import (
    HERE,
    add_event,
    next_label_place,
    piece_conflict,
    set_label_place,
    update_offcut,
)
from inventory.storage.tables import BOARD_OFFCUTS, BOARDS, EVENTS, LEFTOVERS, OFFCUTS

MONTHS = 12
"""How many months are listed, the present one included."""
AGES = (
    ("under a month", 0),
    ("1 to 3 months", 31),
    ("3 to 6 months", 92),
    ("6 to 12 months", 183),
    ("1 to 2 years", 365),
    ("2 to 3 years", 731),
    ("3 years and more", 1096),
)
"""Words and the least days of each age."""


class NothingSelected(UserError):
    """An action without any piece that it applies to."""


@dataclass(frozen=True)
class StockedTag:
    """A tag whose wood is in the shop; `free` of its `pieces` are not on hold, `volume` is that of all."""

    code: str
    version: int
    species: str
    length: Length
    width: Length
    thickness: Length
    pieces: int
    free: int
    volume: int
    days: int
    location: str


@dataclass(frozen=True)
class WoodTotal:
    """A total: pieces and volume, and how much of both is on hold."""

    pieces: int = 0
    volume: int = 0
    held_pieces: int = 0
    held_volume: int = 0

    def plus(self, each: StockedTag) -> WoodTotal:
        """This total with the pieces of one more tag."""
        aside = each.pieces - each.free
        return WoodTotal(
            self.pieces + each.pieces,
            self.volume + each.volume,
            self.held_pieces + aside,
            self.held_volume + each.volume // each.pieces * aside,
        )


@dataclass(frozen=True)
class MonthlyFlow:
    """What came and went in the month that begins on `first`: pieces and volume.

    `back` are leftovers of cuts, `cut` went into boards, `other` was used or removed in other ways.
    """

    first: date
    came: int = 0
    came_volume: int = 0
    back: int = 0
    back_volume: int = 0
    cut: int = 0
    cut_volume: int = 0
    other: int = 0
    other_volume: int = 0

    @property
    def in_volume(self) -> int:
        return self.came_volume + self.back_volume

    @property
    def out_volume(self) -> int:
        return self.cut_volume + self.other_volume


@dataclass(frozen=True)
class StockLevels:
    """All stock levels. Species with most wood first, ages from young to old, months from the earliest."""

    tags: tuple[StockedTag, ...]
    all: WoodTotal
    by_species: tuple[tuple[str, WoodTotal], ...]
    by_age: tuple[tuple[str, WoodTotal], ...]
    months: tuple[MonthlyFlow, ...]


@dataclass(frozen=True)
class SizeRange:
    """Bounds of the sizes, both included; None is unbounded. An empty `species` is any."""

    species: str = ""
    length_from: Length | None = None
    length_to: Length | None = None
    width_from: Length | None = None
    width_to: Length | None = None

    @property
    def is_active(self) -> bool:
        return self != SizeRange()

    def holds(self, each: StockedTag) -> bool:
        """Whether a piece is within it."""
        return (
            (not self.species or species_key(each.species) == species_key(self.species))
            and _within(each.length, self.length_from, self.length_to)
            and _within(each.width, self.width_from, self.width_to)
        )


class BulkAction(Enum):
    """What can be done with the pieces of a range."""

    LABEL = "label"
    PIN = "pin"
    REMOVE = "let go"


def stock_levels(shop: Shop) -> StockLevels:
    """The stock levels now."""
    today = shop.today()
    with shop.reading() as connection:
        tags = tuple(_stocked_tags(connection, today))
        months = _months(connection, today)
    whole = WoodTotal()
    species: dict[str, WoodTotal] = {}
    names: dict[str, str] = {}
    ages = {words: WoodTotal() for words, _ in AGES}
    for each in tags:
        key = species_key(each.species)
        names[key] = each.species
        whole = whole.plus(each)
        species[key] = species.get(key, WoodTotal()).plus(each)
        age = age_label(each.days)
        ages[age] = ages[age].plus(each)
    most_first = sorted(species, key=lambda key: (-species[key].volume, key))
    return StockLevels(
        tags, whole, tuple((names[key], species[key]) for key in most_first), tuple(ages.items()), months
    )


def age_label(days: int) -> str:
    """In which of AGES a piece of so many days is.

    >>> age_label(30), age_label(31), age_label(5000)
    ('under a month', '1 to 3 months', '3 years and more')
    """
    return next(words for words, least in reversed(AGES) if days >= least or least == 0)


def _stocked_tags(connection: Connection, today: date) -> Iterator[StockedTag]:
    c = OFFCUTS.c
    columns = (
        c.code,
        c.version,
        c.species,
        c.length_nm,
        c.width_nm,
        c.thickness_nm,
        c.pieces,
        c.set_aside,
        c.volume_mm3,
        c.tagged_on,
        c.location,
    )
    for row in connection.execute(select(*columns).where(c.state.in_(HERE)).order_by(c.id)):
        yield StockedTag(
            code=row.code,
            version=row.version,
            species=row.species,
            length=row.length_nm,
            width=row.width_nm,
            thickness=row.thickness_nm,
            pieces=row.pieces,
            free=row.pieces - row.set_aside,
            volume=row.pieces * row.volume_mm3,
            days=max((today - row.tagged_on).days, 0),
            location=row.location,
        )


@dataclass(frozen=True)
class StockMovement:
    """Pieces of one tag that came or went on a day: `what` is one of came, back, cut, other, as in MonthlyFlow.

    `board` is the one whose cut returned them or that they went into.
    """

    on: date
    what: str
    pieces: int
    volume: int
    board: int | None


@dataclass(frozen=True)
class _Outflow:
    """Pieces of a tag that left on a day, into a board or in another way."""

    offcut: int
    on: date
    pieces: int
    board: int | None


def stock_movements(connection: Connection) -> Iterator[StockMovement]:
    """All movements ever, by the sizes as they are now; a cut that was undone is left out.

    What came in equals what is here and what went out.
    """
    c = OFFCUTS.c
    undone = select(LEFTOVERS.c.offcut_id).where(LEFTOVERS.c.undone)
    columns = (c.id, c.pieces, c.state, c.volume_mm3, c.from_board, c.tagged_on)
    rows = {row.id: row for row in connection.execute(select(*columns).where(c.id.not_in(undone)))}
    here = {row.id: row.pieces for row in rows.values() if row.state in HERE}
    for left in (*_cut(connection), *_otherwise(connection)):
        row = rows.get(left.offcut)
        if row is None:
            continue
        here[row.id] = here.get(row.id, 0) + left.pieces
        what = "cut" if left.board is not None else "other"
        yield StockMovement(left.on, what, left.pieces, left.pieces * row.volume_mm3, left.board)
    for number, pieces in here.items():
        row = rows[number]
        what = "back" if row.from_board else "came"
        yield StockMovement(row.tagged_on, what, pieces, pieces * row.volume_mm3, row.from_board)


def _months(connection: Connection, today: date) -> tuple[MonthlyFlow, ...]:
    counts = {first: dict.fromkeys(_COUNTED, 0) for first in last_months(today)}
    for each in stock_movements(connection):
        month = counts.get(each.on.replace(day=1))
        if month is not None:
            month[each.what] += each.pieces
            month[f"{each.what}_volume"] += each.volume
    return tuple(MonthlyFlow(first, **counted) for first, counted in counts.items())


_COUNTED = ("came", "came_volume", "back", "back_volume", "cut", "cut_volume", "other", "other_volume")


def last_months(today: date) -> Iterator[date]:
    """The first days of the months of the report, the present one last."""
    last = today.year * 12 + today.month - 1
    for month in range(last - MONTHS + 1, last + 1):
        yield date(month // 12, month % 12 + 1, 1)


def _cut(connection: Connection) -> Iterator[_Outflow]:
    """The offcuts of boards that are cut."""
    cut = BOARDS.c.state.in_((BoardState.CUT, BoardState.FINISHED))
    rows = connection.execute(
        select(BOARD_OFFCUTS.c.offcut_id, BOARD_OFFCUTS.c.pieces, BOARDS.c.cut_at, BOARDS.c.id.label("board"))
        .join(BOARDS, BOARDS.c.id == BOARD_OFFCUTS.c.board_id)
        .where(cut)
    )
    for row in rows:
        yield _Outflow(row.offcut_id, row.cut_at.date(), row.pieces, row.board)


def _otherwise(connection: Connection) -> Iterator[_Outflow]:
    """What was used or pruned and not taken back, by the events of the pieces."""
    kinds = (EventKind.USED, EventKind.REMOVED, EventKind.REMOVAL_UNDONE)
    c = EVENTS.c
    events = (
        select(c.offcut_id, c.at, c.kind, c.pieces)
        .where(EVENTS.c.kind.in_(kinds))
        .order_by(EVENTS.c.offcut_id, EVENTS.c.id)
    )
    went: list[_Outflow] = []
    for event in connection.execute(events):
        if event.kind is EventKind.REMOVAL_UNDONE:
            if went and went[-1].offcut == event.offcut_id:
                went.pop()
            continue
        went.append(_Outflow(event.offcut_id, event.at.date(), event.pieces, None))
    yield from went


def _within(size: int, least: int | None, most: int | None) -> bool:
    return (least is None or size >= least) and (most is None or size <= most)


def act(shop: Shop, picked: Mapping[str, int], what: BulkAction, reason: RemovalReason | None = None) -> int:
    """Applies one action to all selected pieces (code and version as shown) or to none; returns how many.

    Raises NothingSelected where one is gone, or to be removed and on hold; NoSuchPiece; Conflict where one that is to
    be removed was changed since it was shown.
    """
    if not picked:
        raise NothingSelected("No piece is ticked. Tick those that are meant.")
    with shop.writing() as connection:
        records = get_pieces(connection, list(picked))
        for record, shown in zip(records, picked.values(), strict=True):
            if not record.here:
                raise NothingSelected(
                    f"{format_code(record.code)} is {record.state.value} by now: nothing was done with any of them. "
                    "Send the rest again."
                )
            match what:
                case BulkAction.LABEL:
                    if not record.label_wanted:
                        set_label_place(connection, record, next_label_place(connection))
                case BulkAction.PIN:
                    usual_boards.pin(connection, [record.id], shop.now())
                case BulkAction.REMOVE:
                    if reason is None:
                        raise NothingSelected("No reason is chosen. Choose why the pieces go.")
                    if record.version != shown:
                        raise piece_conflict(record.code)
                    if record.set_aside:
                        raise NothingSelected(
                            f"{format_code(record.code)} is set aside for a board: nothing was let go. "
                            "Take its tick off and send the rest again."
                        )
                    update_offcut(connection, record, state=State.GONE)
                    pieces = record.offcut.count
                    add_event(connection, record.id, shop.now(), EventKind.REMOVED, pieces=pieces, action=reason.value)
        return len(records)
