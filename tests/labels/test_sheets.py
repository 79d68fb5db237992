"""Whole pages, rendered at 300 dpi, decoded and measured in millimeters.

One pixel is 25.4 / 300 = 0.085 mm; that is the tolerance of every measure.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
import zxingcpp
from numpy.typing import NDArray

import labels
from labels.errors import LabelError
from labels.geometry import layout_label
from labels.stock import STOCKS, Size, Stock

Page = NDArray[np.uint8]
RenderPages = Callable[[bytes], list[Page]]
MakeLabels = Callable[..., list[labels.LabelText]]

PIXEL = 25.4 / 300
QUIET_MODULES = 4  # ISO/IEC 18004: four modules on each side
INCH = 25.4

every_stock = pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.key)

# Published measures, written out again and not taken from labels.stock: columns, rows, label
# width and height, left and top margin, pitch across and down, in mm.
GRIDS = {
    "letter-3x10": (3, 10, 2.625 * INCH, INCH, 0.1875 * INCH, 0.5 * INCH, 2.75 * INCH, INCH),
    "letter-2x5": (2, 5, 4 * INCH, 2 * INCH, 0.15625 * INCH, 0.5 * INCH, 4.1875 * INCH, 2 * INCH),
    "a4-3x8": (3, 8, 70.0, 37.0, 0.0, 0.5, 70.0, 37.0),
    "a4-3x7": (3, 7, 63.5, 38.1, 7.25, 15.15, 66.0, 38.1),
    "a4-2x4": (2, 4, 99.1, 67.7, 4.65, 13.1, 101.6, 67.7),
}


def black(page: Page) -> NDArray[np.bool_]:
    """What is drawn in black; the outlines of cells are gray."""
    return page < 64


def part(page: Page, left: float, top: float, right: float, bottom: float) -> Page:
    """The part of a page between four measures in mm, whole pixels inwards."""
    from_x, to_x = (round(value / PIXEL) for value in (left, right))
    from_y, to_y = (round(value / PIXEL) for value in (top, bottom))
    return page[from_y:to_y, from_x:to_x]


def cell_of(page: Page, stock: Stock, cell: int) -> Page:
    left, top = (float(value) for value in stock.corner(cell))
    return part(page, left, top, left + float(stock.cell.width), top + float(stock.cell.height))


def read_codes(page: Page, stock: Stock | None = None) -> list[zxingcpp.Barcode]:
    """The codes on a page; with a stock, in the order of the cells that contain their centers."""
    found = zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)
    return found if stock is None else sorted(found, key=lambda code: cell_index(code, stock))


def cell_index(code: zxingcpp.Barcode, stock: Stock) -> int:
    corners = (code.position.top_left, code.position.bottom_right)
    x, y = (sum(values) / 2 * PIXEL for values in zip(*((at.x, at.y) for at in corners), strict=True))
    for cell in range(1, stock.cells + 1):
        left, top = (float(value) for value in stock.corner(cell))
        if 0 <= x - left <= float(stock.cell.width) and 0 <= y - top <= float(stock.cell.height):
            return cell
    raise AssertionError(f"{code.text} lies in no cell")


def symbol_box(page: Page, code: zxingcpp.Barcode) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of a symbol in mm, looked for in a margin of two modules around its corners.

    A pixel that is half covered by an edge is half gray, so the edges are known to a fraction of a pixel.
    """
    first, last = code.position.top_left, code.position.bottom_right
    margin = (last.x - first.x) // 12
    from_x, from_y = max(0, first.x - margin), max(0, first.y - margin)
    around = page[from_y : last.y + margin, from_x : last.x + margin]
    left, right = edges_of(around.min(axis=0))
    top, bottom = edges_of(around.min(axis=1))
    return (from_x + left) * PIXEL, (from_y + top) * PIXEL, (from_x + right) * PIXEL, (from_y + bottom) * PIXEL


def edges_of(darkest: NDArray[np.uint8]) -> tuple[float, float]:
    """The first and last place with ink in a line of pixels."""
    inked = np.flatnonzero(darkest < 255)
    first, last = int(inked[0]), int(inked[-1])
    return float(first + darkest[first] / 255), float(last + 1 - darkest[last] / 255)


