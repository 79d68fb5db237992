"""Pieces, their photos and their history."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime
from operator import attrgetter
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Text, and_, func, insert, select, type_coerce, update

from inventory.core.codes import format_code
from inventory.core.errors import Conflict
from inventory.core.lengths import volume_mm3
from inventory.core.offcuts import Offcut, State, location_key, marks_text, species_key
from inventory.storage.offcut_document import offcut_document, read_offcut_document
from inventory.storage.records import Event, EventKind, OffcutRecord, PhotoRecord, StoredPhoto
from inventory.storage.repositories.codes import offcuts_by_former_code
from inventory.storage.tables import BOARDS, EVENTS, OFFCUT_COLUMNS, OFFCUTS, PHOTOS, STOCK_CHECKS

_PARENTS = OFFCUTS.alias("parents")
RECORD_COLUMNS = select(OFFCUTS, _PARENTS.c.code.label("parent_code")).outerjoin(
    _PARENTS, OFFCUTS.c.parent_id == _PARENTS.c.id
)
"""What `records_of` needs of each piece; add `where`, `order_by` and `limit`."""

HERE = (State.ON_RACK, State.ON_HOLD)
"""The states of a piece whose wood is in the shop."""


def label_queued() -> ColumnElement[bool]:
    """The condition that a piece is in the shop and in the print queue."""
    # The empty text hides the index of the states from SQLite, by which it would go through every piece in the shop.
    state = type_coerce(OFFCUTS.c.state, Text) + ""
    return and_(OFFCUTS.c.label_place.is_not(None), state.in_([each.value for each in HERE]))


_AT_ONCE = 500
"""How many ids go into one question; older SQLite takes at most 999."""


@dataclass(frozen=True)
class Origin:
    """The offcut (by its row) and the board that a piece is a leftover of."""

    parent: int
    board: int


def records_of(connection: Connection, rows: Iterable[Row[Any]]) -> tuple[OffcutRecord, ...]:
    """The records of rows that RECORD_COLUMNS selected, photos and all, in their order."""
    kept = list(rows)
    photos = photos_of(connection, [row.id for row in kept])
    return tuple(_record(row, photos.get(row.id, ())) for row in kept)


def record_of_row(row: Row[Any]) -> OffcutRecord:
    """The record of a row that RECORD_COLUMNS selected, without its photos."""
    return _record(row, ())


_FIELDS = {each.name: OFFCUT_COLUMNS.get(each.name, each.name) for each in fields(Offcut)}
_OFFCUT_VALUES = attrgetter(*_FIELDS.values())


def _record(row: Row[Any], photos: tuple[PhotoRecord, ...]) -> OffcutRecord:
    return OffcutRecord(
        id=row.id,
        offcut=Offcut(*_OFFCUT_VALUES(row)),
        state=row.state,
        set_aside=row.set_aside,
        version=row.version,
        tagged_at=row.tagged_at,
        parent_tag=row.parent_code,
        from_board=row.from_board,
        # A piece that is gone keeps its place in the queue for the day it is taken back.
        label_wanted=row.label_place is not None and row.state in HERE,
        photos=photos,
        last_checked_at=row.seen_at,
    )


def record_of(connection: Connection, code: str) -> OffcutRecord | None:
    """The piece with this code, None where there is none."""
    found = records_of(connection, connection.execute(RECORD_COLUMNS.where(OFFCUTS.c.code == code)))
    return found[0] if found else None


def records_by_code(connection: Connection, codes: Sequence[str]) -> dict[str, OffcutRecord]:
    """The pieces by these codes, their own or one that they had before; such a piece is under the code asked for."""
    found: dict[str, OffcutRecord] = {}
    for start in range(0, len(codes), _AT_ONCE):
        asked = OFFCUTS.c.code.in_(codes[start : start + _AT_ONCE])
        found |= {each.code: each for each in records_of(connection, connection.execute(RECORD_COLUMNS.where(asked)))}
    former = offcuts_by_former_code(connection, [code for code in codes if code not in found])
    if former:
        rows = connection.execute(RECORD_COLUMNS.where(OFFCUTS.c.id.in_(set(former.values()))))
        by_row = {each.id: each for each in records_of(connection, rows)}
        found |= {code: by_row[row] for code, row in former.items()}
    return found


def photos_of(connection: Connection, ids: Sequence[int]) -> dict[int, tuple[PhotoRecord, ...]]:
    """The photos of pieces by their row, the main one first."""
    found: dict[int, tuple[PhotoRecord, ...]] = {}
    for start in range(0, len(ids), _AT_ONCE):
        asked = PHOTOS.c.offcut_id.in_(ids[start : start + _AT_ONCE]) & PHOTOS.c.place.is_not(None)
        for row in connection.execute(select(PHOTOS).where(asked).order_by(PHOTOS.c.offcut_id, PHOTOS.c.place)):
            photo = PhotoRecord(row.id, row.digest, row.width, row.height)
            found[row.offcut_id] = (*found.get(row.offcut_id, ()), photo)
    return found


_NEW_OFFCUT = insert(OFFCUTS)
_NEW_EVENT = insert(EVENTS)
_NEW_PHOTO = insert(PHOTOS)


def insert_offcut(
    connection: Connection,
    offcut: Offcut,
    tagged_at: datetime,
    *,
    label_place: int | None = None,
    origin: Origin | None = None,
) -> int:
    """Inserts a new piece on the rack; `offcut.tag` is set. Returns its row.

    `label_place` is its place in the print queue, None for none.
    """
    written = connection.execute(
        _NEW_OFFCUT,
        {
            **_values(replace(offcut, tagged_on=offcut.tagged_on or tagged_at.date())),
            "tagged_at": tagged_at,
            "set_aside": 0,
            "state": State.ON_RACK,
            "parent_id": origin.parent if origin else None,
            "from_board": origin.board if origin else None,
            "label_place": label_place,
            "version": 1,
        },
    )
    return written.lastrowid


def update_offcut(
    connection: Connection,
    record: OffcutRecord,
    *,
    code: str | None = None,
    offcut: Offcut | None = None,
    state: State | None = None,
    set_aside: int | None = None,
) -> None:
    """Saves what changed of a piece and increases its version. Raises Conflict where it has changed since `record`."""
    changed: dict[str, Any] = {"version": record.version + 1}
    if code is not None or offcut is not None:
        changed |= _values(replace(offcut or record.offcut, tag=code or record.code))
    if state is not None:
        changed["state"] = state
    if set_aside is not None:
        changed["set_aside"] = set_aside
    seen = (OFFCUTS.c.id == record.id) & (OFFCUTS.c.version == record.version)
    if connection.execute(update(OFFCUTS).where(seen).values(changed)).rowcount != 1:
        raise piece_conflict(record.code)


def piece_conflict(code: str) -> Conflict:
    """The error for a piece that somebody else changed since it was shown."""
    return Conflict(
        f"{format_code(code)} was changed by somebody else since this page was shown: what you sent was not saved. "
        "Look at it as it is now, then change it again."
    )


def _values(offcut: Offcut) -> dict[str, Any]:
    shown = f"{offcut.tag} {format_code(offcut.tag)}"
    return {column: getattr(offcut, name) for name, column in _FIELDS.items()} | {
        "species_key": species_key(offcut.species),
        "volume_mm3": volume_mm3(offcut.length, offcut.width, offcut.thickness),
        "location_key": location_key(offcut.location),
        "batch_key": species_key(offcut.batch),
        "searched": search_text(
            f"{shown} {offcut.species} {offcut.location} {offcut.notes} {marks_text(offcut.marks)} {offcut.batch}"
        ),
    }


def search_text(text: str) -> str:
    """The form in which a search compares texts of species, locations, notes, marks and batches."""
    return species_key(text)


def next_label_place(connection: Connection) -> int:
    """The place after the last one of the print queue."""
    return int(connection.scalar(select(func.coalesce(func.max(OFFCUTS.c.label_place), 0))) or 0) + 1


def set_label_place(connection: Connection, record: OffcutRecord, place: int | None) -> None:
    """Puts a piece into the print queue at `place`, or removes it (None). Its version stays."""
    connection.execute(update(OFFCUTS).where(OFFCUTS.c.id == record.id).values(label_place=place))


def mark_checked(connection: Connection, ids: Sequence[int], now: datetime) -> None:
    """Records that the pieces in these rows were checked. Their versions stay."""
    for start in range(0, len(ids), _AT_ONCE):
        asked = OFFCUTS.c.id.in_(ids[start : start + _AT_ONCE])
        connection.execute(update(OFFCUTS).where(asked).values(seen_at=now))


def add_event(
    connection: Connection,
    offcut: int,
    at: datetime,
    kind: EventKind,
    *,
    pieces: int | None = None,
    bundle: int | None = None,
    board: int | None = None,
    stock_check: int | None = None,
    checklist: int | None = None,
    action: str | None = None,
    note: str = "",
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
) -> None:
    """Adds one event to the history of the piece in this row; what the values are is said at `Event`."""
    connection.execute(
        _NEW_EVENT,
        {
            "offcut_id": offcut,
            "at": at,
            "kind": kind,
            "pieces": pieces,
            "bundle": bundle,
            "board_id": board,
            "stock_check_id": stock_check,
            "checklist_id": checklist,
            "action": action,
            "note": note,
            "before": None if before is None else offcut_document(before),
            "after": None if after is None else offcut_document(after),
            "sentence": None,
        },
    )


_PIECES = OFFCUTS.alias("pieces")
_HISTORY = (
    select(
        EVENTS,
        BOARDS.c.name.label("board_name"),
        STOCK_CHECKS.c.location.label("stock_check"),
        _PARENTS.c.code.label("parent_code"),
    )
    .join(_PIECES, EVENTS.c.offcut_id == _PIECES.c.id)
    .outerjoin(_PARENTS, _PIECES.c.parent_id == _PARENTS.c.id)
    .outerjoin(BOARDS, EVENTS.c.board_id == BOARDS.c.id)
    .outerjoin(STOCK_CHECKS, EVENTS.c.stock_check_id == STOCK_CHECKS.c.id)
    .order_by(EVENTS.c.id.desc())
)


def history_of(connection: Connection, offcut: int) -> tuple[Event, ...]:
    """The history of the piece in this row, latest first."""
    return tuple(
        Event(
            at=row.at,
            kind=row.kind,
            pieces=row.pieces,
            bundle=row.bundle,
            board=row.board_id,
            board_name=row.board_name or "",
            parent=row.parent_code or "",
            stock_check=row.stock_check or "",
            checklist=row.checklist_id,
            action=row.action,
            note=row.note,
            before=read_offcut_document(row.before or {}),
            after=read_offcut_document(row.after or {}),
            sentence=row.sentence,
        )
        for row in connection.execute(_HISTORY.where(EVENTS.c.offcut_id == offcut))
    )


def add_photos(connection: Connection, offcut: int, photos: Sequence[StoredPhoto]) -> None:
    """Adds photos to the piece in this row, after those it has."""
    if not photos:
        return
    last = connection.scalar(select(func.max(PHOTOS.c.place)).where(PHOTOS.c.offcut_id == offcut)) or 0
    for place, photo in enumerate(photos, start=int(last) + 1):
        connection.execute(
            _NEW_PHOTO,
            {
                "offcut_id": offcut,
                "digest": photo.digest,
                "width": photo.width,
                "height": photo.height,
                "place": place,
            },
        )


def reorder_photos(connection: Connection, offcut: int, photos: Sequence[int]) -> None:
    """Puts the photos of the piece in this row into this order; those not named are removed."""
    connection.execute(update(PHOTOS).where(PHOTOS.c.offcut_id == offcut).values(place=None))
    for place, photo in enumerate(photos, start=1):
        connection.execute(update(PHOTOS).where(PHOTOS.c.id == photo).values(place=place))
