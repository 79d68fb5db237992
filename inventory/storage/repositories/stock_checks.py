"""Stock checks, and the tags that were seen in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, delete, insert, select, update
from sqlalchemy.dialects.sqlite import insert as insert_or

from inventory.storage.tables import STOCK_CHECK_SIGHTINGS, STOCK_CHECKS


@dataclass(frozen=True)
class Sighting:
    """A tag that was seen; `pieces` is the counted number of a bundle, None where nobody counted."""

    code: str
    at: datetime
    pieces: int | None


@dataclass(frozen=True)
class StockCheck:
    """A stock check of a location; `outcome` is None while it is open."""

    id: int
    location: str
    made_at: datetime
    ended_at: datetime | None
    outcome: dict[str, Any] | None


def insert_stock_check(connection: Connection, location: str, now: datetime) -> int:
    """Inserts a stock check, returns its number."""
    return int(connection.execute(insert(STOCK_CHECKS).values(location=location, made_at=now)).lastrowid)


def stock_check_by_id(connection: Connection, number: int) -> StockCheck | None:
    """A stock check by its number, None where there is none."""
    row = connection.execute(select(STOCK_CHECKS).where(STOCK_CHECKS.c.id == number)).first()
    return None if row is None else _stock_check(row)


def open_stock_checks(connection: Connection) -> tuple[StockCheck, ...]:
    """The open stock checks, latest first."""
    asked = select(STOCK_CHECKS).where(STOCK_CHECKS.c.ended_at.is_(None)).order_by(STOCK_CHECKS.c.id.desc())
    return tuple(_stock_check(row) for row in connection.execute(asked))


def finished_stock_checks(connection: Connection, most: int) -> tuple[StockCheck, ...]:
    """The finished stock checks, latest first, at most `most`."""
    ended = select(STOCK_CHECKS).where(STOCK_CHECKS.c.ended_at.is_not(None))
    rows = connection.execute(ended.order_by(STOCK_CHECKS.c.ended_at.desc(), STOCK_CHECKS.c.id.desc()).limit(most))
    return tuple(_stock_check(row) for row in rows)


def finish_stock_check(connection: Connection, number: int, now: datetime, outcome: dict[str, Any]) -> None:
    """Finishes a stock check with its outcome."""
    values = {"ended_at": now, "outcome": outcome}
    connection.execute(update(STOCK_CHECKS).where(STOCK_CHECKS.c.id == number).values(values))


def see(connection: Connection, number: int, codes: Sequence[str], now: datetime) -> None:
    """Records tags as seen; those already recorded stay as they are."""
    rows = [{"stock_check_id": number, "code": code, "at": now} for code in codes]
    if rows:
        connection.execute(insert_or(STOCK_CHECK_SIGHTINGS).on_conflict_do_nothing(), rows)


def count(connection: Connection, number: int, code: str, pieces: int, now: datetime) -> None:
    """Records a tag as seen, and how many pieces are there; the latest count wins."""
    row = {"stock_check_id": number, "code": code, "at": now, "pieces": pieces}
    statement = insert_or(STOCK_CHECK_SIGHTINGS).values(row)
    keys = [STOCK_CHECK_SIGHTINGS.c.stock_check_id, STOCK_CHECK_SIGHTINGS.c.code]
    connection.execute(statement.on_conflict_do_update(index_elements=keys, set_={"pieces": pieces}))


def unsee(connection: Connection, number: int, codes: Sequence[str]) -> None:
    """Removes tags that were recorded by mistake."""
    here = (STOCK_CHECK_SIGHTINGS.c.stock_check_id == number) & STOCK_CHECK_SIGHTINGS.c.code.in_(codes)
    connection.execute(delete(STOCK_CHECK_SIGHTINGS).where(here))


def sightings(connection: Connection, number: int) -> tuple[Sighting, ...]:
    """The tags that were seen, the latest first."""
    rows = connection.execute(
        select(STOCK_CHECK_SIGHTINGS)
        .where(STOCK_CHECK_SIGHTINGS.c.stock_check_id == number)
        .order_by(STOCK_CHECK_SIGHTINGS.c.at.desc(), STOCK_CHECK_SIGHTINGS.c.code)
    )
    return tuple(Sighting(row.code, row.at, row.pieces) for row in rows)


def _stock_check(row: Row[Any]) -> StockCheck:
    return StockCheck(row.id, row.location, row.made_at, row.ended_at, row.outcome)
