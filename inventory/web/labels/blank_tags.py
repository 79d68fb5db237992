"""Blank tags: new codes printed before any piece exists, to be stuck on at the saw and scanned.

A blank tag has no copies, since each code belongs to one piece.
"""

from __future__ import annotations

import secrets
from io import BytesIO

from flask import Blueprint, redirect, render_template, request, send_file, url_for
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from inventory.core.errors import UserError
from inventory.services.labels import label_content, label_pdf
from inventory.services.labels.label_content import MAX_BLANKS, InvalidBlankCount
from inventory.services.labels.label_pdf import LabelsRefused
from inventory.services.rack import scanning
from inventory.services.rack.scanning import TagStatus
from inventory.web.forms import FormError, posted_form, render_rejected
from inventory.web.labels import label_sheet
from inventory.web.labels.print_jobs import PrintDocument, send_once
from inventory.web.labels.printer_choice import printers_for
from inventory.web.request_context import current_shop
from inventory.web.template_filters import counted
from labels import CAUTION, PRINT_AT_100, Stock, pages_needed

blueprint = Blueprint("blank_tags", __name__)

Page = str | tuple[str, int] | Response


@blueprint.get("/labels/blank-tags")
def index() -> str:
    """Asks for the number of tags; a full sheet of the shop's default stock is proposed."""
    stock = label_sheet.stock_or_usual({})
    many = stock.cells if not stock.is_roll else 20
    return render_template("labels/blank_tags.html", typed={"how_many": str(many)}, errors={}, most=MAX_BLANKS)


@blueprint.post("/labels/blank-tags")
def create() -> Page:
    """Issues new codes and redirects to their sheet."""
    form = posted_form()
    how_many = form.integer("how_many", f'"{{}}" is no number of tags. Type a number from 1 to {MAX_BLANKS}.')
    try:
        form.check()
        codes = label_content.blank_codes(current_shop(), how_many)
    except (FormError, InvalidBlankCount) as error:
        return render_rejected("labels/blank_tags.html", {"how_many": str(error)}, request.form, most=MAX_BLANKS)
    return redirect(url_for("blank_tags.sheet", tag=codes), 303)


@blueprint.get("/labels/blank-tags/sheet")
def sheet() -> Page:
    """The codes laid out on a stock, with the choice of the first cell."""
    try:
        stock = label_pdf.stock(current_shop(), request.args.get("stock", ""))
    except LabelsRefused as error:
        return _page(request.args, label_sheet.stock_or_usual({}), str(error)), 422
    return _page(request.args, stock)


@blueprint.get("/labels/blank-tags/tags.pdf")
def pdf() -> Page:
    """The PDF of these codes."""
    try:
        content = _pdf(request.args)
    except LabelsRefused as error:
        return _page(request.args, label_sheet.stock_or_usual(request.args), str(error)), 422
    return send_file(BytesIO(content), "application/pdf", download_name="blank-tags.pdf", max_age=0)


@blueprint.post("/labels/blank-tags/print")
def send() -> Page:
    """Sends them to a printer."""
    stock = label_sheet.stock_or_usual(request.form)
    try:
        job_id = send_once(
            lambda: PrintDocument(_pdf(request.form), stock, counted(len(_blank(request.form)), "blank tag"))
        )
    except UserError as error:
        return _page(request.form, stock, str(error)), 422
    return redirect(url_for("print_jobs.job", job_id=job_id), 303)


def _blank(asked: MultiDict[str, str]) -> list[str]:
    """The requested codes that were issued here and have no piece yet. Raises InvalidCode."""
    codes = scanning.look_up(current_shop(), asked.getlist("tag"))
    return [each.code for each in codes if each.status is TagStatus.BLANK]


def _pdf(asked: MultiDict[str, str]) -> bytes:
    codes = _blank(asked)
    if not codes:
        raise LabelsRefused("None of these codes is blank any more: each has its piece. Ask for new ones.")
    return label_pdf.blanks_pdf(
        current_shop(),
        codes,
        asked.get("stock", ""),
        start_cell=label_sheet.start_cell(asked),
        ruler="ruler" in asked,
        cut_marks="cut_marks" in asked,
    )


def _page(asked: MultiDict[str, str], stock: Stock, error_text: str = "") -> str:
    codes = _blank(asked)
    return render_template(
        "labels/blank_tag_sheet.html",
        codes=codes,
        stock=stock,
        papers=label_sheet.stocks_by_paper(),
        pages=pages_needed(len(codes), stock),
        start=label_sheet.start_cell(asked),
        ruler="ruler" in asked,
        cut_marks="cut_marks" in asked,
        error_text=error_text,
        caution=CAUTION,
        print_at_100=PRINT_AT_100,
        choice=printers_for(stock),
        press=secrets.token_hex(8),
    )
