"""Pieces that nobody has seen for long: listed, and settled in one go when somebody has looked.

Knows what "for long" is in this shop. How a stocktake goes: `stocktaking`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from sqlalchemy import Connection, and_, func, select

from inventory.core.codes import shown_code
from inventory.core.errors import Mendable
from inventory.core.offcuts import State
from inventory.services.rack.editing import LetGoReason
from inventory.services.rack.queries import the_pieces, unseen_since
from inventory.shop import Shop
from inventory.storage.records import EventKind, OffcutRecord
from inventory.storage.repositories.offcuts import HERE, RECORD_COLUMNS, add_event, note_seen, records_of, update_offcut
from inventory.storage.repositories.settings_rows import read_settings
from inventory.storage.tables import OFFCUTS

MOST_ASKED = 100


class NotSettled(Mendable):
    """What was asked for can't be done with the pieces."""


class Settled(Enum):
    """What somebody found who looked for a piece."""

    HERE = "here"
    NOT_FOUND = "not found"


@dataclass(frozen=True)
class Unseen:
    """The pieces to ask about, by location; `tags` counts them all, `records` are the first of them."""

    months: int
    tags: int
    records: tuple[OffcutRecord, ...]


def to_ask_about(shop: Shop) -> Unseen:
    """The pieces that nobody has seen for the months that the shop has set."""
    with shop.reading() as connection:
        months = read_settings(connection).ask_after
        where = and_(OFFCUTS.c.state.in_(HERE), unseen_since(shop.now(), months))
        order = (OFFCUTS.c.location_key == "", OFFCUTS.c.location_key, OFFCUTS.c.code)
        rows = connection.execute(RECORD_COLUMNS.where(where).order_by(*order).limit(MOST_ASKED))
        tags = connection.scalar(select(func.count()).select_from(OFFCUTS).where(where)) or 0
        return Unseen(months, tags, records_of(connection, rows))


def settle(shop: Shop, codes: Sequence[str], settled: Settled) -> int:
    """Notes that these pieces are where they should be, or lets them go as not found; all or none.

    Answers how many. Pieces that are gone by now are left alone; none is let go that somebody has seen since it was
    asked about. Raises NotSettled, NotACode, NoSuchPiece.
    """
    if not codes:
        raise NotSettled("No piece is ticked. Tick those that you have looked for.")
    with shop.writing() as connection:
        records = [each for each in the_pieces(connection, list(dict.fromkeys(codes))) if each.here]
        if settled is Settled.HERE:
            note_seen(connection, [each.id for each in records], shop.now())
        for each in records:
            if settled is Settled.HERE:
                add_event(connection, each.id, shop.now(), EventKind.SEEN, "was asked about")
                continue
            if each.set_aside:
                raise NotSettled(
                    f"{shown_code(each.code)} is set aside for a board and may lie at the bench. Untick it, or abandon "
                    "the board first."
                )
            if not _long_unseen(shop, connection, each):
                raise NotSettled(
                    f"{shown_code(each.code)} was seen by somebody else since you asked: nothing was let go. Send the "
                    "rest again."
                )
            update_offcut(connection, each, state=State.LET_GO)
            add_event(connection, each.id, shop.now(), EventKind.LET_GO, LetGoReason.NOT_FOUND.value)
        return len(records)


def _long_unseen(shop: Shop, connection: Connection, record: OffcutRecord) -> bool:
    months = read_settings(connection).ask_after
    asked = select(OFFCUTS.c.id).where(OFFCUTS.c.id == record.id, unseen_since(shop.now(), months))
    return connection.scalar(asked) is not None
