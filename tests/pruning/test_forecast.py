"""Chances that can be calculated by hand, what comes back and comes in, and how sure it all is."""

from __future__ import annotations

import doctest
from dataclasses import replace
from fractions import Fraction
from itertools import islice
from math import exp

import pytest

from inventory.core.allowances import Allowances
from inventory.core.lengths import inches
from inventory.core.offcuts import Face, Mark, Offcut
from inventory.cutting.bands import bands_of_species
from inventory.fill.request import BoardRequest, Eligibility
from inventory.pruning import simulation as years_module
from inventory.pruning.forecast import Chance, Forecast, NothingToForecast, forecasts, simulation_of
from inventory.pruning.simulation import YEAR, Arrivals
from inventory.pruning.usual_boards import InvalidUsualBoard, UsualBoard
from tests.pruning.seeded_shops import ON

NONE = Arrivals()
BOARD = BoardRequest(inches("10"), inches("3"), inches("1"), allowances=Allowances(), on=ON)
"""11 in strips, 1 1/8 in wide, until 3 1/8 in are reached."""


def piece(length: str, tag: str, species: str = "ash", count: int = 1) -> Offcut:
    """Four strips an inch thick from every 11 1/8 in: just one board."""
    return Offcut(inches(length), inches("5"), inches("1"), species, Face.PLANED, Face.PLANED, count, tag, tagged_on=ON)


def usual(a_year: str, months: tuple[int, ...] = (), request: BoardRequest = BOARD) -> UsualBoard:
    return UsualBoard("board", request, Fraction(a_year), months)


def forecast(rack: list[Offcut], *boards: UsualBoard, replications: int = 400, arrivals: Arrivals = NONE) -> Forecast:
    [*_, found] = forecasts(rack, boards, ON, arrivals, replications=replications)
    return found


def within(chance: Chance, share: float) -> bool:
    """Whether a chance is as close to what it should be as four standard errors."""
    return abs(chance.share - share) <= 4 * max(chance.error, 0.01)


def test_the_only_piece_for_a_board_is_cut_as_often_as_the_board_comes() -> None:
    found = forecast([piece("11 1/8", "one")], usual("0.5"))
    assert within(found.chance("one", years=1), 1 - exp(-0.5))
    assert within(found.chance("one", years=2), 1 - exp(-1))
    # Of all that are asked for, only the first of a replication is filled: (1 − 1/e) of 1 on average.
    assert abs(found.filled.share - (1 - exp(-1))) < 0.1


def test_of_like_pieces_the_second_goes_when_two_boards_come() -> None:
    found = forecast([piece("11 1/8", "bundle", count=2)], usual("0.5"))
    assert within(found.chance("bundle", years=2, unit=0), 1 - exp(-1))
    assert within(found.chance("bundle", years=2, unit=1), 1 - 2 * exp(-1))


def test_a_board_comes_in_its_months_alone() -> None:
    months = simulation_of([piece("200", "long")], [usual("12", (3,))], ON, NONE).replications(1)
    days = [made.day for replication in islice(months, 10) for made in replication.made]
    # January is the first month of a replication here, so March begins after two twelfths of a year.
    assert days and all(2 * YEAR // 12 <= day % YEAR < 2 * YEAR // 12 + 30 for day in days)


def test_what_is_left_of_a_piece_fills_the_next_board() -> None:
    [replication] = islice(simulation_of([piece("22 3/8", "long")], [usual("40")], ON, NONE).replications(1), 1)
    filled = [made for made in replication.made if made.filled]
    assert len(filled) == 2
    assert [made.uses[0].unit for made in filled] == [0, 0]
    assert replication.cut_days == {0: [filled[0].day]}


def test_new_offcuts_fill_boards_too_but_are_nobody_s_chance() -> None:
    rack = [piece("5", "short")]
    without = forecast(rack, usual("4"), replications=10)
    with_new = forecast(rack, usual("4"), replications=10, arrivals=Arrivals((piece("11 1/8", ""),), 50))
    assert without.filled.successes == 0
    assert with_new.filled.share > 0.5
    assert with_new.chance("short", years=2).successes == 0


def test_wood_of_another_species_serves_no_band_of_this_one() -> None:
    ash_alone = replace(BOARD, bands=bands_of_species(("Ash",)))
    found = forecast(
        [piece("11 1/8", "ash"), piece("11 1/8", "oak", "oak")], usual("5", request=ash_alone), replications=20
    )
    assert found.chance("oak", years=2).successes == 0 and found.tags["oak"].serves == frozenset()
    assert found.tags["ash"].serves == {0}


def test_a_piece_to_keep_serves_no_board_and_a_damp_one_does_once_it_is_dry() -> None:
    keep = replace(piece("11 1/8", "keep"), marks=(Mark.KEEP,))
    damp = replace(piece("11 1/8", "damp"), marks=(Mark.DAMP,))
    found = forecast([keep, piece("11 1/8", "plain"), damp], usual("1000"), replications=4)
    assert {tag: found.chance(tag, years=1).share for tag in ("keep", "plain", "damp")} == {
        "keep": 0,
        "plain": 1,
        "damp": 1,
    }


def test_a_usual_board_takes_no_piece_that_its_request_rules_out() -> None:
    short = replace(BOARD, eligibility=Eligibility(longest=inches("11 1/8")))
    found = forecast([piece("11 1/8", "one"), piece("12", "long")], usual("1000", request=short), replications=4)
    assert (found.chance("one", years=1).share, found.chance("long", years=1).share) == (1, 0)


def test_seed_and_number_say_all_that_happens() -> None:
    years = simulation_of([piece("40", "one"), piece("30", "two")], [usual("3")], ON, NONE)
    first, second = islice(years.replications(7), 2)
    [again] = islice(years.replications(7, first=1), 1)
    assert again == second and first != second


def test_a_chance_says_how_sure_it_is() -> None:
    assert Chance(50, 200).error == pytest.approx((0.25 * 0.75 / 200) ** 0.5)
    assert Chance(0, 200).upper_bound == 0.015 and 0 < Chance(0, 200).error < 0.01
    assert Chance(0, 0).upper_bound == 1.0


@pytest.mark.parametrize(("rack", "boards"), [([], [usual("1")]), ([piece("5", "one")], [])], ids=["rack", "boards"])
def test_without_rack_or_boards_there_is_nothing_to_foresee(rack: list[Offcut], boards: list[UsualBoard]) -> None:
    with pytest.raises(NothingToForecast):
        next(forecasts(rack, boards, ON, NONE))


def test_a_thousand_boards_a_year_from_one_piece_end_soon() -> None:
    found = forecast([piece("11 1/8", "one")], usual("1000"), replications=5)
    assert found.chance("one", years=1) == Chance(5, 5)
    assert found.filled.successes == 5


def test_a_usual_board_is_made_now_and_then() -> None:
    with pytest.raises(InvalidUsualBoard):
        usual("0")
    with pytest.raises(InvalidUsualBoard):
        usual("1000.01")


def test_the_examples_are_true() -> None:
    assert doctest.testmod(years_module).failed == 0


def test_a_first_figure_comes_with_the_first_years() -> None:
    replications = [
        each.replications for each in forecasts([piece("11 1/8", "one")], [usual("1")], ON, NONE, replications=12)
    ]
    assert replications == [1, 2, 3, 4, 5, 10, 12]
