"""Bundles of many identical pieces: the search counts them, so their number does not matter."""

from __future__ import annotations

from datetime import date

import pytest

from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from tests.verify import faults

ON = date(2030, 1, 31)


def _rack(count: int) -> list[Offcut]:
    return [
        Offcut(inches("24"), inches("5 1/2"), inches("1"), "ash", count=count, tag="A", tagged_on=ON),
        Offcut(inches("14"), inches("3"), inches("15/16"), "ash", tag="B", tagged_on=ON),
    ]


@pytest.mark.parametrize("count", [2, 50, 999])
def test_a_larger_bundle_gives_the_same_fills_to_a_board_that_needs_one_of_its_pieces(count: int) -> None:
    board = BoardRequest(inches("12"), inches("2"), inches("1/2"), Grain.FACE, on=ON)
    alone = fill_rack(_rack(1), board)

    plan = fill_rack(_rack(count), board)

    assert faults(plan, _rack(count)) == []
    first = {fill.prefer: fill.loss for fill in reversed(plan.fills)}
    assert first == {fill.prefer: fill.loss for fill in reversed(alone.fills)}
