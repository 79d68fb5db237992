"""What finished boards weigh and how far they move, by hand from the published figures."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from inventory.core.lengths import inches
from inventory.core.moisture import equilibrium_moisture
from inventory.core.workshop import DEFAULT_WORKSHOP
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from inventory.layout.finished_board import (
    Direction,
    FinishedBoard,
    SizeMovement,
    coefficients_hold,
    finished_boards,
    size_movements,
)
from inventory.orders.answer import fill_rack
from tests.fill.racks import ShopUnits, make_rack
from tests.verify import paper_plans as paper
from tests.verify.paper_plans import mm

# Air in which wood goes through 4 % of moisture content, from 7.18 to 11.18 %, within 0.005: Wood Handbook,
# FPL-GTR-282 (2021), equation 4-5, at 20 °C.
FOUR_PERCENT = replace(DEFAULT_WORKSHOP, driest=Fraction("36.43"), dampest=Fraction("60.97"))


def boards(fill: Fill, request: BoardRequest) -> tuple[FinishedBoard, ...]:
    return finished_boards(paper.for_request(fill, request), request)


def the_board(fill: Fill, request: BoardRequest) -> FinishedBoard:
    [board] = boards(fill, request)
    return board


def movements(fill: Fill, request: BoardRequest) -> tuple[SizeMovement, ...]:
    return size_movements(the_board(fill, request), FOUR_PERCENT)


def of(species: str, fill: Fill) -> Fill:
    """The same fill, all of it of this species."""
    return replace(fill, cuts=tuple(replace(cut, offcut=replace(cut.offcut, species=species)) for cut in fill.cuts))


def moves(found: tuple[SizeMovement, ...]) -> list[tuple[str, str | None, str | None]]:
    """Each size that moves, in mm to 0.01: flat-sawn, quarter-sawn."""

    def shown(by: int | None) -> str | None:
        return None if by is None else f"{by / 1e6:.2f}"

    pairs = zip(found[::2], found[1::2], strict=True)
    return [(flat.name, shown(flat.by), shown(quarter.by)) for flat, quarter in pairs]


def test_the_air_of_these_tests_is_four_percent_apart() -> None:
    driest, dampest = (equilibrium_moisture(each, 20) for each in (FOUR_PERCENT.driest, FOUR_PERCENT.dampest))
    assert abs(dampest - driest - 4) < Fraction("0.005")


# Derived: Wood Handbook, FPL-GTR-190 (2010), equation 13-2 with table 13-5: 300 mm of sugar maple over 4 %: 4.24 mm
# tangential, 1.98 radial, to 0.01; flat-sawn strips turned on edge show the radial direction.
def test_flat_sawn_strips_turned_on_edge_move_radially() -> None:
    [flat, quarter] = found = movements(of("sugar maple", paper.EDGE_FILL), replace(paper.EDGE, width=mm("300")))
    assert (flat.direction, quarter.direction) == (Direction.RADIAL, Direction.TANGENTIAL)
    assert moves(found) == [("width", "1.98", "4.24")]


def test_flat_sawn_strips_laid_flat_move_tangentially() -> None:
    [flat, quarter] = found = movements(of("sugar maple", paper.FACE_FILL), replace(paper.FACE, width=mm("300")))
    assert (flat.direction, quarter.direction) == (Direction.TANGENTIAL, Direction.RADIAL)
    assert moves(found) == [("width", "4.24", "1.98")]


# Derived: the same, 200 mm of sugar maple and 100 mm of black walnut, flat-sawn, laid flat: 3.92 mm to 0.01.
def test_each_species_moves_by_its_share_of_the_width() -> None:
    maple = replace(paper.WHOLE_CUT, offcut=replace(paper.OAK, species="sugar maple"), adds=mm("120"), rips=(2,))
    walnut = replace(paper.PART_CUT, offcut=replace(paper.OAK, species="walnut", tag="W"), adds=mm("60"))
    fill = replace(paper.FACE_FILL, cuts=(maple, walnut))
    assert moves(movements(fill, replace(paper.FACE, width=mm("300"))))[0][1] == "3.92"


def test_an_end_grain_board_moves_both_ways() -> None:
    request = BoardRequest(inches("16"), inches("12"), inches("1 1/2"), Grain.END, fills=1)
    for grain, width in ((Grain.EDGE, Direction.RADIAL), (Grain.FACE, Direction.TANGENTIAL)):
        asked = replace(request, panel=PanelSpec(grain, 1, inches("3/4")))
        fill = fill_rack(make_rack(1, 200, ShopUnits.SIXTEENTHS), asked).fills[0]
        [across, _, along, along_quarter] = movements(of("sugar maple", fill), asked)
        assert (across.name, across.size, across.direction) == ("width", inches("12"), width)
        assert (along.name, along.size, along.direction) == ("length", inches("16"), width.other)
        assert across.by is not None and along_quarter.by is not None
        assert abs(along_quarter.by - across.by * Fraction(16, 12)) <= 2


# Derived: Wood Handbook, FPL-GTR-282 (2021), equation 4-14: 18 × 12 × 1 1/2 in of sugar maple, 3.746 kg to 0.005.
def test_a_hard_maple_board_weighs_3_75_kg() -> None:
    request = BoardRequest(inches("18"), inches("12"), inches("1 1/2"))
    board = the_board(of("sugar maple", paper.EDGE_FILL), request)
    assert board.kilograms is not None
    assert abs(board.kilograms - Fraction("3.746")) <= Fraction("0.005")


def test_a_board_of_two_species_weighs_what_its_shares_weigh() -> None:
    # Ash adds 100 and cherry 15: 300 × 97 × 40 mm of 672 and 560 kg/m³.
    board = the_board(paper.BANDED_FILL, paper.BANDED_PLAN.request)
    assert board.kilograms is not None
    assert abs(board.kilograms - Fraction(1_164_000 * (672 * 100 + 560 * 15), 115 * 10**9)) < Fraction("0.00001")


def test_a_species_that_is_not_known_leaves_weight_and_movement_untold() -> None:
    board = the_board(of("driftwood", paper.EDGE_FILL), paper.EDGE)
    assert (board.kilograms, board.unweighed) == (None, ("driftwood",))
    [flat, _] = found = size_movements(board, FOUR_PERCENT)
    assert moves(found) == [("width", None, None)]
    assert flat.unknown == ("driftwood",)


def test_where_only_one_direction_is_on_record_only_that_is_reported() -> None:
    [flat, quarter] = movements(of("teak", paper.EDGE_FILL), paper.EDGE)
    assert (flat.by, flat.unknown) == (None, ("teak",))
    assert quarter.by is not None


def test_what_is_calculated_from_total_shrinkage_says_so() -> None:
    [flat, _] = movements(of("sapele", paper.FACE_FILL), paper.FACE)
    assert [species for species, _ in flat.rough] == ["sapele"]
    assert flat.sources == ()
    [flat, _] = movements(paper.EDGE_FILL, paper.EDGE)
    assert (flat.rough, flat.sources) == (
        (),
        ("Wood Handbook, FPL-GTR-190 (2010), table 13-5",),
    )


@pytest.mark.parametrize(("driest", "dampest", "holds"), [(35, 65, True), (20, 65, False), (35, 80, False)])
def test_a_swing_beyond_6_to_14_percent_is_known_to_be(driest: int, dampest: int, holds: bool) -> None:
    workshop = replace(DEFAULT_WORKSHOP, driest=Fraction(driest), dampest=Fraction(dampest))
    assert coefficients_hold(workshop) is holds


def test_like_boards_of_a_batch_are_reported_together_and_others_apart() -> None:
    request = BoardRequest(inches("16"), inches("10"), inches("1 1/2"), count=3, fills=1)
    fill = fill_rack(make_rack(2, 200, ShopUnits.SIXTEENTHS), request).fills[0]
    [alike] = boards(of("ash", fill), request)
    assert alike.boards == (0, 1, 2)
    apart = boards(fill, request)
    assert sorted(number for each in apart for number in each.boards) == [0, 1, 2]
    assert len(apart) > 1
