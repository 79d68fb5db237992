"""Forecasts, and the lists to walk the rack with, as rows and as records.

What a forecast says is `inventory.pruning`'s, what a decision does the services'.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, insert, select, update
from sqlalchemy.dialects.sqlite import insert as insert_or

from inventory.core.offcuts import location_key
from inventory.storage.records import Decision
from inventory.storage.tables import FORECASTS, OFFCUTS, WALK_ENTRIES, WALKS

_THE_LATEST = 1


@dataclass(frozen=True)
class ForecastRow:
    """What was found, and when."""

    made_at: datetime
    document: dict[str, Any]


@dataclass(frozen=True)
class ChecklistEntry:
    """A piece on a list: `pieces` like ones of the tag `code` may go; `way` says where they went."""

    code: str
    pieces: int
    reason: str
    decision: Decision
    way: str | None
    decided_at: datetime | None

    @property
    def mark(self) -> str:
        """Tells this decision from an earlier or a later one on the same piece; empty while there is none."""
        return "" if self.decided_at is None else f"{self.decision.value} {self.decided_at.isoformat()}"


@dataclass(frozen=True)
class PruneChecklist:
    """A list to walk the rack with. `document` says what was asked and what it costs."""

    id: int
    made_at: datetime
    document: dict[str, Any]
    ended_at: datetime | None
    entries: tuple[ChecklistEntry, ...]

    @property
    def waiting(self) -> int:
        """Entries on which nothing was decided yet."""
        return sum(each.decision is Decision.WAITING for each in self.entries)


def save_forecast(connection: Connection, now: datetime, document: dict[str, Any]) -> None:
    """Keeps a forecast in the place of the one before."""
    row = {"id": _THE_LATEST, "made_at": now.isoformat(), "document": json.dumps(document)}
    statement = insert_or(FORECASTS).values(row)
    connection.execute(statement.on_conflict_do_update(index_elements=[FORECASTS.c.id], set_=row))


def load_forecast(connection: Connection) -> ForecastRow | None:
    """The forecast that is kept, None where none was made yet."""
    row = connection.execute(select(FORECASTS).where(FORECASTS.c.id == _THE_LATEST)).first()
    return None if row is None else ForecastRow(datetime.fromisoformat(row.made_at), json.loads(row.document))


def insert_checklist(
    connection: Connection, now: datetime, document: dict[str, Any], entries: Sequence[tuple[int, int, str]]
) -> int:
    """Keeps a new list, answers its number; an entry is the row of an offcut, how many of it may go, and why."""
    number = int(
        connection.execute(insert(WALKS).values(made_at=now.isoformat(), document=json.dumps(document))).lastrowid
    )
    rows = [
        {
            "walk_id": number,
            "offcut_id": offcut,
            "place": place,
            "pieces": pieces,
            "reason": reason,
            "decision": Decision.WAITING.value,
        }
        for place, (offcut, pieces, reason) in enumerate(entries)
    ]
    if rows:
        connection.execute(insert(WALK_ENTRIES), rows)
    return number


def close_checklist(connection: Connection, number: int, now: datetime) -> None:
    """Puts a list away; what is still waiting on it stays as it is."""
    connection.execute(
        update(WALKS).where(WALKS.c.id == number, WALKS.c.ended_at.is_(None)).values(ended_at=now.isoformat())
    )


def checklist_by_id(connection: Connection, number: int) -> PruneChecklist | None:
    """A list by its number, its entries in the order of the locations; None where there is none."""
    row = connection.execute(select(WALKS).where(WALKS.c.id == number)).first()
    return None if row is None else _checklist(connection, row)


def open_checklist(connection: Connection) -> PruneChecklist | None:
    """The list that is under way, the latest of several; None where none is."""
    row = connection.execute(select(WALKS).where(WALKS.c.ended_at.is_(None)).order_by(WALKS.c.id.desc())).first()
    return None if row is None else _checklist(connection, row)


def decide(
    connection: Connection, number: int, offcut: int, decision: Decision, way: str | None, now: datetime
) -> None:
    """Notes what became of the piece in this row."""
    at = None if decision is Decision.WAITING else now.isoformat()
    here = (WALK_ENTRIES.c.walk_id == number) & (WALK_ENTRIES.c.offcut_id == offcut)
    connection.execute(update(WALK_ENTRIES).where(here).values(decision=decision.value, way=way, decided_at=at))


def _checklist(connection: Connection, row: Row[Any]) -> PruneChecklist:
    rows = connection.execute(
        select(WALK_ENTRIES, OFFCUTS.c.code, OFFCUTS.c.location)
        .join(OFFCUTS, OFFCUTS.c.id == WALK_ENTRIES.c.offcut_id)
        .where(WALK_ENTRIES.c.walk_id == row.id)
        .order_by(WALK_ENTRIES.c.place)
    )
    ordered = sorted(rows, key=lambda each: (not each.location, location_key(each.location)))
    entries = tuple(
        ChecklistEntry(
            each.code,
            each.pieces,
            each.reason,
            Decision(each.decision),
            each.way,
            None if each.decided_at is None else datetime.fromisoformat(each.decided_at),
        )
        for each in ordered
    )
    ended = None if row.ended_at is None else datetime.fromisoformat(row.ended_at)
    return PruneChecklist(row.id, datetime.fromisoformat(row.made_at), json.loads(row.document), ended, entries)
