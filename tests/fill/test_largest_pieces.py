"""Slabs, giants and full bundles: costs near the end of 64 bits, and searches that would never end."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inventory.core.offcuts import Offcut
from inventory.cutting.costs import Preference
from inventory.fill.plan import Plan
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from inventory.solver import k_best
from inventory.solver.core_problem import WorkLimit
from tests.fill.brute_force import best_cost_keys, cost_key, fill_parts
from tests.fill.racks import METRIC_SHOP, ON
from tests.verify import faults
from tests.verify.paper_plans import mm

BOARD = BoardRequest(mm("500"), mm("400"), mm("40"), prefer=(Preference.LEAST_MILLING,), allowances=METRIC_SHOP, on=ON)
GIANT = Offcut(mm("10000"), mm("900"), mm("900"), "ash", count=999)


def filled(rack: list[Offcut], board: BoardRequest) -> Plan:
    plan = fill_rack(rack, board)
    assert faults(plan, rack) == []
    return plan


def test_the_least_milling_of_slabs_is_proven() -> None:
    slabs = [Offcut(mm(str(3000 - each)), mm(str(500 + each)), mm("50"), "ash", tag=f"S{each}") for each in range(50)]

    plan = filled(slabs, BOARD)

    assert [fill.proven for fill in plan.fills] == [True, True, True]


def test_the_least_milling_of_two_slabs_is_the_one_that_brute_force_finds() -> None:
    slabs = [Offcut(mm("8000"), mm(width), mm("60"), "ash", tag=f"S{width}") for width in ("700", "96")]
    board = replace(BOARD, width=mm("110"))

    plan = filled(slabs, board)

    assert [cost_key(fill, board) for fill in plan.fills] == best_cost_keys(slabs, fill_parts(board))[
        Preference.LEAST_MILLING
    ][:3]
    assert all(fill.proven for fill in plan.fills)


@pytest.mark.parametrize("prefer", Preference)
def test_bundles_of_giants_fill_the_largest_board_in_every_preference(prefer: Preference) -> None:
    giants = [replace(GIANT, length=mm(str(10000 - each)), tag=f"G{each}") for each in range(4)]

    plan = filled(giants, replace(BOARD, length=mm("9000"), width=mm("9000"), prefer=(prefer,)))

    assert len(plan.fills) == 3
    assert all(fill.bound <= fill.loss or prefer is not Preference.LEAST_WASTE for fill in plan.fills)


@pytest.mark.parametrize("grain", [Grain.EDGE, Grain.FACE])
@pytest.mark.parametrize("prefer", Preference)
def test_full_bundles_for_a_very_wide_board_are_not_counted_without_end(
    prefer: Preference, grain: Grain, monkeypatch: pytest.MonkeyPatch
) -> None:
    spent: list[WorkLimit] = []

    def small_work_limit(count: int, max_states: int, left: int) -> WorkLimit:
        spent.append(WorkLimit(count, max_states, min(left, 100_000)))
        return spent[-1]

    monkeypatch.setattr(k_best, "WorkLimit", small_work_limit)
    rack = [
        Offcut(mm(str(600 + 7 * each)), mm(str(60 + each)), mm(str(20 + each)), "ash", count=999, tag=f"B{each}")
        for each in range(5)
    ]

    plan = filled(rack, replace(BOARD, width=mm("6000"), thickness=mm("12"), grain=grain, prefer=(prefer,)))

    assert plan.fills
    assert min(work_limit.left for work_limit in spent) > -1_000_000
