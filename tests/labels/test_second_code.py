"""The second, smaller code in the corner opposite the main one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import zxingcpp
from numpy.typing import NDArray

import labels
from labels.geometry import Box, layout_label, second_code_box
from labels.stock import STOCKS, Stock
from labels.typesetting.around_code import set_text_around
from labels.typesetting.fonts import MM_PER_POINT
from labels.typesetting.words import LineKind, TextDoesNotFit

Page = NDArray[np.uint8]
RenderPages = Callable[[bytes], list[Page]]
MakeLabels = Callable[..., list[labels.LabelText]]

PIXEL = 25.4 / 300
WITH_WORDS = ["letter-3x10", "letter-2x10", "letter-2x7", "letter-2x5", "letter-2x3"]
WITH_WORDS += ["a4-2x7", "a4-2x5", "a4-2x4", "roll-100x50", "tag-3.25x1.625in", "tag-4.75x2.375in"]

every_stock = pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.key)


def second(stock: Stock, *, with_text: bool, with_picture: bool = True) -> Box | None:
    places = layout_label(stock, 25, 15.0, with_picture=with_picture)
    return second_code_box(places, with_text=with_text, dot=float(stock.dot))


def with_second_code(label: labels.LabelText) -> labels.LabelText:
    return replace(label, bare_code=label.code_text.replace("-", ""))


def test_stocks_with_room_for_a_second_code_beside_words_are_reported_apart_and_blank_tags_always_have_one() -> None:
    assert [stock.key for stock in STOCKS if second(stock, with_text=True)] == WITH_WORDS
    assert all(second(stock, with_text=False, with_picture=False) for stock in STOCKS)


@every_stock
def test_a_second_code_costs_the_main_one_nothing_and_its_modules_are_half_a_millimeter_or_more(stock: Stock) -> None:
    for with_text in (True, False):
        places = layout_label(stock, 25, 15.0, with_picture=with_text)
        box = second_code_box(places, with_text=with_text)
        if box is None:
            continue
        # ISO/IEC 18004: version 1 has 21 modules and a quiet zone of 4 on each side
        assert box.width == box.height >= 0.5 * 29
        assert box.width / 29 * 21 <= min(15.0, 0.8 * places.symbol.width) + 1e-9
        assert box.left >= places.quiet.right and box.bottom <= places.words.bottom + 1e-9
        assert places.picture is None or box.right <= places.picture.left or places.picture.right <= box.left


@every_stock
def test_both_codes_of_every_label_are_read_from_the_page(
    stock: Stock, render_pages: RenderPages, make_labels: MakeLabels
) -> None:
    made = [with_second_code(label) for label in make_labels(min(stock.cells, 6))]
    made += [labels.LabelText("000-0011", "HTTP://RACK.LOCAL:8765/T/0000011", bare_code="0000011")]
    pages = render_pages(labels.sheet_pdf(made, stock))
    found = [code.text for page in pages for code in zxingcpp.read_barcodes(page, zxingcpp.BarcodeFormat.QRCode)]
    named = made if stock.key in WITH_WORDS else made[-1:]
    assert sorted(found) == sorted([label.qr_payload for label in made] + [label.bare_code for label in named])


@pytest.mark.parametrize("key", WITH_WORDS)
def test_words_stay_clear_of_the_second_code_and_its_quiet_zone(
    key: str, render_pages: RenderPages, make_labels: MakeLabels
) -> None:
    stock = labels.find_stock(key)
    long = "Black walnut from the old stair of the mill, air dried, with sapwood on one edge"
    label = replace(with_second_code(make_labels(1)[0]), species=long, condition=long, location=long, picture=None)
    with_it, without = (
        render_pages(labels.sheet_pdf([replace(label, bare_code=code)], stock))[0] for code in (label.bare_code, "")
    )
    box = second(stock, with_text=True)
    assert box is not None
    left, top = (float(value) for value in stock.corner(1))
    quiet = box.width * 4 / 29

    def inked(page: Page, part: Box) -> bool:
        rows = slice(round((top + part.top) / PIXEL) + 1, round((top + part.bottom) / PIXEL) - 1)
        columns = slice(round((left + part.left) / PIXEL) + 1, round((left + part.right) / PIXEL) - 1)
        return bool((page[rows, columns] < 255).any())

    assert inked(with_it, box.inset(quiet))
    assert not inked(with_it, Box(box.left, box.top, box.width, quiet))
    assert not inked(with_it, Box(box.left, box.top, quiet, box.height))
    assert (with_it[:, : round((left + 20) / PIXEL)] == without[:, : round((left + 20) / PIXEL)]).all()


def test_upper_lines_have_the_whole_width_and_lower_ones_what_the_corner_leaves() -> None:
    words = [(LineKind.CODE, "7KQ-4M9X"), (LineKind.SPECIES, "White ash"), (LineKind.SIZES, "23½ × 3¼ × ¹³⁄₁₆ in")]
    words += [(LineKind.CONDITION, "rough / planed"), (LineKind.LOCATION, "North wall, upper bay by the window")]
    rows = set_text_around(words, 41.0, 22.4, (17.0, 16.0))
    assert [row.line for row in rows] == sorted((row.line for row in rows), key=list(LineKind).index)
    assert " ".join(row.text for row in rows if row.line is LineKind.LOCATION) == "North wall, upper bay by the window"
    for row in rows:
        bottom = row.baseline + 0.24 * row.size * MM_PER_POINT
        assert row.width <= (41.0 if bottom <= 6.4 + 1e-5 else 24.0) + 1e-5
        assert bottom <= 22.4 + 1e-5
    for above, row in pairwise(rows):
        assert row.baseline - above.baseline >= 0.95 * row.size * MM_PER_POINT


def test_words_that_have_no_room_beside_a_corner_are_said_and_none_need_none() -> None:
    with pytest.raises(TextDoesNotFit) as refused:
        set_text_around([(LineKind.CODE, "7KQ-4M9X")], 41.0, 22.4, (17.0, 21.0))
    assert str(refused.value) == ("The words of 7KQ-4M9X do not fit beside a second code. Choose larger labels.")
    assert set_text_around([(LineKind.CODE, " ")], 41.0, 22.4, (17.0, 16.0)) == ()
