"""Replacing a tag that was lost or can't be read: the piece gets a new code, and the old one still finds it."""

from __future__ import annotations

from collections.abc import Sequence

from inventory.core.codes import format_code, read_scanned
from inventory.core.errors import UserError
from inventory.services.rack.queries import get_piece
from inventory.services.rack.tagging import CodeTaken
from inventory.shop import Shop
from inventory.storage.records import EventKind, OffcutRecord
from inventory.storage.repositories.codes import (
    code_in_use,
    former_codes,
    issue_code,
    record_former_code,
    reserve_codes,
)
from inventory.storage.repositories.offcuts import (
    add_event,
    next_label_place,
    piece_conflict,
    set_label_place,
    update_offcut,
)
from inventory.storage.repositories.print_jobs import detach_from_jobs

__all__ = ["CodeTaken", "PieceGone", "former", "former_by_code", "replace_tag"]


class PieceGone(UserError):
    """A piece that is gone needs no tag."""


def replace_tag(shop: Shop, code: str, version: int, new: str = "") -> OffcutRecord:
    """Gives the piece a new code: that of a blank tag as typed or scanned, a fresh one where `new` is empty.

    The label of a new code is queued; a blank tag is on the piece already. Raises
    NoSuchPiece, Conflict, PieceGone, InvalidCode, CodeTaken.
    """
    now = shop.now()
    with shop.writing() as connection:
        record = get_piece(connection, code)
        if record.version != version:
            raise piece_conflict(record.code)
        if not record.here:
            raise PieceGone(f"{format_code(record.code)} is {record.state.value} and needs no tag. Take it back first.")
        if new.strip():
            fresh = read_scanned(new)
            if code_in_use(connection, fresh):
                raise CodeTaken(
                    f"{format_code(fresh)} is or was the code of a piece and is never given twice. "
                    "Take another blank tag, or leave the code out for a fresh one."
                )
            reserve_codes(connection, [fresh], now)
        else:
            fresh = issue_code(connection, shop.randbelow, now)
        update_offcut(connection, record, code=fresh)
        record_former_code(connection, record.id, record.code, now)
        # A label in a print job under way has the old code; the new one must still be printed.
        detach_from_jobs(connection, record.id)
        if new.strip():
            set_label_place(connection, record, None)
        elif not record.label_wanted:
            set_label_place(connection, record, next_label_place(connection))
        old, new_tag = {"tag": record.code}, {"tag": fresh}
        add_event(connection, record.id, now, EventKind.CHANGED, before=old, after=new_tag)
        return get_piece(connection, fresh)


def former(shop: Shop, record: OffcutRecord) -> tuple[str, ...]:
    """The codes that the piece had before, oldest first."""
    with shop.reading() as connection:
        return former_codes(connection).get(record.id, ())


def former_by_code(shop: Shop, records: Sequence[OffcutRecord]) -> dict[str, tuple[str, ...]]:
    """The codes that these pieces had before, by the one in their record; only of those that had any.

    A tag that was replaced since the record was read is not former there.
    """
    with shop.reading() as connection:
        former_of = former_codes(connection)
    found = {}
    for record in records:
        before = former_of.get(record.id, ())
        if record.code in before:
            before = before[: before.index(record.code)]
        if before:
            found[record.code] = before
    return found
