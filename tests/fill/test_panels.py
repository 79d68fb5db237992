"""The panels of an end-grain board: how wide they are glued up and sliced (cutting model, section 6)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inventory.core.lengths import Length, inches
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.fill.demands import parts_of
from inventory.fill.glue_ups import glue_ups_for
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from inventory.orders.answer import fill_rack
from tests.verify import faults

BOARD = BoardRequest(
    inches("12"), inches("8"), inches("1 1/2"), Grain.END, panel=PanelSpec(Grain.EDGE, 2, inches("1 1/2"))
)


def test_a_panel_is_glued_up_wider_by_both_trims_and_jointed_wider_by_the_second() -> None:
    for glue_up in glue_ups_for([BOARD]):
        assert glue_up.request.width == inches("8")
        assert glue_up.jointed_width == inches("8 1/8")
        assert glue_up.request.glue_up.target == inches("8 1/4")


def test_rows_are_shared_out_as_evenly_as_possible_and_no_panel_is_without() -> None:
    # 12 1/8 in are 9 rows of 1 1/2 in.
    assert [each.rows for each in glue_ups_for([BOARD])] == [5, 4]
    many = replace(BOARD, panel=replace(BOARD.panel, panels=12))
    assert [each.rows for each in glue_ups_for([many])] == [1] * 9


def test_the_outermost_fields_get_half_of_both_trims_each() -> None:
    bands = (FieldBand(("ash",)), StripeBand(("cherry",), 2, inches("1/4")), FieldBand(("walnut",)))
    [panel, _] = glue_ups_for([replace(BOARD, bands=bands)])
    field, _, other = parts_of(panel.request)
    # 7 1/2 in for two fields, and 1/8 in of trim more for each.
    assert (field.demand.target, other.demand.target) == (inches("3 7/8"), inches("3 7/8"))


@pytest.mark.parametrize(("narrower", "fills"), [(0, True), (1, False)])
def test_a_panel_a_nanometer_narrower_than_the_board_and_both_trims_is_too_narrow(narrower: int, fills: bool) -> None:
    # One row from one panel, 1 5/8 in and 1 in of trim long: six strips, each 1 3/8 in thick, are 8 1/4 in wide.
    board = replace(BOARD, length=inches("1"), panel=PanelSpec(Grain.EDGE, 1, inches("1 1/2")))
    thickness = Length(inches("1 3/8") - narrower)
    rack = [Offcut(inches("2 5/8"), inches("1 21/32"), thickness, "ash", Face.PLANED, Face.PLANED, 6, "A")]
    plan = fill_rack(rack, board)
    assert bool(plan.fills) is fills
    assert faults(plan, rack) == []
    if not fills:
        assert plan.shortfall is not None and plan.shortfall.missing == 6
