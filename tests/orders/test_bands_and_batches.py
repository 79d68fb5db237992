"""Boards of several bands, several boards and panels: bounds hold and proven fills are the best, by brute force."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from inventory.core.offcuts import Offcut
from inventory.cutting.costs import Preference
from inventory.fill.plan import Plan
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from tests.fill.brute_force import FillPart, best_cost_keys, cost_key, fill_parts
from tests.fill.racks import LONG_GRAIN, ShopUnits, make_small_banded_case, make_small_batch
from tests.verify import faults

SEEDS = range(1)
"""Hundreds more passed in a single run; these keep the suite short."""

MOST_COMBINATIONS = 5_000


def _first_fills_are_as_good_as_they_say(
    plan: Plan, rack: Sequence[Offcut], request: BoardRequest, parts: Sequence[FillPart]
) -> None:
    assert faults(plan, rack) == []
    for prefer, best in best_cost_keys(rack, parts).items():
        fills = [fill for fill in plan.fills if fill.prefer is prefer]
        assert bool(fills) is bool(best), prefer.value
        for fill in fills[:1]:
            assert fill.bound <= best[0][0] <= cost_key(fill, request)[0], prefer.value
            assert not fill.proven or cost_key(fill, request) == best[0], prefer.value


@pytest.mark.parametrize("shared_wood", [False, True], ids=["own-wood", "shared-wood"])
@pytest.mark.parametrize("grain", LONG_GRAIN, ids=lambda grain: grain.value)
@pytest.mark.parametrize("shop", list(ShopUnits), ids=lambda shop: shop.name.lower())
@pytest.mark.parametrize("seed", SEEDS)
def test_a_board_of_several_bands_is_filled_as_well_as_it_says(
    seed: int, shop: ShopUnits, grain: Grain, shared_wood: bool
) -> None:
    rack, request = make_small_banded_case(seed, shop, grain, MOST_COMBINATIONS, shared_wood=shared_wood)
    plan = fill_rack(rack, request)
    _first_fills_are_as_good_as_they_say(plan, rack, request, fill_parts(request))
    if not shared_wood:
        assert all(plan.fills[place].proven for place in range(0, len(plan.fills), request.fills))


@pytest.mark.parametrize("end_grain", [False, True], ids=["boards-on-edge", "panels-of-end-grain"])
@pytest.mark.parametrize("shop", list(ShopUnits), ids=lambda shop: shop.name.lower())
@pytest.mark.parametrize("seed", SEEDS)
def test_several_glue_ups_are_filled_as_well_as_they_say(seed: int, shop: ShopUnits, end_grain: bool) -> None:
    rack, request, parts = make_small_batch(seed, shop, MOST_COMBINATIONS, end_grain=end_grain)
    plan = fill_rack(rack, request)
    _first_fills_are_as_good_as_they_say(plan, rack, request, parts)


@pytest.mark.parametrize("shop", list(ShopUnits), ids=lambda shop: shop.name.lower())
def test_boards_in_face_grain_together_are_filled_as_the_model_says(shop: ShopUnits) -> None:
    for seed in SEEDS:
        rack, request = make_small_banded_case(seed, shop, Grain.FACE, MOST_COMBINATIONS, shared_wood=False)
        plan = fill_rack(rack, replace(request, bands=(), count=2, prefer=tuple(Preference)))
        assert faults(plan, rack) == []
