"""`rackful labels`: label sheets, roll labels, blank tags, and the sheet to test a printer with."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

import labels
from inventory.cli.plurals import counted
from inventory.cli.printing import job_text, list_printers, poll_jobs, send
from inventory.cli.program import CommandContext, NegativeResult, rackful_command
from inventory.services.labels import label_content, label_pdf
from inventory.services.labels.label_stocks import all_stocks
from inventory.services.rack import queries
from inventory.shop import Shop
from inventory.storage.atomic_write import atomic_write
from inventory.storage.records import OffcutRecord
from labels import PRINT_AT_100


@rackful_command("labels")
@click.argument("codes", nargs=-1)
@click.option("--out", metavar="FILE.pdf", type=click.Path(dir_okay=False, path_type=Path), help="Where the PDF goes.")
@click.option("--all", "everything", is_flag=True, help="Every piece in the shop, not only the queue.")
@click.option(
    "--blank",
    metavar="N",
    type=click.IntRange(1, label_content.MAX_BLANKS),
    help="N blank tags with codes of their own.",
)
@click.option("--test-sheet", is_flag=True, help="A sheet with rulers and the outlines of the cells.")
@click.option("--stock", metavar="NAME", default="", help="The sheet or roll; default: the shop's own. See --stocks.")
@click.option("--start-cell", metavar="N", default=1, show_default=True, help="The first free label of the sheet.")
@click.option("--copies", metavar="N", default=1, show_default=True, help="How many of each label.")
@click.option("--cut-marks", is_flag=True, help="Crosses at the corners of the labels, for plain paper.")
@click.option("--ruler", is_flag=True, help="A ruler in the margin, to see whether the printer shrank the sheet.")
@click.option("--printed", is_flag=True, help="Take what is in the PDF out of the queue.")
@click.option("--printer", metavar="NAME", default="", help="Print on this printer of CUPS, with or without --out.")
@click.option("--printers", is_flag=True, help="List the printers of CUPS, and print nothing.")
@click.option("--stocks", is_flag=True, help="List the sheets and rolls, and print nothing.")
def command(
    run: CommandContext,
    codes: Sequence[str],
    out: Path | None,
    everything: bool,
    blank: int | None,
    test_sheet: bool,
    stock: str,
    start_cell: int,
    copies: int,
    cut_marks: bool,
    ruler: bool,
    printed: bool,
    printer: str,
    printers: bool,
    stocks: bool,
) -> None:
    """Writes labels to a PDF, or prints them: the queue, or the pieces with these CODES.

    Print a PDF at 100 % (actual size). The queue stays as it is until --printed says that the labels came out; what
    goes to a --printer leaves it when the printer is done.

    \b
    Examples:
      rackful labels --out labels.pdf --stock a4-3x7 --start-cell 5
      rackful labels 7K3-M0QV --out one.pdf
      rackful labels --blank 20 --out blank.pdf
      rackful labels --printer desk --stock letter-3x10
      rackful labels --stocks
    """
    chosen = [bool(codes), everything, blank is not None, test_sheet, stocks, printers]
    if sum(chosen) > 1:
        raise click.UsageError(
            "Name codes, or one of --all, --blank, --test-sheet, --stocks and --printers, not two of them."
        )
    if printed and (blank is not None or test_sheet or stocks):
        raise click.UsageError("--printed goes with the labels of pieces: blank tags and test sheets are in no queue.")
    if stocks:
        _list_stocks(run)
        return
    if printers:
        list_printers(run)
        return
    if printed and printer:
        raise click.UsageError("--printed goes with a PDF: what a --printer has printed leaves the queue by itself.")
    if out is None and not printer:
        raise click.UsageError(
            'Name the file that the labels go to, such as "--out labels.pdf", or a printer with --printer.'
        )
    how: dict[str, Any] = {"start_cell": start_cell, "copies": copies, "ruler": ruler, "cut_marks": cut_marks}
    with run.shop() as shop:
        poll_jobs(shop)
        records: Sequence[OffcutRecord] = ()
        if test_sheet:
            named: list[str] = []
            pdf = label_pdf.test_sheet(shop, stock)
        elif blank is not None:
            named = list(label_content.blank_codes(shop, blank))
            pdf = label_pdf.blanks_pdf(shop, named, stock, **how)
        else:
            records = _records(shop, codes, everything)
            named = [record.code for record in records]
            pdf = label_pdf.pieces_pdf(shop, records, stock, **how)
            besides = label_pdf.unprintable(shop, records)
            if besides:
                run.warn(besides)
        what = "The test sheet" if test_sheet else counted(len(named), "label")
        document: dict[str, Any] = {"file": None if out is None else str(out), "tags": named}
        lines = []
        if out is not None:
            with atomic_write(out) as stream:
                stream.write(pdf)
            lines.append(f'{what} written to "{out}". {PRINT_AT_100}')
        if printed:
            label_content.mark_printed(shop, named)
        if printer:
            job = send(shop, printer, pdf, stock, what, records)
            document |= {"printer": printer, "state": job.state.value}
            lines.append(job_text(job))
    run.answer(document, "\n".join(lines))


def _records(shop: Shop, codes: Sequence[str], everything: bool) -> Sequence[OffcutRecord]:
    if codes:
        return label_content.pieces(shop, codes)
    records = queries.all_pieces(shop) if everything else label_content.queue(shop)
    if not records:
        raise NegativeResult(
            "There is no piece in the shop. Tag one with rackful add."
            if everything
            else "No label waits to be printed. Name the codes of pieces, or use --all."
        )
    return records


def _list_stocks(run: CommandContext) -> None:
    """The shop's own stocks and those that come with the program; the latter alone where there is no shop."""
    known = labels.STOCKS
    if run.has_shop:
        with run.shop() as shop:
            known = all_stocks(shop)
    run.answer(
        {
            "stocks": [
                {"name": stock.key, "shown": stock.name, "paper": stock.paper.value, "labels": stock.cells}
                for stock in known
            ]
        },
        "\n".join(f"{stock.key:<18} {stock.name}" for stock in known),
    )
