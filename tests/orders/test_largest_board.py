"""The largest end-grain board that a rack fills where it can't fill the one asked for."""

from dataclasses import replace

import pytest

from inventory.core.lengths import Length, Unit, inches
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.fill.glue_ups import candidate_depths, with_depth
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from inventory.orders.answer import fill_order, fill_rack
from tests.solver.hand_written import DAY, make_offcut

RACK = [
    make_offcut("40", "4", "1", "ash", "AAAAAA1"),
    make_offcut("16", "5", "1 1/8", "ash", "AAAAAA2", count=2),
    make_offcut("22", "3", "3/4", "cherry", "BBBBBB1"),
    make_offcut("9", "4", "1 1/4", "cherry", "BBBBBB2"),
]
STRIPED = (FieldBand(("ash",)), StripeBand(("cherry",), 1, inches("1/4")), FieldBand(("ash",)))
SIXTEENTH = inches("1/16")


def asked(width: str, bands: tuple[FieldBand | StripeBand, ...] = (), panels: int = 2) -> BoardRequest:
    wish = PanelSpec(Grain.EDGE, panels, inches("3/4"))
    sizes = (inches("10"), inches(width), inches("1 1/2"))
    return BoardRequest(*sizes, Grain.END, bands, fills=1, on=DAY, panel=wish)


@pytest.mark.parametrize("panels", [1, 2, 3])
@pytest.mark.parametrize("bands", [(), STRIPED], ids=["plain", "striped"])
@pytest.mark.parametrize("name", ["width", "length", "thickness"])
def test_the_largest_board_can_be_filled(name: str, bands: tuple[FieldBand | StripeBand, ...], panels: int) -> None:
    request = asked("40", bands, panels)
    shortfall = fill_rack(RACK, request).shortfall
    assert shortfall is not None
    largest: Length | None = getattr(shortfall, f"largest_{name}")
    if largest is not None:
        assert largest % SIXTEENTH == 0
        assert largest < getattr(request, name)
        assert fill_rack(RACK, replace(request, **{name: largest})).fills


def test_of_a_single_panel_a_sixteenth_more_width_can_not_be_filled() -> None:
    request = asked("40", panels=1)
    shortfall = fill_rack(RACK, request).shortfall
    assert shortfall is not None and shortfall.largest_width is not None
    assert shortfall.largest_width > inches("3")
    wider = Length(shortfall.largest_width + SIXTEENTH)
    assert not fill_rack(RACK, replace(request, width=wider)).fills


def test_a_board_in_millimeters_gives_way_by_millimeters() -> None:
    request = replace(asked("40", panels=1), unit=Unit.MILLIMETER)
    shortfall = fill_rack(RACK, request).shortfall
    assert shortfall is not None and shortfall.largest_width is not None
    assert shortfall.largest_width % 1_000_000 == 0
    assert fill_rack(RACK, replace(request, width=shortfall.largest_width)).fills


def test_an_empty_rack_has_no_largest_board() -> None:
    shortfall = fill_rack([], asked("6")).shortfall
    assert shortfall is not None
    assert (shortfall.largest_width, shortfall.largest_length, shortfall.largest_thickness) == (None, None, None)


def test_without_a_row_depth_the_shortfall_is_stated_at_the_depth_that_lacks_least() -> None:
    request = replace(asked("40", STRIPED, panels=2), panel=PanelSpec(Grain.EDGE, 2))
    plan = fill_rack(RACK, request)
    assert plan.shortfall is not None and plan.shortfall.shortages
    lacking = {}
    for depth in candidate_depths(request):
        alone = fill_rack(RACK, with_depth(request, depth)).shortfall
        assert alone is not None
        lacking[depth] = alone.missing
    assert plan.shortfall.missing == min(lacking.values())
    assert lacking[plan.request.panel.row_depth] == plan.shortfall.missing
    assert len(set(lacking.values())) > 1


def test_of_several_end_grain_boards_the_largest_one_is_named_and_not_its_panel() -> None:
    request = asked("40")
    several, alone = fill_order(RACK, [request, request]).shortfall, fill_rack(RACK, request).shortfall
    assert several is not None and alone is not None and alone.largest_width is not None
    for name in ("largest_width", "largest_length", "largest_thickness"):
        assert getattr(several, name) == getattr(alone, name)


def test_where_one_panel_fails_and_two_fill_the_board_that_is_answered() -> None:
    # Fourteen rows of 1 5/8 in and 13 kerfs are 24 3/8 in long; seven and seven are 12 1/8 in, and 1 in of trim.
    rack = [make_offcut("13 1/8", "8", "1", "ash", "AAAAAA1", count=4)]
    shortfall = fill_rack(rack, asked("3", panels=1)).shortfall
    assert shortfall is not None and shortfall.panels == 2
    assert fill_rack(rack, asked("3", panels=2)).fills


def test_where_more_panels_do_not_help_none_are_named() -> None:
    # Rows as long as these pieces there are none, from however many panels.
    rack = [make_offcut("2", "8", "1", "ash", "AAAAAA1", count=9)]
    shortfall = fill_rack(rack, asked("3", panels=1)).shortfall
    assert shortfall is not None and shortfall.panels is None
    assert fill_rack(rack, asked("3", panels=12)).fills == ()


def test_of_an_order_of_different_boards_more_panels_are_not_tried() -> None:
    rack = [make_offcut("13 1/8", "8", "1", "ash", "AAAAAA1", count=4)]
    shortfall = fill_order(rack, [asked("3", panels=1), asked("4", panels=1)]).shortfall
    assert shortfall is not None and shortfall.panels is None
