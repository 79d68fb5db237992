"""The smallest and the largest board, panel and row depth that can be asked for, and the neighbors just outside."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, Unit, inches, millimeters
from inventory.fill.glue_ups import candidate_depths, glue_ups_for, with_depth
from inventory.fill.request import BoardRequest, Grain, InvalidRequest, PanelSpec, read_request, request_document
from inventory.orders.answer import fill_rack
from tests.fill.racks import METRIC_SHOP

BOARD = BoardRequest(millimeters("400"), millimeters("300"), millimeters("40"), allowances=METRIC_SHOP, fills=1)
SIZES = ("length", "width", "thickness")


def with_size(name: str, size: Length) -> BoardRequest:
    """The board with another length, width or thickness."""
    sizes = {each: getattr(BOARD, each) for each in SIZES} | {name: size}
    return replace(BOARD, length=sizes["length"], width=sizes["width"], thickness=sizes["thickness"])


@pytest.mark.parametrize("name", SIZES)
def test_a_board_may_be_10_m_and_no_nanometer_more_and_the_size_that_is_wrong_is_named(name: str) -> None:
    assert getattr(with_size(name, millimeters("10000")), name) == millimeters("10000")
    with pytest.raises(InvalidRequest) as refused:
        with_size(name, Length(millimeters("10000") + 1))
    assert str(refused.value) == f"The board's {name} is over 10 m. Check the unit."
    assert refused.value.what == name


@pytest.mark.parametrize("name", SIZES)
def test_a_board_may_be_1_mm_and_no_nanometer_less(name: str) -> None:
    assert getattr(with_size(name, millimeters("1")), name) == millimeters("1")
    with pytest.raises(InvalidRequest) as refused:
        with_size(name, Length(millimeters("1") - 1))
    assert str(refused.value) == f"The board's {name} is under 1 mm. Check the unit."
    assert refused.value.what == name


def test_rows_may_be_1_mm_deep_and_no_nanometer_less() -> None:
    assert PanelSpec(row_depth=millimeters("1")).row_depth == millimeters("1")
    with pytest.raises(InvalidRequest) as refused:
        PanelSpec(row_depth=Length(millimeters("1") - 1))
    assert str(refused.value) == (
        "The row depth is under 1 mm. Type the finished thickness of the panel, or leave it out."
    )


def test_a_panel_that_would_be_over_10_m_long_is_refused_in_the_words_of_panels() -> None:
    # 668 rows of 40 + 3 mm and 667 kerfs of 3 mm are 30.725 m.
    long = replace(BOARD, length=millimeters("2000"), grain=Grain.END, panel=PanelSpec(row_depth=millimeters("3")))
    with pytest.raises(InvalidRequest) as refused:
        fill_rack([], long)
    assert str(refused.value) == (
        "A panel of 668 rows would be over 10 m long. Ask for more panels, or for deeper rows."
    )
    assert refused.value.what == "panel"


def test_usual_row_depths_that_make_a_panel_too_long_are_not_tried() -> None:
    # 5003 mm are 201 rows of 25 mm, in a panel of 9.243 m; in rows of 22 mm they are 228, and it would be 10.485 m.
    counter = replace(BOARD, length=millimeters("5000"), grain=Grain.END, unit=Unit.MILLIMETER)
    assert candidate_depths(counter) == tuple(millimeters(depth) for depth in ("50", "45", "40", "35", "30", "25"))
    assert all(glue_ups_for([with_depth(counter, depth)]) for depth in candidate_depths(counter))
    assert fill_rack([], counter).shortfall is not None


def test_where_every_usual_row_depth_makes_a_panel_too_long_the_answer_says_so() -> None:
    # 10003 mm in rows of 50 mm are 201 rows of 48 mm: 10.245 m.
    long = replace(BOARD, length=millimeters("10000"), thickness=millimeters("45"), grain=Grain.END)
    with pytest.raises(InvalidRequest) as refused:
        fill_rack([], replace(long, unit=Unit.MILLIMETER))
    assert str(refused.value) == (
        "A panel of 201 rows would be over 10 m long. Ask for more panels, or for deeper rows."
    )


def test_the_usual_row_depths_are_those_of_the_unit_and_none_is_longer_than_the_board() -> None:
    inch = ("2", "1 3/4", "1 1/2", "1 1/4", "1", "7/8", "3/4")
    board = replace(BOARD, grain=Grain.END, unit=Unit.INCH)
    assert candidate_depths(board) == tuple(inches(depth) for depth in inch)
    short = replace(board, length=inches("1"))
    assert candidate_depths(short) == tuple(inches(depth) for depth in ("1", "7/8", "3/4"))
    assert candidate_depths(replace(short, length=Length(inches("1") - 1)))[0] == inches("7/8")
    metric = ("50", "45", "40", "35", "30", "25", "22", "20", "18")
    assert candidate_depths(replace(board, unit=Unit.MILLIMETER)) == tuple(millimeters(depth) for depth in metric)


def test_a_board_shorter_than_every_usual_row_depth_has_to_name_one() -> None:
    short = replace(BOARD, length=Length(inches("3/4") - 1), grain=Grain.END)
    with pytest.raises(InvalidRequest) as refused:
        fill_rack([], short)
    assert str(refused.value) == (
        "The board is shorter than the smallest usual row depth: nothing can be turned up. Type a row depth."
    )
    assert refused.value.what == "panel"


@pytest.mark.parametrize(
    ("length", "shop", "unit"),
    [
        ("18 in", Unit.MILLIMETER, Unit.INCH),
        ("1' 6\"", Unit.MILLIMETER, Unit.INCH),
        ("45 cm", Unit.INCH, Unit.MILLIMETER),
        ("450", Unit.MILLIMETER, Unit.MILLIMETER),
        (18, Unit.INCH, Unit.INCH),
    ],
)
def test_a_request_is_in_the_unit_of_its_length_or_else_of_the_shop(length: str | int, shop: Unit, unit: Unit) -> None:
    given = {"length": length, "width": "12 in", "thickness": "38 mm"}
    request = read_request(given, Allowances(), shop, date(2030, 1, 31))
    assert request.unit is unit
    assert read_request(request_document(request), Allowances(), Unit.INCH, date(2030, 1, 31)) == request


def test_a_request_may_name_the_unit_of_its_bare_numbers() -> None:
    given = {"length": "450", "width": "12 in", "thickness": 38, "unit": "mm"}
    request = read_request(given, Allowances(), Unit.INCH, date(2030, 1, 31))
    assert (request.unit, request.length, request.thickness) == (Unit.MILLIMETER, 450_000_000, 38_000_000)
    with pytest.raises(InvalidRequest) as refused:
        read_request(given | {"unit": "cm"}, Allowances(), Unit.INCH, date(2030, 1, 31))
    assert str(refused.value) == 'unit can\'t be "cm". Choose one of: in, mm.'
