"""Candidate reduction leaves out no row of a large rack that is in a best fill."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.fill import candidates
from inventory.fill.plan import Plan
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from tests.fill.brute_force import cost_key
from tests.fill.racks import LONG_GRAIN, ON, ShopUnits, make_rack, make_request

CASES = [(grain, shop) for grain in LONG_GRAIN for shop in ShopUnits]
OF_A_THINNED_RACK, OF_A_WHOLE_ONE = 200, 1_000_000


@pytest.mark.parametrize(("grain", "shop"), CASES)
def test_a_reduced_rack_gives_the_fills_of_the_whole_one(
    grain: Grain, shop: ShopUnits, monkeypatch: pytest.MonkeyPatch
) -> None:
    rack = make_rack(0, 700, shop)
    asked = replace(make_request(0, rack, shop, grain), fills=3)
    thinned, whole = _both_ways(rack, asked, monkeypatch)
    assert thinned == whole


@pytest.mark.parametrize("fills", [1, 3])
def test_a_board_that_a_part_of_one_length_fills_is_found_in_a_reduced_rack(
    fills: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    wide = inches("4")
    rack = [replace(each, width=max(each.width, wide), count=1) for each in make_rack(0, 900, ShopUnits.SIXTEENTHS)]
    asked = BoardRequest(inches("12"), inches("3"), inches("3/4"), Grain.FACE, on=ON, fills=fills)
    thinned, whole = _both_ways(rack, asked, monkeypatch)
    assert thinned == whole


def _both_ways(
    rack: list[Offcut], asked: BoardRequest, monkeypatch: pytest.MonkeyPatch
) -> tuple[list[object], list[object]]:
    answers = []
    for large in (OF_A_THINNED_RACK, OF_A_WHOLE_ONE):
        monkeypatch.setattr(candidates, "LARGE", large)
        answers.append(_costs_and_cuts(fill_rack(rack, asked)))
    return answers[0], answers[1]


def _costs_and_cuts(plan: Plan) -> list[object]:
    return [(fill.prefer, cost_key(fill, plan.request), fill.proven, fill.bound) for fill in plan.fills]
