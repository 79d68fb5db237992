"""Tagging: adds pieces to the rack, each with a code of its own."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from sqlalchemy import Column, Connection, func, select

from inventory.core.codes import format_code, read_code
from inventory.core.errors import UserError
from inventory.core.offcuts import InvalidOffcut, Offcut
from inventory.services.rack.queries import get_pieces, record
from inventory.services.rack.typed_line import InvalidTypedLine, describe_line, read_line
from inventory.shop import Shop
from inventory.storage.records import EventKind, OffcutRecord, StoredPhoto
from inventory.storage.repositories.codes import code_in_use, issue_code, record_former_code, reserve_codes
from inventory.storage.repositories.idempotency_keys import idempotency_key, store_answer, stored_answer
from inventory.storage.repositories.offcuts import (
    RECORD_COLUMNS,
    add_event,
    add_photos,
    insert_offcut,
    mark_checked,
    next_label_place,
    records_of,
)
from inventory.storage.tables import OFFCUTS

__all__ = [
    "CodeTaken",
    "InvalidTypedLine",
    "NewPiece",
    "describe_line",
    "last_tagged",
    "normalize_name",
    "normalize_offcut",
    "read_line",
    "recent_batches",
    "recent_locations",
    "recent_species",
    "tag",
    "tag_all",
    "tag_copies",
    "tag_in_transaction",
]  # fmt: skip

MAX_COPIES = 100


class CodeTaken(UserError):
    """The code is on another piece, or was."""


@dataclass(frozen=True)
class NewPiece:
    """A piece to be tagged. `code` is that of a blank tag or of an imported list; None makes a new one.

    `offcut.tag` is ignored; without `offcut.tagged_on` the day is today.
    """

    offcut: Offcut
    code: str | None = None
    photos: tuple[StoredPhoto, ...] = ()
    label_wanted: bool = True
    former: tuple[str, ...] = ()
    """Codes of tags that the piece had before, in an imported list; they find it too."""
    seen_on: date | None = None
    """The day on which it was last checked, in an imported list."""


def tag(
    shop: Shop, offcut: Offcut, *, photos: Sequence[StoredPhoto] = (), code: str | None = None, form_token: str = ""
) -> OffcutRecord:
    """Adds one piece to the rack.

    `code` is the seven characters of the blank tag that is on it, None for a new code,
    whose label is then queued. A form sent twice with the same `form_token` tags once: the
    second call returns the piece of the first. Raises InvalidCode, CodeTaken.
    """
    return tag_all(shop, [NewPiece(offcut, code, tuple(photos), label_wanted=code is None)], form_token=form_token)[0]


def tag_all(shop: Shop, pieces: Sequence[NewPiece], *, form_token: str = "") -> tuple[OffcutRecord, ...]:
    """As `tag`, many at once: all or none. Raises InvalidCode, CodeTaken."""
    key = idempotency_key("tag", form_token, *pieces)
    now = shop.now()
    with shop.writing() as connection:
        answered = stored_answer(connection, key)
        if answered is not None:
            return get_pieces(connection, answered.split())
        records = tag_in_transaction(shop, connection, pieces, now)
        store_answer(connection, key, " ".join(each.code for each in records), now)
        return records


def tag_in_transaction(
    shop: Shop, connection: Connection, pieces: Sequence[NewPiece], now: datetime
) -> tuple[OffcutRecord, ...]:
    """As `tag_all`, within the caller's transaction."""
    place = next_label_place(connection)
    codes = []
    for number, piece in enumerate(pieces):
        code = _code_for(shop, connection, piece.code, now)
        normalized = normalize_offcut(piece.offcut, now.date())
        offcut = replace(normalized, tag=code, tagged_on=normalized.tagged_on or now.date())
        row = insert_offcut(connection, offcut, now, label_place=place + number if piece.label_wanted else None)
        for old in piece.former:
            reserve_codes(connection, [old], now)
            record_former_code(connection, row, old, now)
        if piece.seen_on is not None:
            mark_checked(connection, [row], datetime.combine(piece.seen_on, time(), now.tzinfo))
        add_photos(connection, row, piece.photos)
        add_event(connection, row, now, EventKind.TAGGED, after=vars(offcut))
        codes.append(code)
    return get_pieces(connection, codes)