@every_stock
@pytest.mark.parametrize(("base_url", "modules"), [("http://rack.local:8765", 25), ("http://pi", 21), ("", 21)])
def test_every_label_of_a_full_sheet_is_decoded_measured_and_where_it_belongs(
    stock: Stock, base_url: str, modules: int, render_pages: RenderPages, make_labels: MakeLabels
) -> None:
    made = make_labels(stock.cells, base_url)
    (page,) = render_pages(labels.sheet_pdf(made, stock))
    found = read_codes(page, stock)
    assert [code.text for code in found] == [label.qr_payload for label in made]

    from_cell: dict[bool, list[tuple[float, float]]] = {False: [], True: []}
    for number, code in enumerate(found):
        left, top, right, bottom = symbol_box(page, code)
        side = right - left
        assert side >= (15.0 if base_url else 12.0) - PIXEL / 4
        assert bottom - top == pytest.approx(side, abs=PIXEL)
        meant = layout_label(stock, modules, 15.0 if base_url else 12.0, with_picture=True).symbol
        assert side == pytest.approx(meant.width, abs=PIXEL)
        quiet = QUIET_MODULES * side / modules
        assert is_blank_around(page, left, top, right, bottom, quiet)

        cell_left, cell_top = (float(value) for value in stock.corner(number + 1))
        assert left - quiet >= cell_left
        assert top - quiet >= cell_top
        assert bottom + quiet <= cell_top + float(stock.cell.height)
        from_cell[made[number].picture is None].append((left - cell_left, top - cell_top))
    for places in from_cell.values():
        assert np.ptp(np.array(places or [(0, 0)]), axis=0).max() <= PIXEL


def is_blank_around(page: Page, left: float, top: float, right: float, bottom: float, quiet: float) -> bool:
    """Whether a margin of `quiet` mm around a box is pure white; pixels on its edges are ignored."""
    around = part(page, left - quiet + PIXEL, top - quiet + PIXEL, right + quiet - PIXEL, bottom + quiet - PIXEL).copy()
    inset = round(quiet / PIXEL) - 2
    around[inset:-inset, inset:-inset] = 255
    return bool((around == 255).all())


@pytest.mark.parametrize("key", GRIDS)
def test_the_outlines_of_a_test_sheet_lie_where_the_trade_publishes_the_labels(
    key: str, render_pages: RenderPages
) -> None:
    stock = labels.find_stock(key)
    columns, rows, wide, high, left, top, across, down = GRIDS[key]
    (page,) = render_pages(labels.test_sheet_pdf(stock))
    assert (stock.columns, stock.rows) == (columns, rows)

    def inked(centre: float, line: NDArray[np.uint8]) -> bool:
        """Whether there is ink within one pixel of a place, or of the page's last pixel where the place is its edge."""
        at = min(max(centre / PIXEL, 0.5), len(line) - 0.5)
        near = line[max(0, int(at - 1)) : int(at + 1) + 1]
        return bool((near < 200).any())

    last_row = page[round((top + (rows - 1) * down + 0.9 * high) / PIXEL)]
    first_column = page[:, round((left + 0.04 * wide) / PIXEL)]
    for column in range(columns):
        assert inked(left + column * across, last_row)
        assert inked(left + column * across + wide, last_row)
        assert not inked(left + column * across + wide * 0.75, last_row)
    for row in range(rows):
        assert inked(top + row * down, first_column)
        assert inked(top + row * down + high, first_column)
        assert not inked(top + row * down + high * 0.8, first_column)


def longest_lines(page: Page, axis: int) -> list[float]:
    """Lengths in mm of the longest unbroken lines along an axis that are black, longest first, one for each line."""
    lengths = []
    for line in black(page) if axis == 1 else black(page).T:
        edges = np.flatnonzero(np.diff(np.concatenate(([0], line.astype(np.int8), [0]))))
        if edges.size:
            lengths.append(float((edges[1::2] - edges[::2]).max()) * PIXEL)
    return sorted(lengths, reverse=True)


