"""The test sheet that is measured with a rule, and the correction of labels by its measures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from numpy.typing import NDArray

import labels
from labels.errors import LabelError
from labels.pdf.printer import IDENTITY, LineMeasures, correction_for
from labels.stock import Stock

Page = NDArray[np.uint8]
MakeLabels = Callable[..., list[labels.LabelText]]

DPI = 300
PIXEL = 25.4 / DPI

# Errors of some printers: offset in mm to the right and down, and scale in each direction.
PRINTERS = [(1.5, -2.0, 1.0, 1.0), (-1.0, 0.5, 0.985, 1.01), (2.25, 1.75, 1.02, 0.97)]
Printer = tuple[float, float, float, float]


def print_page(pdf: bytes, printer: Printer, page: int = 0) -> Page:
    """A page at 300 dpi as such a printer prints it."""
    right, lower, across, down = printer
    document = pypdfium2.PdfDocument(pdf)
    drawn = document[page].render(scale=DPI / 72 * (1 - 1e-9), grayscale=True).to_numpy().squeeze().copy()
    document.close()
    # where each pixel of the paper comes from on the page
    x, y = (
        np.rint(((np.arange(pixels) + 0.5) * PIXEL - moved) / scale / PIXEL - 0.5).astype(int)
        for pixels, moved, scale in ((drawn.shape[1], right, across), (drawn.shape[0], lower, down))
    )
    paper = np.full_like(drawn, 255)
    rows, columns = ((place >= 0) & (place < size) for place, size in ((y, drawn.shape[0]), (x, drawn.shape[1])))
    paper[np.ix_(rows, columns)] = drawn[np.ix_(y[rows], x[columns])]
    return paper


def measure_lines(paper: Page, stock: Stock, printer: Printer) -> LineMeasures:
    """The two lines on the paper, measured with a rule with marks every quarter millimeter."""
    lines = labels.calibration_lines(stock)
    right, lower, across, down = printer

    def run(line: NDArray[np.bool_], near: float) -> tuple[float, float]:
        """Where the black run through a place begins and ends, in mm; thin lines are 0.2 mm wide."""
        at = round(near / PIXEL)
        begin, end = at, at
        while line[begin - 1]:
            begin -= 1
        while line[end]:
            end += 1
        return begin * PIXEL + 0.1, end * PIXEL - 0.1

    black = paper < 128
    base, beside = round((lower + down * lines.base) / PIXEL), round((right + across * lines.beside) / PIXEL)
    left, far = run(black[base - 1 : base + 2].any(axis=0), right + across * (lines.left + lines.across / 2))
    top, low = run(black[:, beside - 1 : beside + 2].any(axis=1), lower + down * (lines.top + lines.down / 2))
    return LineMeasures(*(Fraction(round(4 * size), 4) for size in (far - left, low - top, left, top)))


def corners(paper: Page) -> dict[str, tuple[float, float]]:
    """Where the main codes begin on the paper, in mm, by their text."""
    found = zxingcpp.read_barcodes(paper, formats=zxingcpp.BarcodeFormat.QRCode)
    return {code.text: (code.position.top_left.x * PIXEL, code.position.top_left.y * PIXEL) for code in found}


@pytest.mark.parametrize(("key", "printer"), list(zip(["letter-3x10", "letter-3x10", "a4-2x4"], PRINTERS, strict=True)))
def test_labels_lie_within_half_a_millimeter_once_a_test_sheet_was_measured(
    key: str, printer: Printer, make_labels: MakeLabels
) -> None:
    stock = labels.find_stock(key)
    meant = labels.calibration_lines(stock).measures
    shown = measure_lines(print_page(labels.test_sheet_pdf(stock), printer), stock, printer)
    corrected_stock = replace(stock, correction=correction_for(meant, shown))
    made = make_labels(stock.cells)
    wanted = corners(print_page(labels.sheet_pdf(made, stock), (0.0, 0.0, 1.0, 1.0)))
    came = corners(print_page(labels.sheet_pdf(made, corrected_stock), printer))
    assert len(wanted) == stock.cells and came.keys() == wanted.keys()
    assert max(np.abs(np.subtract(came[text], wanted[text])).max() for text in wanted) <= 0.5
    # and the test sheet itself, printed with the correction, measures as it should
    again = measure_lines(
        print_page(labels.test_sheet_pdf(corrected_stock, corrected=True), printer), stock, (0.0, 0.0, 1.0, 1.0)
    )
    for name in ("across", "down", "left", "top"):
        assert abs(getattr(again, name) - getattr(meant, name)) <= Fraction(1, 2)


def test_a_true_printer_is_left_alone_and_the_test_sheet_never_carries_the_correction() -> None:
    stock = labels.find_stock("letter-3x10")
    meant = labels.calibration_lines(stock).measures
    assert correction_for(meant, meant) == IDENTITY
    off = replace(meant, across=meant.across + 2)
    corrected_stock = replace(stock, correction=correction_for(meant, off))
    assert labels.test_sheet_pdf(corrected_stock) == labels.test_sheet_pdf(stock)
    assert labels.test_sheet_pdf(corrected_stock, corrected=True) != labels.test_sheet_pdf(stock)


@pytest.mark.parametrize("stock", labels.STOCKS, ids=lambda stock: stock.key)
def test_the_lines_to_measure_lie_on_the_page_and_are_whole_centimetres(stock: Stock) -> None:
    lines = labels.calibration_lines(stock)
    assert lines.across % 10 == lines.down % 10 == 0 < min(lines.across, lines.down)
    assert lines.left + lines.across < stock.page.width and lines.top + lines.down < stock.page.height
    page = 1 if stock.is_roll else 0
    true = (0.0, 0.0, 1.0, 1.0)
    shown = measure_lines(print_page(labels.test_sheet_pdf(stock), true, page), stock, true)
    for name in ("across", "down", "left", "top"):
        assert abs(getattr(shown, name) - getattr(lines.measures, name)) <= Fraction(1, 4)


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        (
            {"across": Fraction(97)},
            "The line across is 150 mm on the test sheet and 97 mm by your rule: more than a tenth off. Print the test "
            "sheet at 100 % (actual size), or measure once more.",
        ),
        (
            {"top": Fraction(60)},
            "The line down begins 96 mm from the top edge on the test sheet and 60 mm by your rule: more than 15 mm "
            "off. Look whether the paper lay right in the printer, or measure once more.",
        ),
        (
            {"left": Fraction(46)},
            "The line across begins 30 mm from the left edge on the test sheet and 46 mm by your rule: more than 15 mm "
            "off. Look whether the paper lay right in the printer, or measure once more.",
        ),
    ],
)
def test_measures_that_no_printer_makes_are_asked_for_again(changed: dict[str, Fraction], sentence: str) -> None:
    meant = labels.calibration_lines(labels.find_stock("letter-3x10")).measures
    with pytest.raises(LabelError) as refused:
        correction_for(meant, replace(meant, **changed))
    assert str(refused.value) == sentence
