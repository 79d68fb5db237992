"""Stocks, compared with published measures; invalid grids."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

import labels
from labels.errors import LabelError
from labels.stock import A4, LETTER, STOCKS, Hole, Paper, Size, Stock, grid_errors

NANOMETRE = Fraction(1, 1_000_000)

every_stock = pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.key)


def page_size_in_points(pdf: bytes) -> tuple[float, float]:
    document = pypdfium2.PdfDocument(pdf)
    size: tuple[float, float] = document[0].get_size()
    document.close()
    return size


def test_the_page_sizes_are_those_of_the_standards() -> None:
    # ISO 216: A4 is 210 × 297 mm. ANSI/ASME Y14.1, size A: 8.5 × 11 in, which is 215.9 × 279.4 mm exactly.
    assert (A4.width, A4.height) == (210, 297)
    assert (LETTER.width, LETTER.height) == (Fraction("215.9"), Fraction("279.4"))


def test_a_letter_page_has_612_by_792_points_and_an_a4_page_595_276_by_841_890() -> None:
    # 1 pt is 1/72 in, so ANSI/ASME Y14.1 size A is 612 × 792 pt exactly and ISO 216 A4 595.276 × 841.890 pt
    letter = page_size_in_points(labels.test_sheet_pdf(labels.find_stock("letter-3x10")))
    a4 = page_size_in_points(labels.test_sheet_pdf(labels.find_stock("a4-3x8")))
    assert letter == (612.0, 792.0)
    assert a4 == pytest.approx((595.276, 841.890), abs=0.001)


def test_a_roll_label_is_a_page_of_its_own_size() -> None:
    size = page_size_in_points(labels.test_sheet_pdf(labels.find_stock("roll-62x29")))
    assert size == pytest.approx((62 / 25.4 * 72, 29 / 25.4 * 72), abs=0.001)


@every_stock
def test_every_cell_lies_on_its_page_and_no_two_overlap(stock: Stock) -> None:
    corners = [stock.corner(cell) for cell in range(1, stock.cells + 1)]
    wide, high = stock.cell.width, stock.cell.height
    for left, top in corners:
        assert left >= 0 and left + wide <= stock.page.width
        assert top >= 0 and top + high <= stock.page.height
    for one, other in combinations(corners, 2):
        assert abs(one[0] - other[0]) >= wide or abs(one[1] - other[1]) >= high


@every_stock
def test_every_stock_is_without_fault_and_named_by_its_measures(stock: Stock) -> None:
    assert labels.stock_errors(stock) == ()
    assert stock.name.startswith(
        {"US Letter": "US Letter, ", "A4": "A4, ", "Roll": "Roll, ", "Tie-on tag": "Tie-on tag, "}[stock.paper.value]
    )
    assert labels.find_stock(stock.key) is stock


def test_no_two_stocks_share_a_key_or_a_name() -> None:
    assert len({stock.key for stock in STOCKS}) == len({stock.name for stock in STOCKS}) == len(STOCKS)
    assert labels.find_stock(labels.DEFAULT_STOCK) in STOCKS


def test_three_columns_of_2_5_8_inch_labels_begin_3_16_inch_from_the_edge() -> None:
    # (8.5 − 3 × 2.625 − 2 × 0.125) / 2 = 0.1875 in; (11 − 10 × 1) / 2 = 0.5 in
    stock = labels.find_stock("letter-3x10")
    inch = Fraction("25.4")
    assert stock.corner(1) == (Fraction(3, 16) * inch, Fraction(1, 2) * inch)
    assert stock.corner(5) == ((Fraction(3, 16) + Fraction(11, 4)) * inch, Fraction(3, 2) * inch)
    assert stock.cell == Size(Fraction(21, 8) * inch, inch)


def test_cells_are_counted_from_the_left_and_then_down() -> None:
    stock = labels.find_stock("a4-3x8")
    assert [stock.corner(cell) for cell in (1, 3, 4)] == [
        (0, Fraction(1, 2)),
        (140, Fraction(1, 2)),
        (0, Fraction("37.5")),
    ]


def test_printing_keeps_off_the_edge_of_a_sheet_that_printers_cannot_reach() -> None:
    sixth = Fraction("25.4") / 6
    insets = labels.find_stock("a4-3x8").insets
    assert (insets.left, insets.right) == (sixth, sixth)
    assert insets.top == insets.bottom == sixth - Fraction(1, 2)
    assert labels.find_stock("roll-62x29").insets.left == Fraction(3, 2)


ONCE_MORE = "the margin and the step from label to label once more, or give fewer labels."


def grid(**changed: object) -> Stock:
    plain = Stock("own", "Own", Paper.A4, A4, 3, 8, Size(Fraction(70), Fraction(37)), top=Fraction(1, 2))
    return replace(plain, **changed)  # type: ignore[arg-type]


def test_a_grid_exactly_as_wide_as_its_page_can_be_and_one_nanometer_wider_cannot() -> None:
    assert grid_errors(grid()) == ()
    wider = grid(cell=Size(Fraction(70) + NANOMETRE, Fraction(37)))
    assert grid_errors(wider) == (
        "Own: the labels are 0.000003 mm (0 in) wider than the page. Measure the width of the page, " + ONCE_MORE,
    )


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"columns": 0}, "Own: 0 × 8 labels are none. Give 1 or more each way."),
        ({"cell": Size(Fraction(0), Fraction(37))}, "Own: a label has no size. Give a width and a height above 0."),
        ({"left": Fraction(-1)}, "Own: the first label begins off the page. Give margins of 0 or more."),
        (
            {"column_gap": -NANOMETRE},
            "Own: labels side by side overlap by 0.000001 mm (0 in). From one label to the next it is 69.999999 mm "
            "(2.7559 in), and they are 70 mm (2.7559 in) wide: make that step at least as large.",
        ),
        (
            {"row_gap": -NANOMETRE},
            "Own: labels one under the other overlap by 0.000001 mm (0 in). From one label to the next it is "
            "36.999999 mm (1.4567 in), and they are 37 mm (1.4567 in) high: make that step at least as large.",
        ),
        (
            {"rows": 9},
            "Own: the labels are 36.5 mm (1.437 in) higher than the page. Measure the height of the page, " + ONCE_MORE,
        ),
    ],
)
def test_a_grid_that_cannot_be_is_said_in_a_sentence(changed: dict[str, object], sentence: str) -> None:
    assert grid_errors(grid(**changed)) == (sentence,)


def test_a_label_too_small_for_the_code_of_an_address_is_a_fault() -> None:
    small = Stock("own", "Own", Paper.ROLL, Size(Fraction(40), Fraction(20)), 1, 1, Size(Fraction(40), Fraction(20)))
    assert labels.stock_errors(small) == (
        "Own: the code must be 15 mm wide to scan, with a blank margin around it and the words beside it, and "
        "these labels are too small for that. Choose larger labels or set a shorter base address.",
    )


def test_an_unknown_stock_is_refused_with_the_known_ones() -> None:
    with pytest.raises(LabelError) as refused:
        labels.find_stock("letter-7x7")
    known = ", ".join(stock.key for stock in STOCKS)
    assert str(refused.value) == f'"letter-7x7" is no label stock that is known here. Choose one of: {known}.'


@pytest.mark.parametrize(
    ("count", "key", "start", "ruler", "pages"),
    [
        (0, "letter-3x10", 1, False, 0),
        (30, "letter-3x10", 1, False, 1),
        (31, "letter-3x10", 1, False, 2),
        (30, "letter-3x10", 2, False, 2),
        (30, "letter-3x10", 1, True, 2),
        (1, "letter-3x10", 30, False, 1),
        (3, "roll-62x29", 1, False, 3),
    ],
)
def test_pages_are_counted_with_the_start_cell_and_the_ruler(
    count: int, key: str, start: int, ruler: bool, pages: int
) -> None:
    assert labels.pages_needed(count, labels.find_stock(key), start_cell=start, ruler=ruler) == pages


@pytest.mark.parametrize("start", [0, 31, -1])
def test_a_start_cell_that_the_sheet_does_not_have_is_refused(start: int) -> None:
    with pytest.raises(LabelError) as refused:
        labels.pages_needed(1, labels.find_stock("letter-3x10"), start_cell=start)
    assert str(refused.value) == (
        f"Label {start} is not there to start at: US Letter, 3 × 10, 2 5/8 × 1 in has labels 1 to 30. "
        "Start at one of those, counted from the left and then down."
    )


def test_a_roll_starts_at_its_first_label() -> None:
    with pytest.raises(LabelError) as refused:
        labels.pages_needed(1, labels.find_stock("roll-62x29"), start_cell=2)
    assert str(refused.value) == "Label 2 is not there to start at: a roll has one label a page. Start at 1."


TAG = Stock("own", "Own", Paper.TAG, Size(Fraction(90), Fraction(40)), 1, 1, Size(Fraction(90), Fraction(40)))


@pytest.mark.parametrize("middle", [(8, 20), (82, 20), (45, 6), (45, 34)])
def test_nothing_is_printed_on_the_hole_of_a_tag_nor_near_its_rim(
    middle: tuple[int, int],
    make_labels: Callable[..., list[labels.LabelText]],
    render_pages: Callable[[bytes], list[NDArray[np.uint8]]],
) -> None:
    tag = replace(TAG, hole=Hole(Fraction(middle[0]), Fraction(middle[1]), Fraction(6)))
    assert labels.stock_errors(tag) == ()
    for page in render_pages(labels.sheet_pdf([replace(make_labels(1)[0], bare_code="7KQ4M9X")], tag)):
        y, x = np.mgrid[: page.shape[0], : page.shape[1]] * 25.4 / 300
        near = (x - middle[0]) ** 2 + (y - middle[1]) ** 2 <= (3 + 1.4) ** 2
        assert (page[near] == 255).all()
        assert (page < 128).any()


@pytest.mark.parametrize(
    ("hole", "sentence"),
    [
        ((8, 20, 0), "Own: the hole has no size. Give its diameter, or no hole."),
        (
            (2, 20, 6),
            "Own: the hole is not wholly on the label. Measure to its middle from the label's left and top.",
        ),
        (
            (45, 20, 36),
            "Own: the code must be 15 mm wide to scan, with a blank margin around it and the words beside it, and "
            "these labels are too small for that beside the hole. Choose larger labels or set a shorter base address.",
        ),
    ],
)
def test_a_hole_that_cannot_be_is_said(hole: tuple[int, int, int], sentence: str) -> None:
    assert labels.stock_errors(replace(TAG, hole=Hole(*map(Fraction, hole)))) == (sentence,)


def test_rounded_corners_keep_printing_off_themselves_and_have_a_limit() -> None:
    assert replace(TAG, rounding=Fraction(10)).insets.left == 3
    assert replace(TAG, rounding=Fraction(3)).insets.left == Fraction(3, 2)
    assert labels.stock_errors(replace(TAG, rounding=Fraction(21))) == (
        "Own: the corners are rounder than the label is large. Give a smaller radius, or 0.",
    )


@pytest.mark.parametrize("copies", [0, 21])
def test_copies_have_limits(copies: int) -> None:
    with pytest.raises(LabelError) as refused:
        labels.pages_needed(1, TAG, copies=copies)
    assert str(refused.value) == f"{copies} copies of a label can't be printed. Type a number from 1 to 20."
