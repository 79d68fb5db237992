"""Seeded boards that can't be filled: what is missing, why pieces were ruled out, and what could be made."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inventory.core.lengths import Length, millimeters
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from tests.fill.calculation import max_width, target
from tests.fill.racks import LONG_GRAIN, METRIC_SHOP, ShopUnits, make_rack, make_request
from tests.verify import faults

SEEDS = range(3)


@pytest.mark.parametrize("larger", ["length", "width", "thickness"])
@pytest.mark.parametrize("grain", LONG_GRAIN, ids=lambda grain: grain.value)
@pytest.mark.parametrize("shop", list(ShopUnits), ids=lambda shop: shop.name.lower())
def test_a_rack_that_falls_short_says_what_is_missing_and_what_can_be_made(
    shop: ShopUnits, grain: Grain, larger: str
) -> None:
    for seed in SEEDS:
        rack = make_rack(seed, 8, shop)
        request = make_request(seed, rack, shop, grain)
        while max_width(rack, request) >= target(request):
            request = replace(request, **{larger: Length(2 * getattr(request, larger))})

        plan = fill_rack(rack, request)

        assert faults(plan, rack) == []
        assert plan.fills == ()


def test_an_empty_rack_lacks_the_whole_board() -> None:
    request = make_request(0, [], ShopUnits.WHOLE_MM, Grain.EDGE)
    plan = fill_rack([], request)
    assert faults(plan, []) == []
    assert plan.shortfall is not None
    assert plan.shortfall.missing == request.width + request.allowances.side_trim
    assert (plan.shortfall.largest_width, plan.shortfall.largest_length) == (None, None)


def test_pieces_on_hold_are_counted_as_such() -> None:
    request = make_request(0, [], ShopUnits.WHOLE_MM, Grain.EDGE)
    plan = fill_rack([], request, on_hold=lambda: 3)
    assert plan.shortfall is not None
    assert plan.shortfall.reasons["set aside"] == 3


@pytest.mark.parametrize("largest", ["1.2", "1", "1.000001", "2.6"])
def test_the_largest_thickness_may_be_little_more_than_the_smallest_board(largest: str) -> None:
    # Laid flat, a piece gives a board as thick as it is; less than 1 mm can't be asked for.
    thin = Offcut(millimeters("400"), millimeters("60"), millimeters(largest), "ash", Face.PLANED, Face.PLANED, tag="A")
    allowances = METRIC_SHOP.with_value("flattening", Length(0))
    request = BoardRequest(millimeters("300"), millimeters("40"), millimeters("100"), Grain.FACE, allowances=allowances)
    plan = fill_rack([thin], request)
    assert faults(plan, [thin]) == []
    assert plan.shortfall is not None and plan.shortfall.largest_thickness == millimeters(largest)


def test_the_largest_width_may_be_little_more_than_the_stripes() -> None:
    cherry = Offcut(
        millimeters("400"), millimeters("60"), millimeters("30"), "cherry", Face.PLANED, Face.PLANED, tag="A"
    )
    ash = Offcut(millimeters("350"), millimeters("60"), millimeters("20"), "ash", Face.PLANED, Face.PLANED, tag="B")
    bands = (FieldBand(("ash",)), StripeBand(("cherry",), 2, millimeters("10")))
    # One strip of 20 mm of ash, and 3 mm of trim, beside 20 mm of cherry.
    request = BoardRequest(
        millimeters("300"), millimeters("160"), millimeters("40"), Grain.EDGE, bands, allowances=METRIC_SHOP
    )
    plan = fill_rack([cherry, ash], request)
    assert faults(plan, [cherry, ash]) == []
    assert plan.shortfall is not None and plan.shortfall.largest_width == millimeters("37")
