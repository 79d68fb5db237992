"""The verifier finds what is wrong with an answer that the rack falls short; one computed by hand is right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from inventory.core.offcuts import Offcut
from inventory.fill.plan import NearMiss, Plan, Shortage, Shortfall
from tests.verify import faults
from tests.verify.paper_plans import ASH, BANDS, CHERRY_STRIPE, EDGE, EDGE_PLAN, FACE, mm

# The board is 300 × 97 × 40 mm on edge, of ash: strips 325 × 43, 100 wide together.
SERVES = Offcut(mm("340"), mm("150"), mm("23"), "ash", tag="SERVES1")  # one length, 3 strips of 20: 60
TOO_SHORT = Offcut(mm("300"), mm("150"), mm("23"), "ash", tag="SHORT01")  # 25 short of 325
TOO_NARROW = Offcut(mm("1000"), mm("43.5"), mm("23"), "ash", tag="NARROW1")  # 0.5 short of 43 + 1
TOO_THIN = Offcut(mm("1000"), mm("150"), mm("8"), "ash", tag="THIN001")  # 8 − 3 = 5, 1 short of 6
CHERRY = Offcut(mm("1000"), mm("150"), mm("23"), "cherry", tag="CHERRY1", count=2)
RACK = [SERVES, TOO_SHORT, TOO_NARROW, TOO_THIN, CHERRY]

# 300 long strips would come from both short pieces, 6 in all: 300 − 25 = 275. Strips 42.5 wide would come from
# the narrow piece too, one from each of 3 lengths: 42.5 − 3 = 39.5. What there is makes 60 − 3 = 57 wide.
RIGHT = Shortfall(
    shortages=(Shortage(0, ("ash",), mm("40")),),
    reasons={"too short": 1, "too narrow": 1, "too thin": 1, "other species": 2, "set aside": 3},
    nearest=(
        NearMiss("NARROW1", "too narrow", mm("0.5")),
        NearMiss("THIN001", "too thin", mm("1")),
        NearMiss("SHORT01", "too short", mm("25")),
    ),
    largest_width=mm("57"),
    largest_length=mm("275"),
    largest_thickness=mm("39.5"),
)


def answer(**changed: object) -> Plan:
    return Plan(EDGE, (), replace(RIGHT, **changed))  # type: ignore[arg-type]


def reasons(**changed: int) -> Mapping[str, int]:
    return RIGHT.reasons | {name.replace("_", " "): many for name, many in changed.items()}


def test_the_shortfall_computed_by_hand_is_right() -> None:
    assert faults(answer(), RACK) == []


PLANTED: dict[str, tuple[Plan, list[str]]] = {
    "a wrong width": (
        answer(shortages=(Shortage(0, ("ash",), mm("39.99999")),)),
        ["The shortfall says that 39.99999 mm of ash in band 0 is missing; by the model it is 40 mm of ash in band 0."],
    ),
    "another species": (
        answer(shortages=(Shortage(0, (), mm("40")),)),
        ["The shortfall says that 40 mm of any wood in band 0 is missing; by the model it is 40 mm of ash in band 0."],
    ),
    "nothing missing": (
        answer(shortages=()),
        ["The shortfall says that nothing is missing; by the model it is 40 mm of ash in band 0."],
    ),
    "a piece not counted": (
        answer(reasons=reasons(other_species=1)),
        ["The shortfall counts 4 pieces that fell out; there are 5."],
    ),
    "a piece counted under a wrong reason": (
        answer(reasons=reasons(too_short=2, too_thin=0)),
        ['The shortfall counts 2 pieces as "too short"; there are at most 1.'],
    ),
    "an unknown reason": (
        answer(reasons=reasons(too_thin=0, too_ugly=1)),
        ['The shortfall counts 1 pieces as "too ugly"; there are at most 0.'],
    ),
    "a near miss that is not there": (
        answer(nearest=(NearMiss("GONE001", "too short", mm("1")),)),
        ["The near miss GONE001 is not on the rack."],
    ),
    "a near miss that serves": (
        answer(nearest=(NearMiss("SERVES1", "too short", mm("1")),)),
        ['The near miss SERVES1 is not "too short".'],
    ),
    "a near miss of another species": (
        answer(nearest=(NearMiss("CHERRY1", "other species", mm("0")),)),
        ['The near miss CHERRY1 is not "other species".'],
    ),
    "a near miss a nanometre less": (
        answer(nearest=(NearMiss("SHORT01", "too short", mm("24.999999")),)),
        ['The near miss SHORT01 is "too short" by another amount than 24.999999 mm.'],
    ),
    "a near miss a nanometre more": (
        answer(nearest=(NearMiss("NARROW1", "too narrow", mm("0.500001")),)),
        ['The near miss NARROW1 is "too narrow" by another amount than 0.500001 mm.'],
    ),
    "a width that can't be filled": (
        answer(largest_width=mm("57.000001")),
        ["The largest width of the shortfall, 57.000001 mm, can't be filled."],
    ),
    "a width that is not the largest": (
        answer(largest_width=mm("56.999999")),
        ["The largest width of the shortfall, 56.999999 mm, is not the largest."],
    ),
    "a length that is not the largest": (
        answer(largest_length=mm("274.999999")),
        ["The largest length of the shortfall, 274.999999 mm, is not the largest."],
    ),
    "a length that can't be filled": (
        answer(largest_length=mm("275.000001")),
        ["The largest length of the shortfall, 275.000001 mm, can't be filled."],
    ),
    "a thickness that can't be filled": (
        answer(largest_thickness=mm("39.500001")),
        ["The largest thickness of the shortfall, 39.500001 mm, can't be filled."],
    ),
    "no thickness where there is one": (
        answer(largest_thickness=None),
        ["The shortfall says that no thickness can be filled; a small one can."],
    ),
    "a size of nothing": (
        answer(largest_thickness=mm("0")),
        ["The largest thickness of the shortfall, 0 mm, can't be filled."],
    ),
}


@pytest.mark.parametrize("planted", PLANTED, ids=lambda planted: planted.replace(" ", "-"))
def test_the_verifier_finds(planted: str) -> None:
    plan, expected = PLANTED[planted]
    assert faults(plan, RACK) == expected


def test_a_shortfall_of_a_rack_that_can_fill_the_board_is_found() -> None:
    ample = [*RACK, replace(SERVES, count=4)]
    assert faults(answer(), ample) == ["The rack holds enough for every band, yet the plan has no fill."]


def test_a_shortfall_beside_fills_is_found() -> None:
    both = replace(EDGE_PLAN, shortfall=RIGHT)
    assert faults(both, [ASH])[:1] == ["The plan has fills and says that the rack falls short."]


def test_a_stripe_lacks_strips_and_their_width() -> None:
    # CHERRY_STRIPE gives 2 leaves of 5 mm from each of its 2 strips (see paper_plans): 4 of the 6 asked for.
    bands = (BANDS[0], replace(BANDS[1], strips=6), BANDS[2])
    asked = replace(EDGE, bands=bands)
    right = Shortfall(
        shortages=(Shortage(0, ("ash",), mm("10")), Shortage(1, ("cherry",), mm("10"), 2)),
        reasons={"too short": 0, "too narrow": 0, "too thin": 0, "other species": 0, "set aside": 0},
        nearest=(),
        largest_width=mm("87"),
        largest_length=None,
        largest_thickness=None,
    )
    found = faults(Plan(asked, (), right), [SERVES, CHERRY_STRIPE])
    assert not [sentence for sentence in found if "missing" in sentence]


def test_a_piece_too_thin_to_lie_flat_misses_by_its_thickness() -> None:
    thin = Offcut(mm("700"), mm("120"), mm("25"), "oak", tag="OAK0001")  # rough: 25 − 3 = 22, 1 short of 23
    right = Shortfall(
        shortages=(Shortage(0, (), mm("180")),),
        reasons={"too short": 0, "too narrow": 0, "too thin": 1, "other species": 0, "set aside": 0},
        nearest=(NearMiss("OAK0001", "too thin", mm("1")),),
        largest_width=None,
        largest_length=None,
        largest_thickness=mm("19"),
    )
    assert faults(Plan(FACE, (), right), [thin]) == []
