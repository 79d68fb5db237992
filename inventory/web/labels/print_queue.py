"""The queue of labels to print: a selection on a sheet or roll, its PDF, and marking labels as printed."""

from __future__ import annotations

from io import BytesIO

from flask import Blueprint, flash, redirect, render_template, request, send_file, url_for
from werkzeug.wrappers import Response

from inventory.services.labels import label_content, label_pdf
from inventory.services.labels.label_pdf import LabelsRefused
from inventory.storage.records import OffcutRecord
from inventory.web.labels import label_sheet
from inventory.web.labels.printer_choice import recent_print_jobs
from inventory.web.request_context import current_shop
from labels import CAUTION

blueprint = Blueprint("print_queue", __name__)

Page = str | tuple[str, int] | Response


MAX_PER_PDF = 300
"""A longer queue is printed in parts: a PDF of so many labels takes one to three seconds."""


@blueprint.get("/labels")
def index() -> str:
    """The labels that wait to be printed."""
    jobs = recent_print_jobs()
    queue = label_content.queue(current_shop())
    return render_template(
        "labels/print_queue.html", queue=queue[:MAX_PER_PDF], waiting=len(queue), caution=CAUTION, jobs=jobs
    )


@blueprint.get("/labels/sheet")
def sheet() -> Page:
    """A selection, or else the head of the queue, laid out on a stock, with the choice of the first cell."""
    records = _selection()
    if not records:
        return _nothing_chosen()
    try:
        stock = label_pdf.stock(current_shop(), request.args.get("stock", ""))
        return label_sheet.page(records, stock, request.args)
    except LabelsRefused as error:
        return _rejected_page(records, str(error))


@blueprint.get("/labels/labels.pdf")
def pdf() -> Page:
    """The PDF of a selection."""
    records = _selection()
    if not records:
        return _nothing_chosen()
    try:
        content = label_sheet.pdf(records, request.args)
    except LabelsRefused as error:
        return _rejected_page(records, str(error))
    return _pdf(content, f"labels-{len(records)}.pdf")


@blueprint.get("/labels/test-sheet.pdf")
def test_sheet_pdf() -> Response:
    """Rulers and the outlines of the cells, to hold against a sheet of labels."""
    stock, corrected = request.args.get("stock", ""), "corrected" in request.args
    return _pdf(label_pdf.test_sheet(current_shop(), stock, corrected=corrected), "test-sheet.pdf")


@blueprint.post("/labels/printed")
def printed() -> Page:
    """Takes labels out of the queue that were printed well."""
    codes = request.form.getlist("tag")
    label_content.mark_printed(current_shop(), codes)
    flash("1 label is printed." if len(codes) == 1 else f"{len(codes)} labels are printed.")
    return redirect(url_for("print_queue.index"), 303)


@blueprint.post("/labels/wanted")
def wanted() -> Page:
    """Puts pieces into the queue again, for a label that was lost or is worn."""
    codes = request.form.getlist("tag")
    label_content.put_back(current_shop(), codes)
    flash("The label waits to be printed." if len(codes) == 1 else f"{len(codes)} labels wait to be printed.")
    return redirect(url_for("print_queue.index"), 303)


def _selection() -> tuple[OffcutRecord, ...]:
    codes = request.args.getlist("tag")
    return label_content.pieces(current_shop(), codes) if codes else label_content.queue(current_shop())[:MAX_PER_PDF]


def _nothing_chosen() -> Response:
    flash("No label waits and none is chosen. Tick a piece, or open one and print its label.", "note")
    return redirect(url_for("print_queue.index"), 303)


def _rejected_page(records: tuple[OffcutRecord, ...], error_text: str) -> tuple[str, int]:
    """The sheet again with its error; on the default stock where the requested one is unknown."""
    return label_sheet.page(records, label_sheet.stock_or_usual(request.args), request.args, error_text), 422


def _pdf(content: bytes, name: str) -> Response:
    return send_file(BytesIO(content), "application/pdf", download_name=name, max_age=0)