@pytest.mark.parametrize("key", ["letter-3x10", "a4-3x8", "a4-4x10"])
@pytest.mark.parametrize("axis", [0, 1])
def test_the_scales_of_a_test_sheet_are_150_mm_and_6_inches_long(
    key: str, axis: int, render_pages: RenderPages
) -> None:
    (page,) = render_pages(labels.test_sheet_pdf(labels.find_stock(key)))
    rule_line = 0.2
    lengths = [length for length in longest_lines(page, axis) if 140 < length < 160]
    assert lengths[0] == pytest.approx(6 * INCH + rule_line, abs=2 * PIXEL)
    assert any(length == pytest.approx(150 + rule_line, abs=2 * PIXEL) for length in lengths)


def test_the_ticks_of_a_scale_stand_a_millimeter_apart(render_pages: RenderPages) -> None:
    (page,) = render_pages(labels.test_sheet_pdf(labels.find_stock("letter-3x10")))
    marks = black(page)
    scale_row = max(range(len(marks)), key=lambda row: int(marks[row].sum()))
    above = marks[scale_row - round(0.9 / PIXEL)]
    edges = np.flatnonzero(np.diff(np.concatenate(([0], above.astype(np.int8), [0]))))
    centres = (edges[::2] + edges[1::2]) / 2 * PIXEL
    assert len(centres) == 151
    assert np.abs(centres - centres[0] - np.arange(151)).max() <= PIXEL


def test_the_test_sheet_says_to_print_at_100_percent(page_text: Callable[[bytes], str]) -> None:
    text = " ".join(page_text(labels.test_sheet_pdf(labels.find_stock("a4-3x8"))).split())
    assert labels.PRINT_AT_100 in text
    assert "hold this page behind a sheet of labels (A4, 3 × 8, 70 × 37 mm)" in text


LONG = "Black walnut from the old stair of the mill, air dried, with sapwood on one edge and a check at the far end"


@every_stock
def test_the_longest_texts_never_leave_their_cell_nor_touch_the_code(
    stock: Stock, render_pages: RenderPages, make_labels: MakeLabels
) -> None:
    plain = make_labels(stock.cells)
    made = [
        labels.LabelText(
            "WWW-WWWW", label.qr_payload, LONG, "× ".join([LONG, LONG]), LONG, "Ẫ" + "Wg" * 200, label.picture
        )
        for label in plain
    ]
    (page,) = render_pages(labels.sheet_pdf(made, stock))
    assert [code.text for code in read_codes(page, stock)] == [label.qr_payload for label in made]

    blank = np.ones_like(page, dtype=bool)
    for cell in range(1, stock.cells + 1):
        left, top = (float(value) for value in stock.corner(cell))
        insets = stock.insets
        right = left + float(stock.cell.width - insets.right)
        bottom = top + float(stock.cell.height - insets.bottom)
        part(blank, left + float(insets.left) - PIXEL, top + float(insets.top) - PIXEL, right + PIXEL, bottom + PIXEL)[
            :
        ] = False
    assert (page[blank] == 255).all()


def test_printing_begins_at_the_start_cell(render_pages: RenderPages, make_labels: MakeLabels) -> None:
    stock = labels.find_stock("letter-3x10")
    made = make_labels(2)
    (page,) = render_pages(labels.sheet_pdf(made, stock, start_cell=5))
    for cell in range(1, 31):
        codes = read_codes(cell_of(page, stock, cell))
        assert [code.text for code in codes] == {5: [made[0].qr_payload], 6: [made[1].qr_payload]}.get(cell, [])
        assert (cell_of(page, stock, cell) < 255).any() == (cell in (5, 6))


def test_more_labels_than_a_sheet_go_on_to_the_first_cell_of_the_next(
    render_pages: RenderPages, make_labels: MakeLabels
) -> None:
    stock = labels.find_stock("a4-2x4")
    made = make_labels(10)
    first, second, third = render_pages(labels.sheet_pdf(made, stock, start_cell=8))
    assert labels.pages_needed(10, stock, start_cell=8) == 3
    assert [code.text for code in read_codes(first)] == [made[0].qr_payload]
    assert [code.text for code in read_codes(cell_of(first, stock, 8))] == [made[0].qr_payload]
    assert [code.text for code in read_codes(second, stock)] == [label.qr_payload for label in made[1:9]]
    assert [code.text for code in read_codes(cell_of(third, stock, 1))] == [made[9].qr_payload]


