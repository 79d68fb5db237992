"""Reads the form of a label stock, and fills it from a stock.

`inventory.services.labels.label_stocks` checks whether such a stock can be printed.
"""

from __future__ import annotations

from collections.abc import Mapping

import labels
from inventory.core.lengths import NM_PER_MM, Length, Unit, typed_text
from inventory.storage.label_stock_records import OwnStock, PhotoTone, RulerMeasures, StockKind, StockPrinting, TagHole
from inventory.web.forms import Form

MAX_NAME_LENGTH = 40
MOST_ACROSS, MOST_DOWN = 12, 40
OTHER, ROLL = "other", "roll"
PAPERS = {
    "letter": "US Letter",
    "a4": "A4",
    OTHER: "Another sheet",
    ROLL: "Roll or single tags",
}
FIELDS = (
    *("name", "paper", "page_width", "page_height", "columns", "rows", "cell_width", "cell_height"),
    *("left", "top", "across", "down", "corner", "hole_across", "hole_down", "hole_diameter"),
)
HOLE = ("hole_across", "hole_down", "hole_diameter")
RULED = ("across", "down", "left", "top")
BLANK = {"paper": "letter", "columns": "3", "rows": "10"}


def read_stock(
    typed: Mapping[str, str], unit: Unit, key: str = "", version: int = 1
) -> tuple[OwnStock, dict[str, str]]:
    """The stock that is typed, and a sentence for each field that can't be read; with any, the stock is not to be used.

    Empty margins lay the labels in the middle of the page, an empty step makes them touch, an empty corner is square.
    """
    form = Form(typed, unit)
    name = " ".join(form.text("name").split())
    if not name:
        form.reject("name", "The stock has no name. Type one, such as: tie-on tags from the drawer.")
    elif len(name) > MAX_NAME_LENGTH:
        form.reject("name", f"The name is longer than {MAX_NAME_LENGTH} letters. Shorten it.")
    cell = (form.length("cell_width"), form.length("cell_height"))
    paper = form.text("paper")
    if paper not in PAPERS:
        form.reject("paper", f'"{paper[:20]}" is no paper. Choose one of: {", ".join(PAPERS.values())}.')
    hole = _hole(form)
    corner = form.length("corner", Length(0))
    if paper == ROLL:
        alone = OwnStock(
            key, name, StockKind.ROLL, cell, 1, 1, cell, (Length(0), Length(0)), cell, corner, hole, version
        )
        return alone, form.errors
    page = _page(form, paper)
    counts = _label_count(form, "columns", MOST_ACROSS), _label_count(form, "rows", MOST_DOWN)
    pitch = form.length("across", cell[0]), form.length("down", cell[1])
    margins = [
        form.length(which, Length(max(0, (page[way] - cell[way] - (counts[way] - 1) * pitch[way]) // 2)))
        for way, which in enumerate(("left", "top"))
    ]
    stock = OwnStock(
        key, name, StockKind.SHEET, page, *counts, cell, (margins[0], margins[1]), pitch, corner, hole, version
    )
    return stock, form.errors


def stock_as_typed(stock: OwnStock, unit: Unit) -> dict[str, str]:
    """A stock as the form's fields hold it; they read back exactly."""
    sizes = {_paper_size(paper): key for key, paper in _SHEETS.items()}
    paper = ROLL if stock.kind is StockKind.ROLL else sizes.get(stock.page, OTHER)
    lengths: dict[str, Length] = {"cell_width": stock.cell[0], "cell_height": stock.cell[1], "corner": stock.corner}
    if paper == OTHER:
        lengths |= {"page_width": stock.page[0], "page_height": stock.page[1]}
    if paper != ROLL:
        lengths |= {"left": stock.margins[0], "top": stock.margins[1]}
        lengths |= {"across": stock.pitch[0], "down": stock.pitch[1]}
    if stock.hole is not None:
        lengths |= dict(zip(HOLE, (stock.hole.across, stock.hole.down, stock.hole.diameter), strict=True))
    return {
        "name": stock.name,
        "paper": paper,
        "columns": str(stock.columns),
        "rows": str(stock.rows),
        **{name: typed_text(length, unit) for name, length in lengths.items()},
    }


def read_printing(typed: Mapping[str, str], unit: Unit) -> tuple[StockPrinting, dict[str, str]]:
    """How a stock is printed as typed, and a sentence for each field that can't be read. No measures: none taken."""
    form = Form(typed, unit)
    tones = " or ".join(each.value for each in PhotoTone)
    tone = form.choice("tone", PhotoTone, f"Choose how photos are printed: {tones}.")
    dots = form.integer("dpi", '"{}" is no number of dots per inch. Type one such as 203 or 300.')
    ruler_measures = None
    if any(form.text(name) for name in RULED):
        ruler_measures = RulerMeasures(*(form.length(name) for name in RULED))
    return StockPrinting(tone, dots, ruler_measures), form.errors


def printing_as_typed(printing: StockPrinting, unit: Unit) -> dict[str, str]:
    """How a stock is printed as the form's fields hold it."""
    lengths = (
        {} if printing.ruler_measures is None else {name: getattr(printing.ruler_measures, name) for name in RULED}
    )
    return {
        "tone": printing.tone.value,
        "dpi": str(printing.dpi),
        **{name: typed_text(length, unit) for name, length in lengths.items()},
    }


def _label_count(form: Form, name: str, most: int) -> int:
    return form.integer(name, f'"{{}}" is no number of labels. Type one from 1 to {most}.', 1, most)


def _hole(form: Form) -> TagHole | None:
    if not any(form.text(name) for name in HOLE):
        return None
    return TagHole(*(form.length(name) for name in HOLE))


_SHEETS = {"letter": labels.Paper.LETTER, "a4": labels.Paper.A4}


def _page(form: Form, paper: str) -> tuple[Length, Length]:
    if paper in _SHEETS:
        return _paper_size(_SHEETS[paper])
    return form.length("page_width"), form.length("page_height")


def _paper_size(paper: labels.Paper) -> tuple[Length, Length]:
    size = labels.PAPER_SIZES[paper]
    return Length(int(size.width * NM_PER_MM)), Length(int(size.height * NM_PER_MM))
