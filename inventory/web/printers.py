"""One press to a printer: labels are sent, their job is followed on a page, given up or printed anew.

Knows the steps and the page. What CUPS is asked is `inventory.printers`'.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from typing import cast

from flask import Blueprint, current_app, flash, redirect, render_template, request, url_for
from flask.sansio.blueprints import BlueprintSetupState
from werkzeug.wrappers import Response

from inventory.errors import Mendable
from inventory.printers.cups import find_cups
from inventory.services import labelling, print_jobs, printing
from inventory.services.print_jobs import CannotSend
from inventory.storage.records import OffcutRecord, PrintJob, PrintState
from inventory.web import label_sheet
from inventory.web.at_hand import current_shop
from inventory.web.filters import counted
from inventory.web.printer_choice import system_here

blueprint = Blueprint("printers", __name__)

MOST_REMEMBERED = 200
NO_CUPS = "This computer has no CUPS, the system that prints, or it doesn't run. Open the PDF and print that."
_PRESSES = "rackful.presses"


class Presses:
    """Which job a page's button was answered with, so that a button pressed twice prints once. In memory."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self._jobs: OrderedDict[str, int] = OrderedDict()

    def job(self, press: str) -> int | None:
        """The job that this press was answered with already."""
        return self._jobs.get(press) if press else None

    def answered(self, press: str, job_id: int) -> None:
        """Notes the job of a press."""
        self._jobs[press] = job_id
        while len(self._jobs) > MOST_REMEMBERED:
            self._jobs.popitem(last=False)


@blueprint.record_once
def _count_presses(state: BlueprintSetupState) -> None:
    state.app.extensions[_PRESSES] = Presses()


@blueprint.post("/labels/print")
def send() -> Response | tuple[str, int]:
    """Sends the labels of a selection to a printer."""
    records = labelling.pieces(current_shop(), request.form.getlist("tag"))
    if not records:
        return redirect(url_for("labels.front"), 303)
    presses, press = cast(Presses, current_app.extensions[_PRESSES]), request.form.get("press", "")
    with presses.lock:
        job_id = presses.job(press)
        if job_id is None:
            try:
                job_id = _sent(records).id
            except Mendable as fault:
                stock = label_sheet.stock_or_usual(request.form)
                return label_sheet.page(records, stock, request.form, str(fault)), 422
            presses.answered(press, job_id)
    return redirect(url_for("printers.job", job_id=job_id), 303)


@blueprint.get("/labels/jobs/<int:job_id>")
def job(job_id: int) -> str:
    """How a job stands."""
    system = system_here()
    found = print_jobs.job_of(current_shop(), job_id)
    return render_template("labels/job.html", job=found, asked=system is not None, states=PrintState)


@blueprint.post("/labels/jobs/<int:job_id>/give-up")
def give_up(job_id: int) -> Response:
    """Waits for a job no longer: its labels are in the queue again."""
    print_jobs.give_up(current_shop(), job_id, find_cups())
    flash("The job is given up. Its labels wait in the queue.", "note")
    return redirect(url_for("labels.front"), 303)


def _sent(records: tuple[OffcutRecord, ...]) -> PrintJob:
    """Raises CannotSend, CupsFault, LabelsRefused."""
    system = find_cups()
    if system is None:
        raise CannotSend(NO_CUPS)
    stock = printing.stock(current_shop(), request.form.get("stock", ""))
    pdf = label_sheet.pdf(records, request.form)
    title = counted(len(records), "label")
    return print_jobs.send(current_shop(), system, request.form.get("printer", ""), pdf, stock, title, records)
