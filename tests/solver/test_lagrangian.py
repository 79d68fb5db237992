"""Lagrangian bounds of very large racks, and searches that end at their work limit."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from inventory.core.lengths import Length, inches
from inventory.core.offcuts import Offcut
from inventory.cutting.costs import Preference
from inventory.fill.request import BoardRequest
from inventory.orders.answer import fill_rack
from inventory.solver import core_problem, k_best
from inventory.solver.lagrangian import NO_BOUND, total_saving
from tests.verify import faults

ON = date(2030, 1, 31)


def test_savings_beyond_64_bits_give_no_bound_instead_of_overflowing() -> None:
    best_reduced = np.full(2_000, -(1 << 50), dtype=np.int64)
    multiplicity = np.full(2_000, 999, dtype=np.int64)

    assert total_saving(best_reduced, multiplicity) == NO_BOUND
    assert total_saving(best_reduced[:1], multiplicity[:1]) == -999 * (1 << 50)


def test_thousands_of_full_bundles_beside_a_few_wide_pieces_give_a_feasible_fill() -> None:
    wide = [Offcut(inches("20"), Length(200_000_000 + each), inches("1"), "ash", tag=f"W{each}") for each in range(40)]
    narrow = [
        Offcut(inches("14"), Length(45_000_000 + each), inches("3/4"), "ash", count=999, tag=f"N{each}")
        for each in range(150)
    ]
    board = BoardRequest(
        inches("12"), inches("40"), inches("1 1/2"), prefer=(Preference.FEWEST_PIECES,), fills=1, on=ON
    )

    plan = fill_rack([*wide, *narrow], board)

    assert faults(plan, [*wide, *narrow]) == []


def test_a_search_at_its_work_limit_still_finds_a_feasible_fill_but_does_not_call_it_proven(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(k_best, "MAX_WORK", 0)
    monkeypatch.setattr(core_problem, "MAX_STATES_EXHAUSTED", 3)
    rack = [
        Offcut(
            inches("20"), Length(60_000_000 + 310_000 * each), Length(20_000_000 + 70_000 * each), "ash", tag=f"T{each}"
        )
        for each in range(60)
    ]
    board = BoardRequest(inches("12"), inches("20"), inches("1 1/2"), prefer=(Preference.LEAST_WASTE,), fills=1, on=ON)

    plan = fill_rack(rack, board)

    assert faults(plan, rack) == []
    assert [fill.proven for fill in plan.fills] == [False]
    assert plan.fills[0].bound <= plan.fills[0].loss
