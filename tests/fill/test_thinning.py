"""What is left out of a large rack unseen is in none of its best fills."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inventory.fill import fill_rack, thinning
from inventory.fill.plan import Plan
from tests.fill.brute import key_of
from tests.fill.racks import LONG_GRAIN, Grain, Shop, make_rack, make_request

CASES = [(grain, shop, seed) for grain in LONG_GRAIN for shop in Shop for seed in range(1)]
OF_A_THINNED_RACK, OF_A_WHOLE_ONE = 300, 1_000_000


@pytest.mark.parametrize(("grain", "shop", "seed"), CASES)
def test_a_thinned_rack_gives_the_fills_of_the_whole_one(
    grain: Grain, shop: Shop, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    rack = make_rack(seed, 700, shop)
    asked = replace(make_request(seed, rack, shop, grain), fills=3)
    told = []
    for large in (OF_A_THINNED_RACK, OF_A_WHOLE_ONE):
        monkeypatch.setattr(thinning, "LARGE", large)
        told.append(_told(fill_rack(rack, asked)))
    assert told[0] == told[1]


def _told(plan: Plan) -> list[object]:
    return [(fill.prefer, key_of(fill, plan.request), fill.proven, fill.bound) for fill in plan.fills]
