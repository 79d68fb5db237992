"""Pieces that were not checked for a long time: listed, and confirmed or removed together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from sqlalchemy import Connection, and_, func, select

from inventory.core.codes import format_code
from inventory.core.errors import UserError
from inventory.core.offcuts import State
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.queries import get_pieces, not_checked_since
from inventory.shop import Shop
from inventory.storage.records import EventKind, OffcutRecord
from inventory.storage.repositories.offcuts import (
    HERE,
    RECORD_COLUMNS,
    add_event,
    mark_checked,
    records_of,
    update_offcut,
)
from inventory.storage.repositories.settings_rows import read_settings
from inventory.storage.tables import OFFCUTS

MAX_UNCHECKED = 100


class CannotConfirm(UserError):
    """The action can't be done with these pieces."""


class CheckResult(Enum):
    """What a check of these pieces found."""

    HERE = "here"
    NOT_FOUND = "not found"


@dataclass(frozen=True)
class UncheckedPieces:
    """The pieces to check, by location; `tags` counts all of them, `records` are the first."""

    months: int
    tags: int
    records: tuple[OffcutRecord, ...]


def unchecked_pieces(shop: Shop) -> UncheckedPieces:
    """The pieces that were not checked for the number of months in the settings."""
    with shop.reading() as connection:
        months = read_settings(connection).ask_after
        where = and_(OFFCUTS.c.state.in_(HERE), not_checked_since(shop.now(), months))
        order = (OFFCUTS.c.location_key == "", OFFCUTS.c.location_key, OFFCUTS.c.code)
        rows = connection.execute(RECORD_COLUMNS.where(where).order_by(*order).limit(MAX_UNCHECKED))
        tags = connection.scalar(select(func.count()).select_from(OFFCUTS).where(where)) or 0
        return UncheckedPieces(months, tags, records_of(connection, rows))


def settle(shop: Shop, codes: Sequence[str], settled: CheckResult) -> int:
    """Records that these pieces are where they should be, or removes them as not found; all or none.

    Returns how many. Pieces that are gone by now are left alone; none is removed that was seen in the meantime. Raises
    CannotConfirm, InvalidCode, NoSuchPiece.
    """
    if not codes:
        raise CannotConfirm("No piece is ticked. Tick those that you have looked for.")
    with shop.writing() as connection:
        records = [each for each in get_pieces(connection, list(dict.fromkeys(codes))) if each.here]
        if settled is CheckResult.HERE:
            mark_checked(connection, [each.id for each in records], shop.now())
        for each in records:
            if settled is CheckResult.HERE:
                add_event(connection, each.id, shop.now(), EventKind.SEEN, action="was asked about")
                continue
            if each.set_aside:
                raise CannotConfirm(
                    f"{format_code(each.code)} is set aside for a board and may lie at the bench. Untick it, "
                    "or abandon "
                    "the board first."
                )
            if not _long_unseen(shop, connection, each):
                raise CannotConfirm(
                    f"{format_code(each.code)} was seen by somebody else since you asked: nothing was let go. Send the "
                    "rest again."
                )
            update_offcut(connection, each, state=State.GONE)
            add_event(
                connection,
                each.id,
                shop.now(),
                EventKind.REMOVED,
                pieces=each.offcut.count,
                action=RemovalReason.NOT_FOUND.value,
            )
        return len(records)


def _long_unseen(shop: Shop, connection: Connection, record: OffcutRecord) -> bool:
    months = read_settings(connection).ask_after
    asked = select(OFFCUTS.c.id).where(OFFCUTS.c.id == record.id, not_checked_since(shop.now(), months))
    return connection.scalar(asked) is not None
