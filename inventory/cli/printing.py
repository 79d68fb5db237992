"""Sends labels to a printer from the command line, and lists the printers."""

from __future__ import annotations

import time
from collections.abc import Sequence
from contextlib import suppress

from inventory.cli.program import CommandContext, NegativeResult
from inventory.printers.cups import Cups, CupsFault, find_cups
from inventory.services.labels import label_pdf, print_jobs
from inventory.services.labels.print_jobs import CannotSend
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord, PrintJob, PrintState

MAX_WAIT = 60.0
POLL_SECONDS = 0.3
"""Seconds. common practice, no source"""


def cups() -> Cups:
    """The CUPS of this machine. Raises CannotSend where there is none."""
    system = find_cups()
    if system is None:
        raise CannotSend(
            "There is no CUPS on this machine, the system that prints, or it doesn't run. "
            "Write the labels to a PDF with --out and print that at 100 %."
        )
    return system


def list_printers(run: CommandContext) -> None:
    """Lists every printer, with the reason if it is stopped. Raises CannotSend, CupsFault."""
    known = cups().printers()
    lines = [
        f"{each.name:<18} {each.shown}{f' ({each.stopped_reason})' if each.stopped_reason else ''}" for each in known
    ]
    run.answer(
        {"printers": [{"name": each.name, "shown": each.shown, "accepts": each.accepts, "says": each.stopped_reason}
                      for each in known]},
        "\n".join(lines) or "CUPS knows no printer here. Add one to it first.",
    )  # fmt: skip


def poll_jobs(shop: Shop) -> None:
    """Updates the states of earlier jobs, if there is CUPS."""
    system = find_cups()
    if system is not None:
        with suppress(CupsFault):
            print_jobs.poll_jobs(shop, system)


def send(
    shop: Shop, printer: str, pdf: bytes, stock_key: str, title: str, records: Sequence[OffcutRecord] = ()
) -> PrintJob:
    """Sends labels and waits for the job to end, a minute at most.

    Raises CannotSend, CupsFault; NegativeResult if the printer did not print them.
    """
    system = cups()
    job = print_jobs.send(shop, system, printer, pdf, label_pdf.stock(shop, stock_key), title, records)
    until = time.monotonic() + MAX_WAIT
    while job.ended_at is None and time.monotonic() < until:
        time.sleep(POLL_SECONDS)
        print_jobs.poll_jobs(shop, system)
        job = print_jobs.job_of(shop, job.id)
    if job.state is PrintState.FAILED:
        waiting = " Its labels wait in the queue." if job.labels else ""
        raise NegativeResult(f'Not printed on "{printer}". {job.reason or "The printer does not say why."}{waiting}')
    return job


def job_text(job: PrintJob) -> str:
    """The state of a job, in a sentence."""
    if job.state is PrintState.PRINTED:
        return f'{job.title} printed on "{job.printer}".'
    return (
        f'{job.title} sent to "{job.printer}", {job.state.value} still. {job.reason} '
        "The labels leave the queue when the printer is done; the page of the labels shows it."
    ).replace("  ", " ")