def test_a_roll_has_one_label_a_page(render_pages: RenderPages, make_labels: MakeLabels) -> None:
    made = make_labels(3)
    pages = render_pages(labels.sheet_pdf(made, labels.find_stock("roll-62x29")))
    assert [[code.text for code in read_codes(page)] for page in pages] == [[label.qr_payload] for label in made]


@pytest.mark.parametrize("key", ["letter-3x10", "roll-50x30", "a4-2x4"])
def test_the_ruler_takes_the_first_cell_and_is_true(
    key: str, render_pages: RenderPages, make_labels: MakeLabels
) -> None:
    stock = labels.find_stock(key)
    made = make_labels(1)
    pages = render_pages(labels.sheet_pdf(made, stock, ruler=True))
    assert len(pages) == labels.pages_needed(1, stock, ruler=True)
    ruler = cell_of(pages[0], stock, 1)
    assert read_codes(ruler) == []
    expected = {"letter-3x10": (50.8, 50), "roll-50x30": (25.4, 40), "a4-2x4": (76.2, 90)}[key]
    lengths = [length for length in longest_lines(ruler, 1) if length > 20]
    for wanted in expected:
        assert any(length == pytest.approx(wanted + 0.2, abs=2 * PIXEL) for length in lengths)
    place = pages[0] if stock.cells > 1 else pages[1]
    assert [code.text for code in read_codes(place)] == [made[0].qr_payload]


def test_cut_marks_cross_at_the_corners_of_the_cells_and_only_when_asked_for(
    render_pages: RenderPages, make_labels: MakeLabels
) -> None:
    stock = labels.find_stock("letter-2x5")
    made = make_labels(3)
    (without,) = render_pages(labels.sheet_pdf(made, stock))
    (marked,) = render_pages(labels.sheet_pdf(made, stock, cut_marks=True))
    columns, rows, wide, high, left, top, across, down = GRIDS["letter-2x5"]
    for row in range(rows):
        for column in range(columns):
            for x in (left + column * across, left + column * across + wide):
                for y in (top + row * down, top + row * down + high):
                    spot = (
                        slice(round(y / PIXEL) - 1, round(y / PIXEL) + 2),
                        slice(round(x / PIXEL) - 1, round(x / PIXEL) + 2),
                    )
                    assert (marked[spot] < 128).any()
                    assert (without[spot] == 255).all()
    assert [code.text for code in read_codes(marked, stock)] == [label.qr_payload for label in made]


def test_the_same_labels_give_the_same_bytes(make_labels: MakeLabels) -> None:
    stock = labels.find_stock("letter-2x5")
    assert labels.sheet_pdf(make_labels(12), stock) == labels.sheet_pdf(make_labels(12), stock)


def test_no_label_to_print_is_said() -> None:
    with pytest.raises(LabelError) as refused:
        labels.sheet_pdf([], labels.find_stock("letter-3x10"))
    assert str(refused.value) == (
        "There is no label to print: none was chosen and none waits. Choose the pieces to label."
    )


def test_an_address_that_makes_the_code_too_large_for_a_label_is_said(make_labels: MakeLabels) -> None:
    stock = labels.find_stock("a4-4x10")
    with pytest.raises(LabelError) as refused:
        labels.sheet_pdf(make_labels(1, "http://" + "rack." * 16 + "local:8765"), stock)
    assert str(refused.value) == (
        "A4, 4 × 10, 52.5 × 29.7 mm: the code must be 18.5 mm wide to scan, with a blank margin around it and the "
        "words beside it, and these labels are too small for that. Choose larger labels or set a shorter base address."
    )


def test_a_bare_code_fits_a_label_that_is_too_small_for_an_address(
    render_pages: RenderPages, make_labels: MakeLabels
) -> None:
    size = Size(Fraction(44), Fraction(20))
    small = Stock("own", "Own, 44 × 20 mm", labels.Paper.ROLL, size, 1, 1, size)
    made = make_labels(1, "")
    (page,) = render_pages(labels.sheet_pdf(made, small))
    (code,) = read_codes(page)
    left, _, right, _ = symbol_box(page, code)
    assert code.text == made[0].qr_payload
    assert right - left >= 12 - PIXEL
    with pytest.raises(LabelError):
        labels.sheet_pdf(make_labels(1), small)
