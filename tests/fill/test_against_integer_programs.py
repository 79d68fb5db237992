"""On larger racks too a general-purpose integer solver (HiGHS) finds the best fill that the search finds.

Racks of 100 and 300 pieces; inch, metric and mixed, both grains, all four preferences.
"""

from __future__ import annotations

import pytest

from inventory.cutting.costs import Preference
from inventory.fill.request import Grain
from inventory.orders.answer import fill_rack
from tests.fill.brute_force import cost_key
from tests.fill.integer_programs import best_cost_key
from tests.fill.racks import ShopUnits, make_rack, make_request
from tests.verify import faults

CASES = [
    (100, ShopUnits.SIXTEENTHS, Grain.FACE),
    (100, ShopUnits.SIXTY_FOURTHS, Grain.EDGE),
    (100, ShopUnits.WHOLE_MM, Grain.EDGE),
    (100, ShopUnits.MIXED, Grain.FACE),
    (300, ShopUnits.MIXED, Grain.EDGE),
]


@pytest.mark.parametrize(
    ("pieces", "shop", "grain"), CASES, ids=lambda value: getattr(value, "name", str(value)).lower()
)
def test_the_integer_solver_finds_the_same_best(pieces: int, shop: ShopUnits, grain: Grain) -> None:
    rack = make_rack(0, pieces, shop)
    request = make_request(0, rack, shop, grain)

    plan = fill_rack(rack, request)

    assert faults(plan, rack) == []
    # Laid flat, what a part of a length costs is linear in its width by least waste alone.
    for prefer in Preference if grain is Grain.EDGE else (Preference.LEAST_WASTE,):
        fills = [fill for fill in plan.fills if fill.prefer is prefer]
        best = best_cost_key(rack, [request], prefer)
        assert [cost_key(fill, request) for fill in fills[:1]] == ([] if best is None else [best]), prefer.value
        assert all(fill.proven for fill in fills[:1])
