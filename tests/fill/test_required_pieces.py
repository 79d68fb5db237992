"""Pieces that a request names under `with`: each gives at least one strip, or the answer says why it can't."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from random import Random
from typing import Any

import pytest

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, Unit, inches
from inventory.core.offcuts import Face, Mark, Offcut
from inventory.cutting.bands import FieldBand, StripeBand, bands_of_species
from inventory.cutting.costs import Preference
from inventory.fill import candidates
from inventory.fill.plan import Plan, UnmetDemand
from inventory.fill.request import (
    BoardRequest,
    Eligibility,
    Faces,
    Grain,
    InvalidRequest,
    Mix,
    PanelSpec,
    read_request,
    request_document,
)
from inventory.orders.answer import fill_order, fill_rack
from inventory.orders.counting import count_boards
from tests.fill.brute_force import cost_key
from tests.fill.cases import CaseKind, make_demanding_case, verdict
from tests.fill.racks import ON, ShopUnits, make_rack, make_request
from tests.verify import faults

# 4 strips of 1 in make up 3 1/8 in; a piece 8 in wide gives 6 of 1 1/8 in, and is 19 in long at least.
BOARD = BoardRequest(inches("18"), inches("3"), inches("1"), prefer=(Preference.LEAST_WASTE,), fills=1, on=ON)
NEEDED = {"length": "18 in", "width": "3 in", "thickness": "1 in", "grain": "edge"}


def piece(tag: str, **changed: Any) -> Offcut:
    """A planed piece that fills BOARD alone."""
    whole = Offcut(inches("30"), inches("8"), inches("1"), "ash", Face.PLANED, Face.PLANED, tag=tag)
    return replace(whole, **changed)


def asked(*required: str, **changed: Any) -> BoardRequest:
    rules = {name: changed.pop(name) for name in ("without", "longest", "faces", "batch") if name in changed}
    return replace(BOARD, eligibility=Eligibility(required=required, **rules), **changed)


def tags(plan: Plan) -> set[str]:
    return {cut.offcut.tag for fill in plan.fills for cut in fill.cuts}


def answer(rack: Sequence[Offcut], *requests: BoardRequest) -> Plan:
    """The plan, which the independent checker finds right."""
    plan = fill_order(rack, requests)
    assert faults(plan, rack) == []
    return plan


def demands(rack: Sequence[Offcut], *requests: BoardRequest) -> tuple[UnmetDemand, ...]:
    shortfall = answer(rack, *requests).shortfall
    assert shortfall is not None
    return shortfall.demands


SHORT_OFFCUT = piece("SMALL", length=inches("19"))
"""Its board loses less wood than any of a piece 30 in long."""


def test_a_named_piece_is_used_though_another_one_loses_less_and_the_answer_stays_proven() -> None:
    rack = [SHORT_OFFCUT, piece("LARGE")]
    assert tags(answer(rack, BOARD)) == {"SMALL"}
    plan = answer(rack, asked("LARGE"))
    assert "LARGE" in tags(plan)
    assert plan.fills[0].proven


def test_each_named_piece_gives_a_strip_though_one_of_them_would_do() -> None:
    rack = [SHORT_OFFCUT, piece("A"), piece("B"), piece("C")]
    assert tags(answer(rack, asked("A", "B", "C"))) >= {"A", "B", "C"}


def test_of_a_named_bundle_one_piece_is_used() -> None:
    plan = answer([piece("A", count=3), SHORT_OFFCUT], asked("A"))
    assert {(cut.offcut.tag, cut.piece) for cut in plan.fills[0].cuts if cut.offcut.tag == "A"} == {("A", 1)}


def test_a_named_piece_is_not_taken_for_one_like_it() -> None:
    assert "B" in tags(answer([piece("A"), piece("B"), piece("C")], asked("B")))


@pytest.mark.parametrize("mark", [Mark.KEEP, Mark.DAMP], ids=lambda mark: mark.value)
def test_a_named_piece_is_used_in_spite_of_its_mark(mark: Mark) -> None:
    rack = [piece("A", marks=(mark,)), piece("B", marks=(mark,))]
    assert tags(answer(rack, asked("A"))) == {"A"}


@pytest.mark.parametrize("species", ["birch plywood", "MDF", ""])
def test_named_sheet_goods_and_unknown_wood_serve_as_any_species_but_not_as_another_one(species: str) -> None:
    rack = [piece("SHEET", species=species), piece("A")]
    assert "SHEET" in tags(answer(rack, asked("SHEET")))
    of_ash = asked("SHEET", bands=bands_of_species(["ash"]))
    assert demands(rack, of_ash) == (UnmetDemand("with", "SHEET", "other species"),)


def test_a_board_of_one_species_may_be_of_named_unknown_wood_but_takes_no_other_piece_of_it() -> None:
    narrow, other = piece("A", species="", width=inches("3")), piece("B", species="")
    one = asked("A", mix=Mix.ONE)
    assert demands([narrow, other], one) == ()
    assert tags(answer([piece("A", species=""), other, piece("C")], one)) == {"A"}
    assert tags(answer([narrow, other], asked("A", "B", mix=Mix.ONE))) == {"A", "B"}


def test_named_pieces_of_two_species_can_t_be_used_in_a_board_of_one() -> None:
    rack = [piece("A"), piece("B", species="cherry")]
    assert demands(rack, asked("A", "B", mix=Mix.ONE)) == (UnmetDemand("with"),)
    assert tags(answer(rack, asked("A", "B"))) == {"A", "B"}
    assert tags(answer(rack, asked("B", mix=Mix.ONE))) == {"B"}


@pytest.mark.parametrize("typed", ["oooooo-a", "000000A", " 00-0000a"])
def test_a_tag_is_read_however_it_is_typed(typed: str) -> None:
    request = read_request(NEEDED | {"with": [typed]}, Allowances(), Unit.INCH, ON)
    assert "000000A" in tags(answer([SHORT_OFFCUT, piece("000000A")], request))


def test_a_request_reads_back_with_the_pieces_that_it_names() -> None:
    request = read_request(NEEDED | {"with": ["w04-spom", "shelf 3"]}, Allowances(), Unit.INCH, ON)
    document = request_document(request)
    assert document["with"] == ["W04SP0M", "shelf 3"]
    assert read_request(document, Allowances(), Unit.INCH, ON) == request
    assert "with" not in request_document(BOARD)


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"with": "A"}, 'with must be a list of tags, such as ["4G7-M2KM"].'),
        ({"with": [""]}, 'with must be a list of tags, such as ["4G7-M2KM"].'),
        ({"with": [f"shelf {n}" for n in range(201)]}, "with names 201 tags, over 200. Take some off."),
        (
            {"with": ["W04-SP0M"], "without": ["w04spom"]},
            '"W04-SP0M" is under both with and without. Take it off one of them.',
        ),
    ],
)
def test_a_bad_value_is_refused_in_one_line_that_says_how_to_fix_it(given: dict[str, Any], message: str) -> None:
    with pytest.raises(InvalidRequest) as refused:
        read_request(NEEDED | given, Allowances(), Unit.INCH, ON)
    assert (str(refused.value), refused.value.what) == (message, "with")


def test_a_tag_that_no_piece_has_is_an_answer_that_names_it() -> None:
    plan = answer([piece("A")], asked("A", "B"))
    assert plan.shortfall is not None
    assert plan.shortfall.demands == (UnmetDemand("with", "B", "not on the rack"),)
    assert plan.shortfall.shortages == ()
    assert (plan.shortfall.largest_width, plan.shortfall.largest_length) == (None, None)


@pytest.mark.parametrize(
    ("rules", "changed", "key"),
    [
        ({"longest": Length(inches("30") - 1)}, {}, "longest"),
        ({"faces": Faces.BARE}, {"face_b": Face.FINISHED}, "faces"),
        ({"faces": Faces.PLANED}, {"face_b": Face.ROUGH}, "faces"),
        ({"batch": "elm"}, {}, "batch"),
        ({"without": ("a",)}, {}, "without"),
    ],
)
def test_no_other_demand_is_overridden_and_the_answer_says_which_rules_the_piece_out(
    rules: dict[str, Any], changed: dict[str, Any], key: str
) -> None:
    rack = [piece("A", **changed), piece("B", batch="elm", length=inches("25"))]
    assert demands(rack, asked("A", **rules)) == (UnmetDemand("with", "A", f"ruled out by {key}"),)


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"length": Length(inches("19") - 1)}, "too short"),
        ({"width": inches("1")}, "too narrow"),
        ({"thickness": inches("3/16")}, "too thin"),
    ],
)
def test_a_named_piece_that_gives_no_strip_is_named_with_the_reason(changed: dict[str, Any], reason: str) -> None:
    assert demands([piece("A", **changed), piece("B")], asked("A")) == (UnmetDemand("with", "A", reason),)
    assert tags(answer([piece("A"), piece("B")], asked("A"))) >= {"A"}


def test_where_the_rack_would_do_without_one_demand_that_demand_is_named() -> None:
    rack = [piece("A", face_b=Face.ROUGH), piece("B", length=inches("10"))]
    assert demands(rack, asked(longest=inches("29"))) == (UnmetDemand("longest"),)
    assert demands(rack, asked(faces=Faces.PLANED)) == (UnmetDemand("faces"),)
    assert demands(rack, asked(without=("A",))) == (UnmetDemand("without"),)
    assert demands(rack, asked(batch="elm")) == (UnmetDemand("batch"),)
    assert demands(rack, asked(longest=inches("29"), faces=Faces.PLANED)) == ()
    assert demands([], asked(longest=inches("29"))) == ()


BANDS = (FieldBand(("ash",)), StripeBand(("cherry",), 2, inches("1/4")), FieldBand(("ash",)))


def test_a_named_piece_goes_to_the_band_that_it_can_serve() -> None:
    rack = [piece("A"), piece("B"), piece("C", species="cherry"), piece("D", species="cherry", thickness=inches("3/4"))]
    assert tags(answer(rack, asked("B", "D", bands=BANDS))) >= {"B", "D"}


def test_more_named_pieces_than_a_stripe_has_strips_are_too_many() -> None:
    rack = [piece("A"), *(piece(tag, species="cherry") for tag in "CDE")]
    assert tags(answer(rack, asked("C", "D", bands=BANDS))) >= {"C", "D"}
    assert demands(rack, asked("C", "D", "E", bands=BANDS)) == (UnmetDemand("with"),)


def test_a_named_piece_serves_whichever_of_two_bands_costs_less() -> None:
    either = (FieldBand(("ash",)), FieldBand(("ash", "cherry")))
    rack = [piece("A"), piece("B"), piece("C", species="cherry")]
    assert tags(answer(rack, asked("B", "C", bands=either))) >= {"B", "C"}


@pytest.mark.parametrize("grain", [Grain.EDGE, Grain.FACE], ids=lambda grain: grain.value)
@pytest.mark.parametrize("count", [2, 5])
def test_boards_filled_together_use_each_named_piece(grain: Grain, count: int) -> None:
    rack = [piece(f"T{n}", width=inches("8") + n * 10**6, thickness=inches("1 1/4")) for n in range(12)]
    named = ("T3", "T11")
    request = asked(*named, grain=grain, count=count, prefer=tuple(Preference))
    plan = answer(rack, request)
    assert len(plan.fills) == len(Preference)
    assert all({cut.offcut.tag for cut in fill.cuts} >= set(named) for fill in plan.fills)


def test_panels_of_an_end_grain_board_use_a_named_piece_between_them() -> None:
    panel = PanelSpec(panels=2, row_depth=inches("1"))
    request = asked("B", grain=Grain.END, length=inches("6"), panel=panel)
    rack = [SHORT_OFFCUT, piece("A", width=inches("30")), piece("B")]
    assert "B" in tags(answer(rack, request))


def test_a_count_of_boards_uses_a_named_piece() -> None:
    rack = [piece("A", width=inches("6")), piece("B", width=inches("6")), piece("C", width=inches("2"))]
    *_, free = count_boards(rack, BOARD)
    *_, counted = count_boards(rack, asked("C"))
    assert free.boards == counted.boards == 2
    assert counted.plan is not None and "C" in tags(counted.plan)
    *_, none = count_boards(rack, asked("D"))
    assert (none.boards, none.plan) == (0, None)


@pytest.mark.parametrize("prefer", Preference, ids=lambda prefer: prefer.value)
@pytest.mark.parametrize("grain", [Grain.EDGE, Grain.FACE], ids=lambda grain: grain.value)
def test_a_large_rack_gives_the_same_with_and_without_leaving_rows_out(
    prefer: Preference, grain: Grain, monkeypatch: pytest.MonkeyPatch
) -> None:
    rack = make_rack(1, 500, ShopUnits.SIXTEENTHS)
    request = replace(make_request(1, rack, ShopUnits.SIXTEENTHS, grain), prefer=(prefer,), bands=())
    useful = [each.tag for each in rack if each.length > inches("24") and each.width > inches("3")]
    thick = {each.tag for each in rack if each.thickness >= inches("1 1/2")}
    named = [tag for tag in useful if tag in thick][:2]
    request = replace(request, eligibility=Eligibility(required=tuple(named)))
    found = []
    for large in (10**9, 100):
        monkeypatch.setattr(candidates, "LARGE", large)
        plan = fill_rack(rack, request)
        assert faults(plan, rack) == []
        assert plan.fills[0].proven
        found.append([cost_key(fill, request) for fill in plan.fills])
    assert found[0] == found[1]


CASES = [(kind, prefer, seed) for kind in CaseKind for prefer in Preference for seed in range(2)]


@pytest.mark.parametrize(
    ("kind", "prefer", "seed"), CASES, ids=lambda value: getattr(value, "name", str(value)).lower()
)
def test_the_best_fill_of_a_demanding_request_is_the_best_by_cp_sat(
    kind: CaseKind, prefer: Preference, seed: int
) -> None:
    random = Random(f"{kind.name} {prefer.value} {seed}")
    pieces = 4 if kind in (CaseKind.LIKE_BOARDS, CaseKind.FLAT_BOARDS) else 6
    # Every fourth seed may be infeasible.
    case = make_demanding_case(kind, random.choice(list(ShopUnits)), prefer, 3 * seed, pieces)
    assert verdict(case, (), solvers=("CP-SAT",)).wrong == ()
