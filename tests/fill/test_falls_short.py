"""Boards that seeded racks can't fill: what is missing, why pieces fell out, and what could be made, reckoned anew."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inventory.fill import fill_rack
from inventory.fill.request import Grain
from inventory.fill.verify import faults
from inventory.measures import Length
from tests.fill.racks import LONG_GRAIN, Shop, make_rack, make_request
from tests.fill.reckoning import most_width, target

SEEDS = range(3)


@pytest.mark.parametrize("larger", ["length", "width", "thickness"])
@pytest.mark.parametrize("grain", LONG_GRAIN, ids=lambda grain: grain.value)
@pytest.mark.parametrize("shop", list(Shop), ids=lambda shop: shop.name.lower())
def test_a_rack_that_falls_short_says_what_is_missing_and_what_can_be_made(
    shop: Shop, grain: Grain, larger: str
) -> None:
    for seed in SEEDS:
        rack = make_rack(seed, 8, shop)
        request = make_request(seed, rack, shop, grain)
        while most_width(rack, request) >= target(request):
            request = replace(request, **{larger: Length(2 * getattr(request, larger))})

        plan = fill_rack(rack, request)

        assert faults(plan, rack) == []
        assert plan.fills == ()


def test_an_empty_rack_lacks_the_whole_board() -> None:
    request = make_request(0, [], Shop.WHOLE_MM, Grain.EDGE)
    plan = fill_rack([], request)
    assert faults(plan, []) == []
    assert plan.shortfall is not None
    assert plan.shortfall.missing == request.width + request.allowances.side_trim
    assert (plan.shortfall.largest_width, plan.shortfall.largest_length) == (None, None)


def test_pieces_set_aside_are_counted_as_such() -> None:
    request = make_request(0, [], Shop.WHOLE_MM, Grain.EDGE)
    plan = fill_rack([], request, set_aside=3)
    assert plan.shortfall is not None
    assert plan.shortfall.reasons["set aside"] == 3
