"""The optimality gap of a fill in what its own preference minimizes first."""

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from inventory.core.lengths import inches
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.cutting.costs import Preference
from inventory.fill.certainty import certainty_of, primary_cost
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from tests.solver.hand_written import DAY, make_offcut

RACK = [
    make_offcut("60", "4", "1", "ash", "AAAAAA1", Face.ROUGH),
    make_offcut("22", "4 1/2", "1 1/8", "ash", "AAAAAA2", Face.FINISHED),
    make_offcut("30", "5", "2 1/8", "ash", "AAAAAA3", Face.ROUGH, count=3),
    make_offcut("26", "3", "1 3/4", "cherry", "BBBBBB1", Face.ROUGH),
    make_offcut("45", "2", "1/2", "cherry", "BBBBBB2", Face.ROUGH),
]
STRIPED = (FieldBand(("ash",)), StripeBand(("cherry",), 1, inches("1/4")), FieldBand(("ash",)))


def asked(grain: Grain, preference: Preference) -> BoardRequest:
    return BoardRequest(inches("18"), inches("7"), inches("1"), grain, STRIPED, prefer=(preference,), fills=1, on=DAY)


def aged(rack: list[Offcut]) -> list[Offcut]:
    """The rack with pieces of different age, one of them tagged on no known day."""
    days = (date(2024, 1, 31), None, date(2029, 1, 31), date(2030, 1, 1), date(2030, 1, 31))
    return [replace(offcut, tagged_on=day) for offcut, day in zip(rack, days, strict=True)]


@pytest.mark.parametrize("preference", list(Preference))
@pytest.mark.parametrize("grain", [Grain.EDGE, Grain.FACE])
def test_a_proven_fill_costs_exactly_its_bound(grain: Grain, preference: Preference) -> None:
    [fill] = fill_rack(aged(RACK), asked(grain, preference)).fills
    assert fill.proven
    assert primary_cost(fill, DAY) == fill.bound > 0
    assert certainty_of(fill, DAY).gap == 0


def test_old_wood_counts_for_less_by_oldest_first() -> None:
    [fill] = fill_rack(aged(RACK), asked(Grain.EDGE, Preference.OLDEST_FIRST)).fills
    by_hand = sum(cut.worth_lost * _weight(cut.offcut) // 1000 for cut in fill.cuts)
    assert primary_cost(fill, DAY) == by_hand
    assert primary_cost(fill, date(2034, 1, 31)) < by_hand


def _weight(offcut: Offcut) -> int:
    days = 0 if offcut.tagged_on is None else (DAY - offcut.tagged_on).days
    return 1000 - 750 * min(days, 730) // 730


@pytest.mark.parametrize("preference", list(Preference))
def test_a_fill_that_is_not_proven_is_off_by_no_more_than_its_cost_over_the_bound(preference: Preference) -> None:
    [fill] = fill_rack(aged(RACK), asked(Grain.EDGE, preference)).fills
    cost = primary_cost(fill, DAY)
    lower = replace(fill, proven=False, bound=cost * 4 // 5)
    assert certainty_of(lower, DAY).gap == Fraction(cost - cost * 4 // 5, cost * 4 // 5)
    assert certainty_of(replace(fill, proven=False), DAY).gap == 0


def test_a_bound_of_nothing_says_nothing() -> None:
    [fill] = fill_rack(aged(RACK), asked(Grain.EDGE, Preference.LEAST_MILLING)).fills
    assert certainty_of(replace(fill, proven=False, bound=0), DAY).gap is None
