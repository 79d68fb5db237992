"""A selection of labels laid out on a stock: the page, and the PDF."""

from __future__ import annotations

import secrets
from collections.abc import Mapping

from flask import render_template

from inventory.core.whole_numbers import read_integer
from inventory.services.labels import label_pdf, label_stocks
from inventory.services.labels.label_pdf import LabelsRefused
from inventory.storage.records import OffcutRecord
from inventory.web.labels.printer_choice import printers_for
from inventory.web.request_context import current_shop
from labels import CAUTION, PRINT_AT_100, Paper, Stock, has_picture_room, pages_needed


def pdf(records: tuple[OffcutRecord, ...], asked: Mapping[str, str]) -> bytes:
    """The labels as a PDF. Raises LabelsRefused."""
    return label_pdf.pieces_pdf(
        current_shop(),
        records,
        asked.get("stock", ""),
        start_cell=start_cell(asked),
        copies=copies(asked),
        ruler="ruler" in asked,
        cut_marks="cut_marks" in asked,
    )


def page(records: tuple[OffcutRecord, ...], stock: Stock, asked: Mapping[str, str], error_text: str = "") -> str:
    """The page with the cells of a stock, the link to the PDF and the printers."""
    return render_template(
        "labels/label_sheet.html",
        records=records,
        stock=stock,
        papers=stocks_by_paper(),
        pages=pages_needed(len(records), stock),
        shows_photo=has_picture_room(stock),
        start=start_cell(asked),
        copies=asked.get("copies", "1"),
        ruler="ruler" in asked,
        cut_marks="cut_marks" in asked,
        error_text=error_text,
        unprintable=label_pdf.unprintable(current_shop(), records),
        waiting=[record.code for record in records if record.label_wanted],
        caution=CAUTION,
        print_at_100=PRINT_AT_100,
        choice=printers_for(stock),
        press=secrets.token_hex(8),
    )


def start_cell(asked: Mapping[str, str]) -> int:
    """The cell as typed; 0, which no sheet has, where it is no number."""
    return read_integer(asked.get("start", "1")) or 0


def copies(asked: Mapping[str, str]) -> int:
    """How many of each label as typed; 0 where it is no number."""
    return read_integer(asked.get("copies", "") or "1") or 0


def stocks_by_paper() -> list[tuple[str, list[Stock]]]:
    """All stocks for a choice, the shop's own first, the others by their paper."""
    known = label_stocks.all_stocks(current_shop())
    mine = {stock.key for stock in label_stocks.own_stocks(current_shop())}
    own = [("The shop's own", [stock for stock in known if stock.key in mine])]
    papers = [
        (paper.value, [each for each in known if each.paper is paper and each.key not in mine]) for paper in Paper
    ]
    return [(paper, each) for paper, each in (*own, *papers) if each]


def stock_or_usual(asked: Mapping[str, str]) -> Stock:
    """The stock of the form; the shop's default where it is unknown."""
    try:
        return label_pdf.stock(current_shop(), asked.get("stock", ""))
    except LabelsRefused:
        return label_stocks.default_stock(current_shop())
