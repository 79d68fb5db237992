"""The contract's JSON of plans for several boards, panels and near misses."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from inventory.core.allowances import Allowances
from inventory.core.lengths import inches, millimeters
from inventory.core.offcuts import Face, Mark, Offcut
from inventory.cutting.costs import Preference
from inventory.fill.plan_document import plan_document
from inventory.fill.request import BoardRequest, Eligibility, Grain, PanelSpec
from inventory.orders.answer import fill_rack

ON = date(2030, 1, 31)
BOARD = BoardRequest(
    inches("12"), inches("5"), inches("1 1/2"), prefer=(Preference.LEAST_WASTE,), fills=1, on=ON, count=2
)


def _offcut(tag: str, length: str, width: str, thickness: str, count: int = 1) -> Offcut:
    return Offcut(
        inches(length), inches(width), inches(thickness), "ash", Face.PLANED, Face.PLANED, count, tag, tagged_on=ON
    )


def test_strips_of_one_piece_that_go_to_two_boards_stand_in_two_entries_and_its_loss_in_the_first() -> None:
    plan = fill_rack([_offcut("AAAAAAA", "41", "14", "1")], BOARD)

    [fill] = plan_document(plan)["fills"]

    assert [entry["board"] for entry in fill["cuts"]] == [0, 1]
    assert [entry["strips"] for entry in fill["cuts"]] == [6, 6]
    assert [entry["adds_mm"] for entry in fill["cuts"]] == ["152.4", "152.4"]
    assert [entry["lengths"] for entry in fill["cuts"]] == [2, 0]
    assert [entry["loss_mm3"] for entry in fill["cuts"]] == [fill["loss_mm3"], 0]
    assert fill["cuts"][1]["remainders"] == []
    assert sum(float(entry["adds_mm"]) for entry in fill["cuts"]) == float(fill["filled_width_mm"])


def test_the_panels_of_an_end_grain_board_are_stated_by_number() -> None:
    request = replace(
        BOARD, count=1, grain=Grain.END, panel=PanelSpec(Grain.EDGE, panels=2, row_depth=millimeters("40"))
    )
    plan = fill_rack([_offcut("AAAAAAA", "60", "14", "1", count=4)], request)

    [fill] = plan_document(plan)["fills"]

    assert {(entry["board"], entry["panel"]) for entry in fill["cuts"]} == {(0, 0), (0, 1)}
    assert plan_document(plan)["request"]["panel"] == {"grain": "edge", "count": 2, "row_depth": "40 mm"}


def test_a_near_miss_is_stated_with_the_allowance_that_would_fix_it() -> None:
    request = replace(BOARD, count=1, allowances=Allowances())
    plan = fill_rack([_offcut("AAAAAAA", "12 13/16", "14", "1")], request)

    [miss] = plan_document(plan)["shortfall"]["nearest"]

    assert miss == {
        "tag": "AAAAAAA",
        "reason": "too short",
        "by_mm": "4.7625",
        "rescue": {"allowance": "end_trim", "to_mm": "20.6375"},
    }


def test_a_piece_that_only_strips_of_no_width_would_fix_is_stated_without_a_fix() -> None:
    allowances = replace(
        Allowances(), edge_jointing=millimeters("1"), min_strip_width=millimeters("3"), flattening=millimeters("0")
    )
    request = replace(BOARD, count=1, grain=Grain.FACE, thickness=millimeters("20"), allowances=allowances)
    plan = fill_rack([replace(_offcut("AAAAAAA", "20", "1", "1"), width=millimeters("2"))], request)

    [miss] = plan_document(plan)["shortfall"]["nearest"]

    assert (miss["reason"], miss["by_mm"], miss["rescue"]) == ("too narrow", "3", None)


def test_a_cut_says_where_its_piece_is_and_what_it_carries() -> None:
    piece = _offcut("AAAAAAA", "41", "14", "1")
    piece = replace(piece, location="wall 2", marks=(Mark.METAL, Mark.KNOTS), notes="from a door")
    plan = fill_rack([piece], replace(BOARD, count=1))

    [cut] = plan_document(plan)["fills"][0]["cuts"]

    assert (cut["location"], cut["marks"], cut["notes"]) == ("wall 2", ["metal", "knots"], "from a door")


def test_a_demand_that_can_t_be_met_is_stated_with_the_piece_and_the_reason() -> None:
    request = replace(BOARD, count=1, eligibility=Eligibility(required=("B", "AAAAAAA"), longest=inches("40")))
    plan = fill_rack([_offcut("AAAAAAA", "41", "14", "1")], request)

    assert plan_document(plan)["shortfall"]["demand"] == [
        {"field": "with", "tag": "B", "reason": "not on the rack"},
        {"field": "with", "tag": "AAAAAAA", "reason": "ruled out by longest"},
    ]
    alone = replace(request, eligibility=Eligibility(longest=inches("40")))
    shortfall = plan_document(fill_rack([_offcut("AAAAAAA", "41", "14", "1")], alone))["shortfall"]
    assert shortfall["demand"] == [{"field": "longest", "tag": None, "reason": None}]
    assert shortfall["fell_out"]["ruled out"] == 1
