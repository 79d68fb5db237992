"""Print jobs: labels are sent to a printer and followed until they are printed or back in the print queue.

A label stays in the queue until its job is done. While the job is under way the queue doesn't show it, so that nobody
prints it twice.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Protocol

import labels
from inventory.core.codes import format_code
from inventory.core.errors import UserError
from inventory.printers.cups import CupsFault, JobStatus, Printer
from inventory.shop import Shop
from inventory.storage.records import EventKind, OffcutRecord, PrintJob, PrintState
from inventory.storage.repositories import print_jobs as rows
from inventory.storage.repositories.offcuts import add_event, next_label_place, records_by_code, set_label_place

RECENT = timedelta(hours=12)
"""How long a job that ended is still listed."""
UNSENT = 0
"""The number of a job that a printing system has not taken yet."""
SEND_TIMEOUT = timedelta(minutes=2)
"""How long sending a job may take: longer, and Rackful was stopped meanwhile."""
INTERRUPTED = "Rackful was stopped while it sent the job. Look whether the labels came out."
CANCEL_UNCONFIRMED = "It was given up here, but the printer may still print it."


class CannotSend(UserError):
    """Labels that can't be sent to a printer."""


class NoSuchJob(UserError):
    """No print job has this number."""


class PrintingSystem(Protocol):
    """The part of `inventory.printers.cups.Cups` that print jobs use."""

    def printers(self) -> tuple[Printer, ...]: ...

    def send(self, printer: str, pdf: bytes, title: str, paper: str) -> JobStatus: ...

    def job(self, number: int, printer: str) -> JobStatus: ...

    def cancel(self, number: int) -> None: ...


def send(
    shop: Shop,
    system: PrintingSystem,
    printer: str,
    pdf: bytes,
    stock: labels.Stock,
    title: str,
    records: Sequence[OffcutRecord] = (),
) -> PrintJob:
    """Sends a PDF on this stock to a printer; `records` are the pieces whose labels are in it.

    Raises CannotSend where the printer isn't there or has no paper of that size, or where some of these labels were
    sent from elsewhere meanwhile; CupsFault where CUPS refuses.
    """
    known = {each.name: each for each in system.printers()}
    chosen = known.get(printer)
    if chosen is None:
        names = ", ".join(known) or "none"
        raise CannotSend(f'"{printer[:60]}" is no printer that CUPS knows here. It knows: {names}.')
    if not chosen.accepts:
        raise CannotSend(f'The printer "{printer}" takes no jobs now. {chosen.stopped_reason} Choose another one.')
    paper = chosen.paper_name(stock.page.width, stock.page.height)
    if paper is None:
        raise CannotSend(
            f'The printer "{printer}" has no paper of {_paper_text(stock)}, so {stock.name} would come out '
            "scaled. Choose another printer or stock, or add the size to the printer in CUPS."
        )
    job_id = _reserve_labels(
        shop, PrintJob(0, printer, stock.key, title, UNSENT, PrintState.QUEUED, "", shop.now()), records
    )
    try:
        seen = system.send(printer, pdf, title, paper)
    except CupsFault:
        with shop.writing() as connection:
            rows.delete_job(connection, job_id)
        raise
    with shop.writing() as connection:
        rows.set_job_number(connection, job_id, seen.number)
    _apply_state(shop, job_id, seen)
    return job_of(shop, job_id)


def _reserve_labels(shop: Shop, job: PrintJob, records: Sequence[OffcutRecord]) -> int:
    """Inserts the job before it is sent, so that nobody else prints its labels; returns its id. Raises CannotSend."""
    with shop.writing() as connection:
        taken = rows.taken(connection, records)
        if taken:
            raise CannotSend(
                f"{_taken_text(taken, len(records))} at a printer already, or printed a moment ago. "
                "Nothing was sent. Look at the labels that wait."
            )
        return rows.insert_job(connection, job, [record.id for record in records])


def _taken_text(taken: Sequence[OffcutRecord], of: int) -> str:
    if len(taken) == 1:
        return f"The label of {format_code(taken[0].code)} is"
    return f"These {of} labels are" if len(taken) == of else f"{len(taken)} of these {of} labels are"


def poll_jobs(shop: Shop, system: PrintingSystem) -> None:
    """Reads the states of the jobs under way and completes those that ended. Raises CupsFault."""
    with shop.reading() as connection:
        under_way = rows.active_jobs(connection)
    for job in under_way:
        if job.number == UNSENT:
            if shop.now() - job.sent_at > SEND_TIMEOUT:
                _apply_state(shop, job.id, JobStatus(UNSENT, PrintState.FAILED, INTERRUPTED))
            continue
        seen = system.job(job.number, job.printer)
        if (seen.state, seen.reason) != (job.state, job.reason):
            _apply_state(shop, job.id, seen)


def give_up(shop: Shop, job_id: int, system: PrintingSystem | None) -> PrintJob:
    """Gives a job up: it is canceled where possible, and its labels are queued again. Raises NoSuchJob."""
    job = job_of(shop, job_id)
    said = "It was given up here."
    if system is None or job.number == UNSENT:
        # CUPS has not given a number yet with which the job could be canceled.
        said = CANCEL_UNCONFIRMED
    elif job.ended_at is None:
        try:
            system.cancel(job.number)
        except CupsFault:
            said = CANCEL_UNCONFIRMED
    _apply_state(shop, job_id, JobStatus(job.number, PrintState.FAILED, said))
    return job_of(shop, job_id)


def job_of(shop: Shop, job_id: int) -> PrintJob:
    """A job. Raises NoSuchJob."""
    with shop.reading() as connection:
        found = rows.job_of(connection, job_id) if 0 < job_id < 2**63 else None
    if found is None:
        raise NoSuchJob(f"There is no print job {job_id} here. Look at the labels that wait.")
    return found


def latest(shop: Shop) -> tuple[PrintJob, ...]:
    """The jobs under way and those of the last hours, the latest first."""
    with shop.reading() as connection:
        return rows.recent_jobs(connection, shop.now() - RECENT)


def last_printer(shop: Shop, stock_key: str) -> str:
    """The printer that a stock was last sent to, empty where it never was."""
    with shop.reading() as connection:
        return rows.last_printer(connection, stock_key)


def _apply_state(shop: Shop, job_id: int, seen: JobStatus) -> None:
    """Records the state of a job. Done removes its labels from the print queue, failed adds them to it."""
    ended = seen.state in (PrintState.PRINTED, PrintState.FAILED)
    with shop.writing() as connection:
        if (
            not rows.update_job_state(connection, job_id, seen.state, seen.reason, shop.now() if ended else None)
            or not ended
        ):
            return
        job = rows.job_of(connection, job_id)
        carried = records_by_code(connection, job.labels if job else ()).values()
        place = next_label_place(connection)
        for record in carried:
            if seen.state is PrintState.PRINTED:
                set_label_place(connection, record, None)
                add_event(connection, record.id, shop.now(), EventKind.LABEL_PRINTED)
            elif not record.label_wanted and record.here:
                set_label_place(connection, record, place)
                place += 1


def _paper_text(stock: labels.Stock) -> str:
    return f"{float(stock.page.width):g} × {float(stock.page.height):g} mm"