def _code_for(shop: Shop, connection: Connection, given: str | None, now: datetime) -> str:
    if given is None:
        return issue_code(connection, shop.randbelow, now)
    code = read_code(given)
    if code_in_use(connection, code):
        raise CodeTaken(
            f"{format_code(code)} is the code of another piece and is never given twice. "
            "Take another tag, or leave the code out for a fresh one."
        )
    reserve_codes(connection, [code], now)
    return code


def normalize_offcut(offcut: Offcut, today: date) -> Offcut:
    """The same offcut with its words tidied: single spaces in names, no control characters, composed letters.

    A moisture content without a day was read when the piece was tagged, or today. Raises InvalidOffcut for a
    future day.
    """
    moisture_on = offcut.moisture_on
    if offcut.moisture is not None:
        moisture_on = moisture_on or offcut.tagged_on or today
        if moisture_on > today:
            raise InvalidOffcut(
                f"The moisture can't have been read on {moisture_on}, which is still to come. Check the day.",
                "moisture_on",
            )
    notes = "\n".join(line.rstrip() for line in _plain(offcut.notes).splitlines())
    return replace(
        offcut,
        species=normalize_name(offcut.species),
        location=normalize_name(offcut.location),
        notes=notes.strip(),
        moisture_on=moisture_on,
        batch=normalize_name(offcut.batch),
    )


def normalize_name(name: str) -> str:
    """A species, location or batch, tidied as `normalize_offcut` does."""
    return " ".join(_plain(name).split())


def _plain(text: str) -> str:
    whole = text.encode("utf-8", "replace").decode()
    return re.sub(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]", " ", unicodedata.normalize("NFC", whole.replace("\r\n", "\n")))


def tag_copies(shop: Shop, code: str, *, copies: int = 1, form_token: str = "") -> tuple[OffcutRecord, ...]:
    """Tags `copies` single pieces like the one with this code, each with a code of its own.

    Photos are not passed on. For like pieces under ONE tag, use `offcut.count`.
    Raises NoSuchPiece, InvalidOffcut (copies).
    """
    if not 1 <= copies <= MAX_COPIES:
        raise InvalidOffcut(f"{copies} more can't be tagged at once. Type a number from 1 to {MAX_COPIES}.", "copies")
    like = replace(record(shop, code).offcut, count=1, tagged_on=None)
    return tag_all(shop, [NewPiece(like)] * copies, form_token=form_token)


def last_tagged(shop: Shop) -> OffcutRecord | None:
    """The piece that a person tagged last (not a leftover of a cut); the form takes all but the sizes from it."""
    with shop.reading() as connection:
        by_hand = RECORD_COLUMNS.where(OFFCUTS.c.from_board.is_(None))
        found = records_of(connection, connection.execute(by_hand.order_by(OFFCUTS.c.id.desc()).limit(1)))
    return found[0] if found else None


def recent_species(shop: Shop, most: int = 8) -> tuple[str, ...]:
    """Species for big buttons, latest used first, each once, as typed last."""
    return _recent(shop, OFFCUTS.c.species, OFFCUTS.c.species_key, most)


def recent_locations(shop: Shop, most: int = 8) -> tuple[str, ...]:
    """Locations for big buttons, latest used first, each once, as typed last."""
    return _recent(shop, OFFCUTS.c.location, OFFCUTS.c.location_key, most)


def recent_batches(shop: Shop, most: int = 8) -> tuple[str, ...]:
    """Batches to choose from, latest used first, each once, as typed last."""
    return _recent(shop, OFFCUTS.c.batch, OFFCUTS.c.batch_key, most)


def _recent(shop: Shop, column: Column[str], key: Column[str], most: int) -> tuple[str, ...]:
    # Beside max() a bare column is that of the row with the maximum (SQLite documentation, SELECT).
    latest = func.max(OFFCUTS.c.id)
    asked = select(column, latest).where(key != "").group_by(key).order_by(latest.desc()).limit(most)
    with shop.reading() as connection:
        return tuple(row[0] for row in connection.execute(asked))
