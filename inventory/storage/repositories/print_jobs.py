"""Print jobs, and the pieces whose labels are in them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, delete, insert, or_, select, update

from inventory.storage.records import OffcutRecord, PrintJob, PrintState
from inventory.storage.tables import OFFCUTS, PRINT_JOBS, PRINT_LABELS


def offcuts_at_printer() -> Select[tuple[int]]:
    """The rows of the pieces whose labels are in a job under way, for a `where`."""
    carried = select(PRINT_LABELS.c.offcut_id).join(PRINT_JOBS, PRINT_JOBS.c.id == PRINT_LABELS.c.job_id)
    return carried.where(PRINT_JOBS.c.ended_at.is_(None))


def taken(connection: Connection, offcuts: Iterable[OffcutRecord]) -> tuple[OffcutRecord, ...]:
    """Those of the pieces whose label is in a job under way, or has left the print queue since they were read."""
    carried = {row.offcut_id for row in connection.execute(offcuts_at_printer())}
    wanted = set(connection.scalars(select(OFFCUTS.c.id).where(OFFCUTS.c.label_place.is_not(None))))
    return tuple(each for each in offcuts if each.id in carried or (each.label_wanted and each.id not in wanted))


def insert_job(connection: Connection, job: PrintJob, offcuts: Iterable[int]) -> int:
    """Inserts a job that is being sent, with the rows of the pieces whose labels are in it; returns its id."""
    written = connection.execute(
        insert(PRINT_JOBS),
        {
            "printer": job.printer,
            "stock": job.stock,
            "title": job.title,
            "number": job.number,
            "state": job.state,
            "reason": job.reason,
            "sent_at": job.sent_at,
        },
    )
    job_id = int(written.lastrowid)
    carried = [{"job_id": job_id, "offcut_id": offcut} for offcut in dict.fromkeys(offcuts)]
    if carried:
        connection.execute(insert(PRINT_LABELS), carried)
    return job_id


def set_job_number(connection: Connection, job_id: int, number: int) -> None:
    """Records the number that the printing system gave a job."""
    connection.execute(update(PRINT_JOBS).where(PRINT_JOBS.c.id == job_id).values(number=number))


def delete_job(connection: Connection, job_id: int) -> None:
    """Deletes a job that the printing system refused; its labels stay in the print queue."""
    connection.execute(delete(PRINT_LABELS).where(PRINT_LABELS.c.job_id == job_id))
    connection.execute(delete(PRINT_JOBS).where(PRINT_JOBS.c.id == job_id))


def detach_from_jobs(connection: Connection, offcut: int) -> None:
    """Removes the piece in this row from the jobs under way: what they print is not its label any more."""
    under_way = select(PRINT_JOBS.c.id).where(PRINT_JOBS.c.ended_at.is_(None))
    connection.execute(
        delete(PRINT_LABELS).where(PRINT_LABELS.c.offcut_id == offcut, PRINT_LABELS.c.job_id.in_(under_way))
    )


def update_job_state(
    connection: Connection, job_id: int, state: PrintState, reason: str, ended_at: datetime | None = None
) -> bool:
    """Records the state of a job under way; returns False where it had ended already."""
    under_way = (PRINT_JOBS.c.id == job_id) & PRINT_JOBS.c.ended_at.is_(None)
    changed = {"state": state, "reason": reason, "ended_at": ended_at}
    return connection.execute(update(PRINT_JOBS).where(under_way).values(changed)).rowcount == 1


def job_of(connection: Connection, job_id: int) -> PrintJob | None:
    """The job with this id, None where there is none."""
    found = _jobs(connection, select(PRINT_JOBS).where(PRINT_JOBS.c.id == job_id))
    return found[0] if found else None


def active_jobs(connection: Connection) -> tuple[PrintJob, ...]:
    """The jobs that have not ended, the first sent first."""
    return _jobs(connection, select(PRINT_JOBS).where(PRINT_JOBS.c.ended_at.is_(None)).order_by(PRINT_JOBS.c.id))


def recent_jobs(connection: Connection, since: datetime) -> tuple[PrintJob, ...]:
    """The jobs under way and those that ended since a moment, the latest first."""
    asked = or_(PRINT_JOBS.c.ended_at.is_(None), PRINT_JOBS.c.ended_at >= since)
    return _jobs(connection, select(PRINT_JOBS).where(asked).order_by(PRINT_JOBS.c.id.desc()))


def last_printer(connection: Connection, stock: str) -> str:
    """The printer that a stock was last sent to, empty where it never was."""
    asked = select(PRINT_JOBS.c.printer).where(PRINT_JOBS.c.stock == stock).order_by(PRINT_JOBS.c.id.desc()).limit(1)
    return connection.scalar(asked) or ""


def _jobs(connection: Connection, asked: Select[Any]) -> tuple[PrintJob, ...]:
    rows = connection.execute(asked).all()
    labels = _labels_of(connection, [row.id for row in rows])
    return tuple(_job(row, tuple(labels.get(row.id, ()))) for row in rows)


def _labels_of(connection: Connection, jobs: Sequence[int]) -> dict[int, list[str]]:
    asked = select(PRINT_LABELS.c.job_id, OFFCUTS.c.code).join(OFFCUTS, OFFCUTS.c.id == PRINT_LABELS.c.offcut_id)
    labels: dict[int, list[str]] = {}
    for job_id, code in connection.execute(asked.where(PRINT_LABELS.c.job_id.in_(jobs)).order_by(OFFCUTS.c.id)):
        labels.setdefault(job_id, []).append(code)
    return labels


def _job(row: Row[Any], labels: tuple[str, ...]) -> PrintJob:
    return PrintJob(
        id=row.id,
        printer=row.printer,
        stock=row.stock,
        title=row.title,
        number=row.number,
        state=row.state,
        reason=row.reason,
        sent_at=row.sent_at,
        ended_at=row.ended_at,
        labels=labels,
    )
