"""Boards filled one after another from a rack that changes: the same cuts as a person is shown."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inventory.cutting.cost import Preference
from inventory.fill import fill_rack
from inventory.fill.quick import ChangingRack
from inventory.fill.request import BoardRequest, Grain, PanelWish
from inventory.measures import inches
from inventory.pieces import Offcut
from tests.fill.racks import ON, Shop, make_rack, make_request

BUNDLE = Offcut(inches("24"), inches("4"), inches("1"), "ash", count=3, tag="ASH0001")


@pytest.mark.parametrize("prefer", Preference)
@pytest.mark.parametrize("grain", [Grain.EDGE, Grain.FACE])
def test_board_after_board_gets_the_cuts_that_a_person_is_shown(prefer: Preference, grain: Grain) -> None:
    offcuts = make_rack(5, 60, Shop.MIXED)
    rack = ChangingRack(offcuts[:40])
    board = replace(make_request(5, offcuts, Shop.MIXED, grain, widest_mm=150), prefer=(prefer,), fills=1)

    for more in offcuts[40:46]:
        fills = fill_rack(list(rack), board).fills
        cuts = rack.best(board)

        assert cuts == (fills[0].cuts if fills else None)
        for tag, _ in {(cut.offcut.tag, cut.piece) for cut in cuts or ()}:
            rack.take(tag)
        rack.add(more)


def test_end_grain_and_several_boards_are_filled_too() -> None:
    offcuts = make_rack(3, 80, Shop.SIXTEENTHS)
    rack = ChangingRack(offcuts)
    board = BoardRequest(inches("8"), inches("6"), inches("1 1/4"), fills=1, on=ON, prefer=(Preference.LEAST_WASTE,))
    turned_up = replace(board, grain=Grain.END, panel=PanelWish(row_depth=inches("1")))

    for asked in (turned_up, replace(turned_up, panel=PanelWish()), replace(board, count=2)):
        assert rack.best(asked) == fill_rack(offcuts, asked).fills[0].cuts


def test_what_is_taken_is_gone_and_what_can_not_be_filled_is_none() -> None:
    rack = ChangingRack([BUNDLE])
    board = BoardRequest(inches("20"), inches("4"), inches("1 1/2"), on=ON)

    rack.take("ASH0001", 2)

    assert list(rack) == [replace(BUNDLE, count=1)]
    assert len(rack) == 1
    assert rack.best(board) is None
    with pytest.raises(KeyError):
        rack.take("ASH0001", 2)
    with pytest.raises(KeyError):
        rack.add(BUNDLE)
    rack.take("ASH0001")
    assert "ASH0001" not in rack
    rack.add(BUNDLE)
    assert list(rack) == [BUNDLE]
    assert rack.best(replace(board, width=inches("1"))) is not None


def test_a_rack_to_which_hundreds_come_and_go_keeps_only_what_is_left() -> None:
    rack = ChangingRack()

    for number in range(500):
        rack.add(replace(BUNDLE, tag=f"T{number:03d}", count=1))
        if number >= 10:
            rack.take(f"T{number - 10:03d}")

    assert [each.tag for each in rack] == [f"T{number}" for number in range(490, 500)]
