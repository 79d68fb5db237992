"""One nanometer decides: boards that just can be filled, and the same with one nanometer less wood or more board."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import pytest

from inventory.core.lengths import NM_PER_MM, Length
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.costs import Preference
from inventory.fill.plan import Plan
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from tests.fill.calculation import worth_of
from tests.fill.racks import METRIC_SHOP, ON
from tests.verify import faults
from tests.verify.paper_plans import mm

# Allowances as in paper_plans: kerfs 3, rough face 1.5, jointing 1, flattening 3, end trim 25, side trim 3.
EDGE = BoardRequest(mm("300"), mm("17"), mm("40"), Grain.EDGE, allowances=METRIC_SHOP, on=ON)  # 325 × 43, 20 together
EDGE_PIECE = Offcut(mm("325"), mm("44"), mm("23"), "ash", tag="ASH0001")  # 44 − 1 = 43; 23 − 3 = 20
FACE = BoardRequest(mm("300"), mm("95"), mm("20"), Grain.FACE, allowances=METRIC_SHOP, on=ON)  # 325 × 98 × 23
FACE_PIECE = Offcut(mm("325"), mm("100"), mm("26"), "ash", tag="ASH0001")  # 100 − 2 = 98; 26 − 3 = 23


def filled(request: BoardRequest, rack: Sequence[Offcut]) -> Plan:
    """The plan of the search, held against the model."""
    plan = fill_rack(rack, request)
    assert faults(plan, rack) == []
    return plan


def shorter(offcut: Offcut, size: str) -> Offcut:
    return replace(offcut, **{size: Length(getattr(offcut, size) - 1)})


@pytest.mark.parametrize(("request_", "piece"), [(EDGE, EDGE_PIECE), (FACE, FACE_PIECE)], ids=["edge", "face"])
def test_an_offcut_that_is_just_large_enough_fills_the_board_alone(request_: BoardRequest, piece: Offcut) -> None:
    assert {fill.filled_width for fill in filled(request_, [piece]).fills} == {request_.width + mm("3")}


@pytest.mark.parametrize("size", ["length", "width", "thickness"])
@pytest.mark.parametrize(("request_", "piece"), [(EDGE, EDGE_PIECE), (FACE, FACE_PIECE)], ids=["edge", "face"])
def test_a_nanometer_less_in_any_size_and_it_does_not(request_: BoardRequest, piece: Offcut, size: str) -> None:
    assert filled(request_, [shorter(piece, size)]).fills == ()


@pytest.mark.parametrize("size", ["length", "width", "thickness"])
@pytest.mark.parametrize(("request_", "piece"), [(EDGE, EDGE_PIECE), (FACE, FACE_PIECE)], ids=["edge", "face"])
def test_a_nanometer_more_of_board_and_it_does_not(request_: BoardRequest, piece: Offcut, size: str) -> None:
    larger = replace(request_, **{size: Length(getattr(request_, size) + 1)})
    assert filled(larger, [piece]).fills == ()


def test_a_missing_nanometer_is_stated_and_so_is_the_board_that_can_be_had() -> None:
    shortfall = filled(replace(EDGE, width=Length(EDGE.width + 1)), [EDGE_PIECE]).shortfall
    assert shortfall is not None
    assert (shortfall.missing, shortfall.largest_width) == (1, EDGE.width)


def test_a_nanometer_of_kerf_decides_whether_a_second_strip_is_ripped() -> None:
    two = replace(EDGE, width=mm("37"))  # 40 together: both strips
    wide = replace(EDGE_PIECE, width=mm("90"))  # 2·43 + 3 + 1
    assert [cut.rips for cut in filled(two, [wide]).fills[0].cuts] == [(2,)]
    assert filled(two, [shorter(wide, "width")]).fills == ()


def test_a_nanometer_of_kerf_decides_whether_a_second_length_is_crosscut() -> None:
    two = replace(EDGE, width=mm("37"))
    long = replace(EDGE_PIECE, length=mm("653"))  # 2·325 + 3
    assert [cut.rips for cut in filled(two, [long]).fills[0].cuts] == [(1, 1)]
    assert filled(two, [shorter(long, "length")]).fills == ()


def test_the_thinnest_lamination_serves_and_a_nanometer_less_does_not() -> None:
    thin = replace(EDGE_PIECE, thickness=mm("9"))  # 9 − 3 = 6, the thinnest
    board = replace(EDGE, width=mm("3"))
    assert [fill.filled_width for fill in filled(board, [thin]).fills] == [mm("6")] * len(Preference)
    assert filled(board, [shorter(thin, "thickness")]).fills == ()


def test_a_planed_face_gives_its_allowance_to_the_strip() -> None:
    planed = replace(EDGE_PIECE, face_a=Face.PLANED, face_b=Face.PLANED)
    assert filled(replace(EDGE, width=mm("20")), [planed]).fills[0].filled_width == mm("23")


@pytest.mark.parametrize(
    ("width", "rips", "adds"),
    [
        ("102", 1, "100"),  # one strip of 100, the widest
        ("102.000001", 2, "95.000001"),  # 102.000001 − 3 − 4·1
        ("27", None, None),  # 25: too narrow to close and to fill the board
    ],
)
def test_a_length_is_ripped_just_where_its_strip_would_be_too_wide(
    width: str, rips: int | None, adds: str | None
) -> None:
    plan = filled(replace(FACE, width=mm("90")), [replace(FACE_PIECE, width=mm(width))])
    if rips is None or adds is None:
        assert plan.fills == ()
    else:
        whole = [cut for fill in plan.fills for cut in fill.cuts if not cut.part]
        assert {(cut.rips, cut.adds) for cut in whole} <= {((rips,), mm(adds))}


def test_where_less_is_missing_a_part_of_a_length_is_the_narrowest() -> None:
    piece = replace(FACE_PIECE, count=2)  # 98 each
    for missing, width in ((20 * NM_PER_MM + 1, 20 * NM_PER_MM + 1), (20 * NM_PER_MM, mm("20")), (1, mm("20"))):
        board = replace(FACE, width=Length(mm("95") + missing))
        fill = filled(board, [piece]).fills[0]
        assert [cut.strip_width for cut in fill.cuts if cut.part] == [width]
        assert fill.filled_width == mm("98") + width


def test_a_part_of_a_length_leaves_a_kept_leftover_just_where_it_is_wide_enough() -> None:
    # 20 of strip, 2 of jointing and 3 of kerf leave 75 of 100; the shop keeps 20 and more.
    for width, kept in ((mm("45"), True), (Length(mm("45") - 1), False)):
        piece = replace(FACE_PIECE, width=width)
        [fill] = filled(replace(FACE, width=mm("17"), prefer=(Preference.LEAST_WASTE,)), [piece]).fills
        assert any(left.kept for cut in fill.cuts for left in cut.leftovers) is kept


def test_an_offcut_of_730_days_costs_a_quarter_and_an_older_one_no_less() -> None:
    worth = worth_of(mm("325"), mm("44"), mm("23"), EDGE.allowances)
    for days, weight in ((0, 1000), (1, 999), (365, 625), (729, 252), (730, 250), (4000, 250)):
        piece = replace(EDGE_PIECE, tagged_on=ON - timedelta(days=days))
        [fill] = filled(replace(EDGE, prefer=(Preference.OLDEST_FIRST,)), [piece]).fills
        assert fill.bound == worth * weight // 1000, days
