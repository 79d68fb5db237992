"""On racks small enough to try every combination, the search finds the best fills, the second and third included."""

from __future__ import annotations

import pytest

from inventory.cutting.cost import Preference
from inventory.fill import fill_rack
from inventory.fill.request import Grain
from inventory.fill.verify import faults
from tests.fill.brute import best_keys, key_of, parts_of, touched
from tests.fill.racks import LONG_GRAIN, Shop, make_small_case

SEEDS = range(6)
"""Thousands more may be tried by hand; these keep the suite short."""

MOST_COMBINATIONS = 20_000
FILLS = 3


@pytest.mark.parametrize("grain", LONG_GRAIN, ids=lambda grain: grain.value)
@pytest.mark.parametrize("shop", list(Shop), ids=lambda shop: shop.name.lower())
@pytest.mark.parametrize("seed", SEEDS)
def test_the_first_three_fills_are_the_three_best_that_touch_different_offcuts(
    seed: int, shop: Shop, grain: Grain
) -> None:
    rack, request = make_small_case(seed, shop, grain, MOST_COMBINATIONS)
    best = best_keys(rack, parts_of(request))

    plan = fill_rack(rack, request)

    assert faults(plan, rack) == []
    for prefer in Preference:
        fills = [fill for fill in plan.fills if fill.prefer is prefer]
        assert [key_of(fill, request) for fill in fills] == best[prefer][:FILLS]
        assert fills[0].proven
        assert len({touched(fill) for fill in fills}) == len(fills)
