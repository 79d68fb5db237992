"""On racks small enough to try every combination, the search finds the best fills, the second and third included."""

from __future__ import annotations

import pytest

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, millimeters
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.costs import Preference
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from tests.fill.brute_force import best_cost_keys, cost_key, fill_parts, touched
from tests.fill.racks import LONG_GRAIN, ON, ShopUnits, make_small_case
from tests.verify import faults

SEEDS = range(6)
"""Thousands more may be tried by hand; these keep the suite short."""

MOST_COMBINATIONS = 20_000
FILLS = 3


@pytest.mark.parametrize("grain", LONG_GRAIN, ids=lambda grain: grain.value)
@pytest.mark.parametrize("shop", list(ShopUnits), ids=lambda shop: shop.name.lower())
@pytest.mark.parametrize("seed", SEEDS)
def test_the_first_three_fills_are_the_three_best_that_touch_different_offcuts(
    seed: int, shop: ShopUnits, grain: Grain
) -> None:
    rack, request = make_small_case(seed, shop, grain, MOST_COMBINATIONS)
    best = best_cost_keys(rack, fill_parts(request))

    plan = fill_rack(rack, request)

    assert faults(plan, rack) == []
    for prefer in Preference:
        fills = [fill for fill in plan.fills if fill.prefer is prefer]
        assert [cost_key(fill, request) for fill in fills] == best[prefer][:FILLS]
        assert fills[0].proven
        assert len({touched(fill, request) for fill in fills}) == len(fills)


NOTHING = Length(0)
NO_LOSS = Allowances(
    rip_kerf=NOTHING,
    crosscut_kerf=NOTHING,
    edge_jointing=NOTHING,
    flattening=NOTHING,
    end_trim=NOTHING,
    side_trim=NOTHING,
    keep_length=millimeters("1"),
    keep_width=millimeters("30"),
    keep_thickness=millimeters("1"),
    max_strip_width=millimeters("400"),
    min_strip_width=millimeters("30"),
)


def test_a_wide_piece_that_can_be_taken_once_hides_no_board_of_as_few_pieces() -> None:
    sizes = [("460", "100", "20"), ("300", "70", "20"), ("460", "170", "50"), ("500", "35", "20"), ("460", "40", "22")]
    rack = [
        Offcut(
            millimeters(length),
            millimeters(width),
            millimeters(thickness),
            species="ash",
            face_a=Face.PLANED,
            face_b=Face.PLANED,
            tag=f"T{place}",
        )
        for place, (length, width, thickness) in enumerate(sizes)
    ]
    request = BoardRequest(
        millimeters("300"),
        millimeters("277"),
        millimeters("20"),
        Grain.FACE,
        allowances=NO_LOSS,
        on=ON,
        prefer=(Preference.FEWEST_PIECES,),
        fills=1,
    )
    best = best_cost_keys(rack, fill_parts(request))[Preference.FEWEST_PIECES]
    # As wide as the first and second together, the third seems to give a board with a strip of its own.
    assert [cost_key(fill, request) for fill in fill_rack(rack, request).fills] == best[:1]
