"""Stock checks, and the tags that were seen in them, as rows and as records.

What a tag that was seen means is the services'.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, delete, insert, select, update
from sqlalchemy.dialects.sqlite import insert as insert_or

from inventory.storage.tables import STOCKTAKE_SEEN, STOCKTAKES


@dataclass(frozen=True)
class Sighting:
    """A tag that was seen; `pieces` is how many the bundle was found to hold, None where nobody counted."""

    code: str
    at: datetime
    pieces: int | None


@dataclass(frozen=True)
class StockCheck:
    """The pieces of a location looked after; `outcome` says what came of it, None while it is under way."""

    id: int
    location: str
    made_at: datetime
    ended_at: datetime | None
    outcome: dict[str, Any] | None


def insert_stock_check(connection: Connection, location: str, now: datetime) -> int:
    """Keeps a new stock check, answers its number."""
    return int(
        connection.execute(insert(STOCKTAKES).values(location=location, made_at=now.isoformat())).lastrowid,
    )


def stock_check_by_id(connection: Connection, number: int) -> StockCheck | None:
    """A stock check by its number, None where there is none."""
    row = connection.execute(select(STOCKTAKES).where(STOCKTAKES.c.id == number)).first()
    return None if row is None else _stock_check(row)


def open_stock_checks(connection: Connection) -> tuple[StockCheck, ...]:
    """Those that are not finished, latest first."""
    asked = select(STOCKTAKES).where(STOCKTAKES.c.ended_at.is_(None)).order_by(STOCKTAKES.c.id.desc())
    return tuple(_stock_check(row) for row in connection.execute(asked))


def finished_stock_checks(connection: Connection, most: int) -> tuple[StockCheck, ...]:
    """The latest ones that are finished, the last first."""
    ended = select(STOCKTAKES).where(STOCKTAKES.c.ended_at.is_not(None))
    rows = connection.execute(ended.order_by(STOCKTAKES.c.ended_at.desc(), STOCKTAKES.c.id.desc()).limit(most))
    return tuple(_stock_check(row) for row in rows)


def finish_stock_check(connection: Connection, number: int, now: datetime, outcome: dict[str, Any]) -> None:
    """Finishes a stock check and keeps what came of it."""
    values = {"ended_at": now.isoformat(), "outcome": json.dumps(outcome)}
    connection.execute(update(STOCKTAKES).where(STOCKTAKES.c.id == number).values(values))


def see(connection: Connection, number: int, codes: Sequence[str], now: datetime) -> None:
    """Notes tags that were seen; one that was noted before stays as it is."""
    rows = [{"stocktake_id": number, "code": code, "at": now.isoformat()} for code in codes]
    if rows:
        connection.execute(insert_or(STOCKTAKE_SEEN).on_conflict_do_nothing(), rows)


def count(connection: Connection, number: int, code: str, pieces: int, now: datetime) -> None:
    """Notes a tag that was seen, and how many pieces were found under it; the latest count holds."""
    row = {"stocktake_id": number, "code": code, "at": now.isoformat(), "pieces": pieces}
    statement = insert_or(STOCKTAKE_SEEN).values(row)
    keys = [STOCKTAKE_SEEN.c.stocktake_id, STOCKTAKE_SEEN.c.code]
    connection.execute(statement.on_conflict_do_update(index_elements=keys, set_={"pieces": pieces}))


def unsee(connection: Connection, number: int, codes: Sequence[str]) -> None:
    """Takes tags off again that were noted by mistake."""
    here = (STOCKTAKE_SEEN.c.stocktake_id == number) & STOCKTAKE_SEEN.c.code.in_(codes)
    connection.execute(delete(STOCKTAKE_SEEN).where(here))


def sightings(connection: Connection, number: int) -> tuple[Sighting, ...]:
    """The tags that were seen, the latest first."""
    rows = connection.execute(
        select(STOCKTAKE_SEEN)
        .where(STOCKTAKE_SEEN.c.stocktake_id == number)
        .order_by(STOCKTAKE_SEEN.c.at.desc(), STOCKTAKE_SEEN.c.code)
    )
    return tuple(Sighting(row.code, datetime.fromisoformat(row.at), row.pieces) for row in rows)


def _stock_check(row: Row[Any]) -> StockCheck:
    return StockCheck(
        row.id,
        row.location,
        datetime.fromisoformat(row.made_at),
        None if row.ended_at is None else datetime.fromisoformat(row.ended_at),
        None if row.outcome is None else json.loads(row.outcome),
    )
