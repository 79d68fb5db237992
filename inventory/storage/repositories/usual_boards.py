"""Usual boards (`inventory.pruning.usual_boards`), and pieces that are not proposed for pruning.

Of a board's request only what differs from the shop's settings is stored, as the contract writes it.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

from sqlalchemy import Connection, Row, delete, insert, select, update
from sqlalchemy.dialects.sqlite import insert as insert_or

from inventory.core.errors import Conflict
from inventory.pruning.advice import PIN_DAYS
from inventory.storage.tables import OFFCUTS, PINNED_OFFCUTS, USUAL_BOARDS


@dataclass(frozen=True)
class UsualBoardRecord:
    """A stored usual board: `document` is its request, `a_year` has two places, no `months` means all."""

    id: int
    name: str
    document: dict[str, Any]
    a_year: Fraction
    months: tuple[int, ...]
    version: int


def usual_boards(connection: Connection) -> tuple[UsualBoardRecord, ...]:
    """All usual boards, in the order in which they were added."""
    rows = connection.execute(
        select(USUAL_BOARDS).where(USUAL_BOARDS.c.taken_off_at.is_(None)).order_by(USUAL_BOARDS.c.id)
    )
    return tuple(_record(row) for row in rows)


def usual_board_of(connection: Connection, number: int) -> UsualBoardRecord | None:
    """The usual board with this number, None where there is none on the list."""
    row = connection.execute(
        select(USUAL_BOARDS).where(USUAL_BOARDS.c.id == number, USUAL_BOARDS.c.taken_off_at.is_(None))
    ).first()
    return None if row is None else _record(row)


def insert_usual_board(
    connection: Connection,
    name: str,
    document: dict[str, Any],
    a_year: Fraction,
    months: tuple[int, ...],
    now: datetime,
) -> int:
    """Inserts a usual board; returns its number."""
    values = {"request": document, **_values(name, a_year, months)}
    written = connection.execute(insert(USUAL_BOARDS).values(made_at=now, version=1, **values))
    return int(written.lastrowid)


def update_usual_board(
    connection: Connection, record: UsualBoardRecord, name: str, a_year: Fraction, months: tuple[int, ...]
) -> None:
    """Saves name, rate and months. Raises Conflict where it has changed since `record`."""
    _keep(connection, record, _values(name, a_year, months))


def take_off(connection: Connection, record: UsualBoardRecord, now: datetime) -> None:
    """Removes one from the list; its row stays. Raises Conflict where it has changed since `record`."""
    _keep(connection, record, {"taken_off_at": now})


def _keep(connection: Connection, record: UsualBoardRecord, changed: dict[str, Any]) -> None:
    seen = (USUAL_BOARDS.c.id == record.id) & (USUAL_BOARDS.c.version == record.version)
    seen &= USUAL_BOARDS.c.taken_off_at.is_(None)
    written = connection.execute(update(USUAL_BOARDS).where(seen).values(version=record.version + 1, **changed))
    if written.rowcount != 1:
        raise usual_board_conflict(record.name)


def usual_board_conflict(name: str) -> Conflict:
    """The error for one that somebody else changed since it was shown."""
    return Conflict(
        f'The usual board "{name}" was changed by somebody else since this page was shown: '
        "what you sent was not saved. Look at it as it is now, then change it again."
    )


def _values(name: str, a_year: Fraction, months: tuple[int, ...]) -> dict[str, Any]:
    return {"name": name, "hundredths": round(a_year * 100), "months": list(months)}


def _record(row: Row[Any]) -> UsualBoardRecord:
    return UsualBoardRecord(
        id=row.id,
        name=row.name,
        document=row.request,
        a_year=Fraction(row.hundredths, 100),
        months=tuple(row.months),
        version=row.version,
    )


def pinned(connection: Connection, now: datetime) -> dict[str, datetime]:
    """When each pinned piece was pinned, by its code; pins of a year ago and more are left out."""
    asked = select(OFFCUTS.c.code, PINNED_OFFCUTS.c.at).join(PINNED_OFFCUTS, PINNED_OFFCUTS.c.offcut_id == OFFCUTS.c.id)
    rows = connection.execute(asked.where(PINNED_OFFCUTS.c.at > now - timedelta(days=PIN_DAYS)))
    return {row.code: row.at for row in rows}


def pin(connection: Connection, offcuts: Collection[int], now: datetime) -> None:
    """Pins the pieces in these rows for a year from `now`."""
    for row in offcuts:
        pinning = insert_or(PINNED_OFFCUTS).values(offcut_id=row, at=now)
        connection.execute(pinning.on_conflict_do_update(index_elements=["offcut_id"], set_={"at": now}))


def unpin(connection: Connection, offcut: int) -> None:
    """Removes the pin of the piece in this row."""
    connection.execute(delete(PINNED_OFFCUTS).where(PINNED_OFFCUTS.c.offcut_id == offcut))
