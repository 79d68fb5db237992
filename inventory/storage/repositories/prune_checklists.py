"""The latest forecast, and the checklists for pruning at the rack."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, insert, select, update
from sqlalchemy.dialects.sqlite import insert as insert_or

from inventory.core.offcuts import location_key
from inventory.storage.records import Decision
from inventory.storage.tables import FORECASTS, OFFCUTS, PRUNE_CHECKLIST_ENTRIES, PRUNE_CHECKLISTS

_THE_LATEST = 1


@dataclass(frozen=True)
class ForecastRow:
    """A stored forecast, and when it was made."""

    made_at: datetime
    document: dict[str, Any]


@dataclass(frozen=True)
class ChecklistEntry:
    """A piece on a checklist: `pieces` like ones of the tag `code`; `disposal` is where they went."""

    code: str
    pieces: int
    reason: str
    decision: Decision
    disposal: str | None
    decided_at: datetime | None

    @property
    def mark(self) -> str:
        """Identifies this decision among those on the same piece; empty while there is none."""
        return "" if self.decided_at is None else f"{self.decision.value} {self.decided_at.isoformat()}"


@dataclass(frozen=True)
class PruneChecklist:
    """A prune checklist. `document` is the storage limit and what the removal loses."""

    id: int
    made_at: datetime
    document: dict[str, Any]
    ended_at: datetime | None
    entries: tuple[ChecklistEntry, ...]

    @property
    def waiting(self) -> int:
        """Entries without a decision."""
        return sum(each.decision is Decision.WAITING for each in self.entries)


def save_forecast(connection: Connection, now: datetime, document: dict[str, Any]) -> None:
    """Replaces the stored forecast."""
    row = {"id": _THE_LATEST, "made_at": now, "document": document}
    statement = insert_or(FORECASTS).values(row)
    connection.execute(statement.on_conflict_do_update(index_elements=[FORECASTS.c.id], set_=row))


def load_forecast(connection: Connection) -> ForecastRow | None:
    """The stored forecast, None where none was made yet."""
    row = connection.execute(select(FORECASTS).where(FORECASTS.c.id == _THE_LATEST)).first()
    return None if row is None else ForecastRow(row.made_at, row.document)


def insert_checklist(
    connection: Connection, now: datetime, document: dict[str, Any], entries: Sequence[tuple[int, int, str]]
) -> int:
    """Inserts a checklist, returns its number; an entry is the row of an offcut, its pieces, and the reason."""
    number = int(connection.execute(insert(PRUNE_CHECKLISTS).values(made_at=now, document=document)).lastrowid)
    rows = [
        {
            "checklist_id": number,
            "offcut_id": offcut,
            "place": place,
            "pieces": pieces,
            "reason": reason,
            "decision": Decision.WAITING,
        }
        for place, (offcut, pieces, reason) in enumerate(entries)
    ]
    if rows:
        connection.execute(insert(PRUNE_CHECKLIST_ENTRIES), rows)
    return number


def close_checklist(connection: Connection, number: int, now: datetime) -> None:
    """Closes a checklist; entries without a decision stay so."""
    connection.execute(
        update(PRUNE_CHECKLISTS)
        .where(PRUNE_CHECKLISTS.c.id == number, PRUNE_CHECKLISTS.c.ended_at.is_(None))
        .values(ended_at=now)
    )


def checklist_by_id(connection: Connection, number: int) -> PruneChecklist | None:
    """A checklist by its number, its entries in the order of the locations; None where there is none."""
    row = connection.execute(select(PRUNE_CHECKLISTS).where(PRUNE_CHECKLISTS.c.id == number)).first()
    return None if row is None else _checklist(connection, row)


def open_checklist(connection: Connection) -> PruneChecklist | None:
    """The open checklist, the latest of several; None where none is."""
    c = PRUNE_CHECKLISTS.c
    row = connection.execute(select(PRUNE_CHECKLISTS).where(c.ended_at.is_(None)).order_by(c.id.desc())).first()
    return None if row is None else _checklist(connection, row)


def decide(
    connection: Connection, number: int, offcut: int, decision: Decision, disposal: str | None, now: datetime
) -> None:
    """Records the decision on the piece in this row."""
    at = None if decision is Decision.WAITING else now
    c = PRUNE_CHECKLIST_ENTRIES.c
    here = (c.checklist_id == number) & (c.offcut_id == offcut)
    changed = {"decision": decision, "disposal": disposal, "decided_at": at}
    connection.execute(update(PRUNE_CHECKLIST_ENTRIES).where(here).values(changed))


def _checklist(connection: Connection, row: Row[Any]) -> PruneChecklist:
    c = PRUNE_CHECKLIST_ENTRIES.c
    rows = connection.execute(
        select(PRUNE_CHECKLIST_ENTRIES, OFFCUTS.c.code, OFFCUTS.c.location)
        .join(OFFCUTS, OFFCUTS.c.id == c.offcut_id)
        .where(c.checklist_id == row.id)
        .order_by(c.place)
    )
    ordered = sorted(rows, key=lambda each: (not each.location, location_key(each.location)))
    entries = tuple(
        ChecklistEntry(each.code, each.pieces, each.reason, each.decision, each.disposal, each.decided_at)
        for each in ordered
    )
    return PruneChecklist(row.id, row.made_at, row.document, row.ended_at, entries)
