"""Which pieces may serve: marks, sheet goods and unknown wood, and what a request rules out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from random import Random
from typing import Any

import pytest

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, Unit, inches
from inventory.core.offcuts import Face, Mark, Offcut
from inventory.cutting.bands import FieldBand, bands_of_species
from inventory.cutting.costs import Preference
from inventory.fill.request import (
    BoardRequest,
    Eligibility,
    Faces,
    Grain,
    InvalidRequest,
    read_request,
    request_document,
)
from inventory.orders.answer import fill_order, fill_rack
from inventory.orders.counting import count_boards
from tests.fill.brute_force import CostKey, best_cost_keys, cost_key, fill_parts, touched
from tests.fill.calculation import max_width
from tests.fill.racks import LONG_GRAIN, ON, ShopUnits, make_small_case, with_rules
from tests.verify import faults

BOARD = BoardRequest(inches("18"), inches("3"), inches("1"), prefer=(Preference.LEAST_WASTE,), fills=1, on=ON)
NEEDED = {"length": "18 in", "width": "3 in", "thickness": "1 in", "grain": "edge"}


def piece(tag: str = "000000A", **changed: Any) -> Offcut:
    """A planed piece that fills BOARD alone."""
    whole = Offcut(inches("30"), inches("8"), inches("1"), "ash", Face.PLANED, Face.PLANED, tag=tag)
    return replace(whole, **changed)


def asked(**rules: Any) -> BoardRequest:
    return replace(BOARD, eligibility=Eligibility(**rules))


def fills(request: BoardRequest, *rack: Offcut) -> bool:
    """Whether the rack fills the board, its plan being right."""
    plan = fill_rack(rack, request)
    assert faults(plan, rack) == []
    return bool(plan.fills)


def reasons(request: BoardRequest, *rack: Offcut) -> dict[str, int]:
    """What the shortfall counts, zeros left out."""
    plan = fill_rack(rack, request)
    assert faults(plan, rack) == []
    assert plan.shortfall is not None
    return {reason: many for reason, many in plan.shortfall.reasons.items() if many}


@pytest.mark.parametrize("mark", Mark, ids=lambda mark: mark.value)
def test_only_pieces_to_keep_and_damp_ones_are_not_taken(mark: Mark) -> None:
    kept_back = mark in (Mark.KEEP, Mark.DAMP)
    assert fills(BOARD, piece(marks=(mark,))) is not kept_back
    if kept_back:
        assert reasons(BOARD, piece(marks=(mark,), count=3)) == {"marked": 3}


def test_a_marked_piece_that_is_too_short_anyway_counts_as_too_short() -> None:
    assert reasons(BOARD, piece(marks=(Mark.KEEP,), length=inches("10"))) == {"too short": 1}


@pytest.mark.parametrize(
    "species", ["plywood", "Birch Plywood", "MDF", "particle board", "hardboard", "oak veneer", "?"]
)
def test_sheet_goods_and_unknown_wood_serve_only_a_band_that_names_them(species: str) -> None:
    sheet = piece(species=species)
    assert not fills(BOARD, sheet)
    assert reasons(BOARD, sheet) == {"other species": 1}
    assert fills(replace(BOARD, bands=bands_of_species([species])), sheet)


def test_a_piece_without_a_species_is_not_any_wood() -> None:
    assert not fills(BOARD, piece(species=""))
    assert fills(BOARD, piece(species="driftwood"))


@pytest.mark.parametrize("typed", ["000000A", "000-000a", "ooo-oooa", " 00 00-00A "])
def test_a_tag_under_without_is_not_taken_however_it_is_typed(typed: str) -> None:
    request = read_request(NEEDED | {"without": [typed]}, Allowances(), Unit.INCH, ON)
    assert not fills(request, piece())
    assert reasons(request, piece()) == {"ruled out": 1}
    assert fills(request, piece(tag="000000B"))


def test_a_tag_under_without_that_no_piece_has_is_ignored() -> None:
    assert fills(asked(without=("000000B", "shelf 3")), piece())


def test_of_two_names_that_read_alike_the_one_that_was_typed_is_meant() -> None:
    one, other = piece("L1"), piece("11")
    [fill] = fill_rack([one, other], asked(without=("L1",))).fills
    assert fill.cuts[0].offcut == other
    assert not fills(asked(without=("l-1", "11")), one, other)


@pytest.mark.parametrize("longer", [-1, 0, 1])
def test_a_piece_may_be_as_long_as_the_longest_and_no_nanometer_more(longer: int) -> None:
    request = asked(longest=inches("30"))
    assert fills(request, piece(length=Length(inches("30") + longer))) is (longer <= 0)


@pytest.mark.parametrize(
    ("faces", "face_a", "face_b", "serves"),
    [
        (Faces.ANY, Face.FINISHED, Face.ROUGH, True),
        (Faces.BARE, Face.FINISHED, Face.PLANED, False),
        (Faces.BARE, Face.PLANED, Face.FINISHED, False),
        (Faces.BARE, Face.ROUGH, Face.PLANED, True),
        (Faces.PLANED, Face.ROUGH, Face.PLANED, False),
        (Faces.PLANED, Face.PLANED, Face.ROUGH, False),
        (Faces.PLANED, Face.PLANED, Face.PLANED, True),
    ],
)
def test_the_faces_of_a_piece_may_be_asked_for(faces: Faces, face_a: Face, face_b: Face, serves: bool) -> None:
    assert fills(asked(faces=faces), piece(face_a=face_a, face_b=face_b)) is serves


@pytest.mark.parametrize("shorter", [-1, 0, 1])
def test_short_work_is_a_piece_shorter_than_the_shortest_that_is_machined(shorter: int) -> None:
    allowances = Allowances().with_value("shortest_machined", inches("30"))
    short = piece(length=Length(inches("30") - shorter))
    assert fills(replace(asked(short_work=True), allowances=allowances), short)
    assert fills(replace(asked(short_work=False), allowances=allowances), short) is (shorter <= 0)


def test_only_pieces_of_the_batch_serve_however_it_is_spelled() -> None:
    request = asked(batch="elm 2029")
    assert fills(request, piece(batch=" Elm  2029"))
    assert not fills(request, piece(batch="elm 2028"))
    assert reasons(request, piece()) == {"ruled out": 1}


def test_what_the_first_request_rules_out_holds_for_the_whole_order() -> None:
    rack = [piece("000000A"), piece("000000B", width=inches("12"))]
    plan = fill_order(rack, [asked(without=("000000A",)), BOARD])
    assert faults(plan, rack) == []
    assert {cut.offcut.tag for fill in plan.fills for cut in fill.cuts} == {"000000B"}


def test_a_piece_that_is_ruled_out_gives_no_board_to_a_count() -> None:
    one_board = inches("6")
    rack = [piece(tag, width=one_board) for tag in ("000000A", "000000B", "000000C")]
    rack[1] = replace(rack[1], marks=(Mark.KEEP,))
    *_, both = count_boards(rack, BOARD)
    *_, one = count_boards(rack, asked(without=("000000C",)))
    assert (both.boards, one.boards) == (2, 1)


def test_the_panels_of_an_end_grain_board_take_no_piece_that_is_ruled_out() -> None:
    board = replace(asked(longest=inches("30")), grain=Grain.END, length=inches("3"), width=inches("3"))
    assert fills(board, piece())
    assert not fills(board, piece(length=Length(inches("30") + 1)))


BAD: list[tuple[dict[str, Any], str, str]] = [
    ({"without": "000000A"}, "without", 'without must be a list of tags, such as ["4G7-M2KM"].'),
    ({"without": [7]}, "without", 'without must be a list of tags, such as ["4G7-M2KM"].'),
    ({"without": [" "]}, "without", 'without must be a list of tags, such as ["4G7-M2KM"].'),
    ({"without": [f"shelf {n}" for n in range(201)]}, "without", "without names 201 tags, over 200. Take some off."),
    (
        {"longest": "0 in"},
        "longest",
        "longest is 0: no piece is so short. Type the length of the longest piece, or leave it out.",
    ),
    ({"longest": 1.5}, "longest", '"longest" must be a text such as "18 in" or "457 mm".'),
    (
        {"longest": "23 1/0"},
        "longest",
        'longest: "23 1/0" is not a length: the fraction has 0 below the line. Type 23 1/2, 23.5 in or 597 mm.',
    ),
    ({"faces": "clean"}, "faces", 'faces can\'t be "clean". Choose one of: any, bare, planed.'),
    ({"short_work": "no"}, "short_work", 'short_work must be true or false, not "no".'),
    ({"short_work": 0}, "short_work", 'short_work must be true or false, not "0".'),
    ({"batch": 2029}, "batch", 'batch must be a word, such as "elm 2029"; leave it out for any.'),
    ({"batch": " "}, "batch", 'batch must be a word, such as "elm 2029"; leave it out for any.'),
    ({"batch": "e" * 61}, "batch", "batch is longer than 60 letters. Shorten it."),
]  # fmt: skip


@pytest.mark.parametrize(("given", "what", "message"), BAD, ids=[f"{what}-{n}" for n, (_, what, _) in enumerate(BAD)])
def test_a_bad_value_is_refused_in_one_line_that_says_how_to_fix_it(
    given: dict[str, Any], what: str, message: str
) -> None:
    with pytest.raises(InvalidRequest) as refused:
        read_request(NEEDED | given, Allowances(), Unit.INCH, ON)
    assert (str(refused.value), refused.value.what) == (message, what)


def test_a_request_reads_back_with_all_that_it_rules_out() -> None:
    given = {
        "without": ["W04-SP0M", "shelf 3"],
        "longest": "60 in",
        "faces": "bare",
        "short_work": False,
        "batch": "elm 2029",
    }
    request = read_request(NEEDED | given, Allowances(), Unit.INCH, ON)
    document = request_document(request)
    written = {name: document[name] for name in given}
    assert written == given | {"without": ["W04SP0M", "shelf 3"], "longest": "1524 mm"}
    assert read_request(document, Allowances(), Unit.INCH, date.min) == request


def test_a_request_that_rules_out_nothing_says_nothing() -> None:
    assert not {"without", "longest", "faces", "short_work", "batch"} & set(request_document(BOARD))


@pytest.mark.parametrize("grain", LONG_GRAIN, ids=lambda grain: grain.value)
@pytest.mark.parametrize("seed", range(8))
def test_the_best_fills_of_what_may_serve_are_found(seed: int, grain: Grain) -> None:
    random = Random(f"rules {seed} {grain.value}")
    shop = random.choice(list(ShopUnits))
    best: dict[Preference, list[CostKey]] = {}
    while not any(best.values()):
        rack, request = with_rules(random, *make_small_case(random.randrange(10**6), shop, grain, 20_000))
        best = best_cost_keys(rack, fill_parts(request))

    plan = fill_rack(rack, request)

    assert faults(plan, rack) == []
    for prefer in Preference:
        shown = [fill for fill in plan.fills if fill.prefer is prefer]
        assert [cost_key(fill, request) for fill in shown] == best[prefer][:3]
        assert shown[0].proven
        assert len({touched(fill, request) for fill in shown}) == len(shown)


@pytest.mark.parametrize("seed", range(8))
def test_a_rack_that_falls_short_counts_what_was_ruled_out(seed: int) -> None:
    random = Random(f"short of what may serve {seed}")
    shop = random.choice(list(ShopUnits))
    rack, request = with_rules(random, *make_small_case(random.randrange(10**6), shop, Grain.EDGE, 20_000))
    request = replace(request, bands=(FieldBand(),))
    request = replace(request, width=Length(3 * max_width(rack, request) + inches("1")))
    plan = fill_rack(rack, request)
    assert faults(plan, rack) == []
    assert plan.shortfall is not None
