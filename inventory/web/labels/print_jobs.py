"""Sends labels to a printer, and shows, cancels or repeats the print jobs."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import cast

from flask import Blueprint, current_app, flash, redirect, render_template, request, url_for
from flask.sansio.blueprints import BlueprintSetupState
from werkzeug.wrappers import Response

from inventory.core.errors import UserError
from inventory.printers.cups import find_cups
from inventory.services.labels import label_content, label_pdf, print_jobs
from inventory.services.labels.print_jobs import CannotSend
from inventory.storage.records import OffcutRecord, PrintState
from inventory.web.labels import label_sheet
from inventory.web.labels.printer_choice import cups_with_updates, printers_for
from inventory.web.request_context import current_shop
from inventory.web.template_filters import counted
from labels import PRINT_AT_100, Stock

blueprint = Blueprint("print_jobs", __name__)

MAX_TRACKED = 200
NO_CUPS = "This computer has no CUPS, the system that prints, or it doesn't run. Open the PDF and print that."
_SUBMITTED = "rackful.presses"


class SubmittedForms:
    """The job that each submitted form started, in memory, so that a form sent twice prints once."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self._jobs: OrderedDict[str, int] = OrderedDict()

    def job(self, press: str) -> int | None:
        """The job that this form started already."""
        return self._jobs.get(press) if press else None

    def answered(self, press: str, job_id: int) -> None:
        """Stores the job of a form."""
        if press:
            self._jobs[press] = job_id
        while len(self._jobs) > MAX_TRACKED:
            self._jobs.popitem(last=False)


@blueprint.record_once
def _init_submitted(state: BlueprintSetupState) -> None:
    state.app.extensions[_SUBMITTED] = SubmittedForms()


@blueprint.post("/labels/print")
def send() -> Response | tuple[str, int]:
    """Sends the labels of a selection to a printer."""
    records = label_content.pieces(current_shop(), request.form.getlist("tag"))
    if not records:
        return redirect(url_for("print_queue.index"), 303)
    try:
        job_id = send_once(lambda: _label_document(records))
    except UserError as error:
        stock = label_sheet.stock_or_usual(request.form)
        return label_sheet.page(records, stock, request.form, str(error)), 422
    return redirect(url_for("print_jobs.job", job_id=job_id), 303)


@blueprint.get("/labels/test-sheet")
def test_sheet() -> str:
    """The page that sends the test sheet of a stock to a printer, the same way as its labels."""
    return _test_sheet_page(label_pdf.stock(current_shop(), request.args.get("stock", "")))


@blueprint.post("/labels/test-sheet")
def send_test_sheet() -> Response | tuple[str, int]:
    """Sends the test sheet of a stock to a printer."""
    stock = label_pdf.stock(current_shop(), request.form.get("stock", ""))
    corrected = "corrected" in request.form

    def sheet() -> PrintDocument:
        return PrintDocument(label_pdf.test_sheet(current_shop(), stock.key, corrected=corrected), stock, "Test sheet")

    try:
        job_id = send_once(sheet)
    except UserError as error:
        return _test_sheet_page(stock, str(error)), 422
    return redirect(url_for("print_jobs.job", job_id=job_id), 303)


@blueprint.get("/labels/print-jobs/<int:job_id>")
def job(job_id: int) -> str:
    """The state of a job."""
    system = cups_with_updates()
    found = print_jobs.job_of(current_shop(), job_id)
    return render_template("labels/print_job.html", job=found, asked=system is not None, states=PrintState)


@blueprint.post("/labels/print-jobs/<int:job_id>/give-up")
def cancel(job_id: int) -> Response:
    """Cancels a job and puts its labels back into the queue."""
    print_jobs.give_up(current_shop(), job_id, find_cups())
    flash("The job is given up. Its labels wait in the queue.", "note")
    return redirect(url_for("print_queue.index"), 303)


@dataclass(frozen=True)
class PrintDocument:
    """What is sent to a printer: a PDF for a stock, and the pieces whose labels are in it."""

    pdf: bytes
    stock: Stock
    title: str
    records: tuple[OffcutRecord, ...] = ()


def send_once(drawn: Callable[[], PrintDocument]) -> int:
    """The job of this form: sent now, or earlier where the form was sent twice and the job did not fail.

    `press` in the form is its idempotency key. Raises CannotSend, CupsFault and what `drawn` raises.
    """
    submitted, press = cast(SubmittedForms, current_app.extensions[_SUBMITTED]), request.form.get("press", "")
    with submitted.lock:
        job_id = submitted.job(press)
        if job_id is not None and print_jobs.job_of(current_shop(), job_id).state is not PrintState.FAILED:
            return job_id
        system = find_cups()
        if system is None:
            raise CannotSend(NO_CUPS)
        sheet, printer = drawn(), request.form.get("printer", "")
        job = print_jobs.send(current_shop(), system, printer, sheet.pdf, sheet.stock, sheet.title, sheet.records)
        submitted.answered(press, job.id)
        return job.id


def _label_document(records: tuple[OffcutRecord, ...]) -> PrintDocument:
    stock = label_pdf.stock(current_shop(), request.form.get("stock", ""))
    return PrintDocument(label_sheet.pdf(records, request.form), stock, counted(len(records), "label"), records)


def _test_sheet_page(stock: Stock, error_text: str = "") -> str:
    return render_template(
        "labels/test_sheet.html",
        stock=stock,
        error_text=error_text,
        choice=printers_for(stock),
        press=secrets.token_hex(8),
        print_at_100=PRINT_AT_100,
    )
