"""A shortfall in words: page and command line name the same sizes, and only those that can be asked for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inventory.cli.plan_text import format_plan, format_shortfall_line
from inventory.core.lengths import Display, Length, Nearest, Unit, inches, millimeters
from inventory.core.workshop import DEFAULT_WORKSHOP
from inventory.fill.plan import Plan, Purchase, Shortage, Shortfall, UnmetDemand
from inventory.fill.request import BoardRequest, Eligibility, Faces, Grain
from inventory.wording.shortfall_text import (
    demand_sentences,
    format_purchase,
    format_smaller_sizes,
    format_unhelpful_sizes,
    shortage_sentences,
    smaller_sizes,
)

ASKED = BoardRequest(inches("18"), inches("12"), inches("1"), Grain.EDGE)
WITH_TWO = Eligibility(required=("0000011", "A"))
SIXTEENTHS = Display(Nearest.SIXTEENTH)
SHORT = Shortfall(
    shortages=(Shortage(0, (), inches("2")),),
    reasons={"too short": 1},
    nearest=(),
    largest_width=inches("10 1/32"),
    largest_length=Length(inches("1/16") - 1),
    largest_thickness=None,
)


def test_a_size_is_rounded_down_to_what_the_shop_reads() -> None:
    assert smaller_sizes(SHORT, ASKED, SIXTEENTHS) == {"width": inches("10")}
    assert format_smaller_sizes(SHORT, ASKED, SIXTEENTHS) == ["10 in wide"]


def test_a_size_that_reads_as_nothing_is_no_help() -> None:
    assert format_unhelpful_sizes(SHORT, ASKED, SIXTEENTHS) == "No smaller length or thickness alone would help."


def test_a_size_as_large_as_the_one_asked_for_is_no_help() -> None:
    as_asked = replace(SHORT, largest_thickness=ASKED.thickness)
    assert smaller_sizes(as_asked, ASKED, SIXTEENTHS) == {"width": inches("10")}


def test_where_each_size_helps_none_is_called_no_help() -> None:
    helped = replace(SHORT, largest_length=inches("17"), largest_thickness=inches("7/8"))
    assert format_smaller_sizes(helped, ASKED, SIXTEENTHS) == ["17 in long", "10 in wide", "7/8 in thick"]
    assert format_unhelpful_sizes(helped, ASKED, SIXTEENTHS) == ""


def test_the_command_line_names_the_same_sizes_as_the_page() -> None:
    plan = Plan(ASKED, (), SHORT)
    assert format_shortfall_line(plan, SIXTEENTHS) == (
        "The rack can't fill this board: 2 in of width is missing. It could be at most 10 in wide."
    )
    at_most = [line for line in format_plan(plan, DEFAULT_WORKSHOP, SIXTEENTHS).splitlines() if "at most" in line]
    assert at_most == ["  With the other two sizes as asked, it could be at most 10 in wide"]


def test_where_no_size_helps_the_command_line_says_so() -> None:
    plan = Plan(ASKED, (), replace(SHORT, largest_width=Length(1)))
    assert format_shortfall_line(plan, SIXTEENTHS) == (
        "The rack can't fill this board: 2 in of width is missing. "
        "No smaller length, width or thickness alone would help."
    )


def test_what_to_buy_is_named_as_the_dealer_names_it() -> None:
    ash = Purchase(
        0, ("ash", "white oak"), Unit.INCH, inches("2"), inches("1 3/4"), inches("19 1/32"), inches("3"), 2_359_738
    )
    # A hair over one board foot is 1.1, and 19 1/32 in at least 19 1/16 in. Every board is 3 in wide.
    said = "1.1 board feet of 8/4 ash or white oak (1 3/4 in surfaced), at least 19 1/16 in long"
    assert format_purchase(ash, SIXTEENTHS) == said
    assert format_purchase(replace(ash, volume=2_359_737), SIXTEENTHS).startswith("1.0 board foot of 8/4 ash")
    wide = replace(ash, species=(), width=Length(inches("3") + 1))
    assert format_purchase(wide, SIXTEENTHS) == (
        "1.1 board feet of 8/4 lumber (1 3/4 in surfaced), at least 19 1/16 in long and 3 1/16 in wide"
    )


def test_what_to_buy_in_a_metric_shop_is_sawn_and_counted_in_cubic_meters() -> None:
    sawn = millimeters("26")
    ash = Purchase(0, ("ash",), Unit.MILLIMETER, sawn, sawn, millimeters("475"), millimeters("42"), 9_000_001)
    metric = Display(Nearest.TENTH_MM)
    assert format_purchase(ash, metric) == "0.010 m³ of ash, sawn 26 mm thick, at least 475 mm long"


def test_the_command_line_says_what_to_buy() -> None:
    sizes = (inches("1"), inches("13/16"), inches("19"), inches("2"))
    plan = Plan(ASKED, (), replace(SHORT, to_buy=(Purchase(0, (), Unit.INCH, *sizes, 2_359_737),)))
    assert format_plan(plan, DEFAULT_WORKSHOP, SIXTEENTHS).splitlines()[4] == (
        "  To buy: 1.0 board foot of 4/4 lumber (13/16 in surfaced), at least 19 in long"
    )


def sentences(*demands: UnmetDemand, rules: Eligibility = WITH_TWO) -> list[str]:
    return list(demand_sentences(replace(SHORT, demands=demands), replace(ASKED, eligibility=rules), SIXTEENTHS))


@pytest.mark.parametrize(
    ("reason", "sentence"),
    [
        ("not on the rack", "no free piece on the rack has this tag. Check the tag, or release the piece."),
        ("ruled out by short_work", "short work rules it out. Change one of the two."),
        ("other species", "it is not of a species that is asked for. Name its species, or leave it out."),
        ("too thin", "it is too thin: it gives no strip. Leave it out, or change the board."),
    ],
)
def test_a_named_piece_that_can_t_be_used_is_said_with_the_reason(reason: str, sentence: str) -> None:
    assert sentences(UnmetDemand("with", "0000011", reason)) == [f"000-0011 has to be used, but {sentence}"]


@pytest.mark.parametrize(
    ("field", "rules", "sentence"),
    [
        ("without", Eligibility(without=("0000011", "shelf 3")), "if 000-0011 and shelf 3 could be used"),
        ("with", WITH_TWO, "if 000-0011 and A did not have to be used"),
        ("longest", Eligibility(longest=inches("60")), "if pieces longer than 60 in could be cut"),
        ("faces", Eligibility(faces=Faces.BARE), "if pieces with an old finish could be used"),
        ("faces", Eligibility(faces=Faces.PLANED), "if pieces with other faces than surfaced ones could be used"),
        ("short_work", Eligibility(short_work=False), "if pieces shorter than 12 in could be used"),
        ("batch", Eligibility(batch="elm"), 'if pieces of other batches than "elm" could be used'),
    ],
)
def test_a_demand_that_is_in_the_way_is_said(field: str, rules: Eligibility, sentence: str) -> None:
    assert sentences(UnmetDemand(field), rules=rules) == [f"The rack could fill this {sentence}."]


def test_the_title_names_the_pieces_that_can_t_be_used() -> None:
    unable = (UnmetDemand("with", "W04SP0M", "too thin"), UnmetDemand("with", "A", "too thin"))
    plan = Plan(replace(ASKED, eligibility=WITH_TWO), (), replace(SHORT, shortages=(), demands=unable))
    assert format_shortfall_line(plan, SIXTEENTHS) == (
        "The rack can't fill this board: W04-SP0M and A can't be used. It could be at most 10 in wide."
    )
    in_the_way = replace(SHORT, shortages=(), demands=(UnmetDemand("with"),))
    assert format_shortfall_line(replace(plan, shortfall=in_the_way), SIXTEENTHS) == (
        "The rack can't fill this board: what is asked of the pieces can't be met. It could be at most 10 in wide."
    )
    said = list(shortage_sentences(in_the_way, plan.request, SIXTEENTHS))
    assert said == ["The rack could fill this if 000-0011 and A did not have to be used."]
