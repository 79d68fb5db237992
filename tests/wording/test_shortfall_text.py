"""A shortfall in words: page and command line name the same sizes, and only those that can be asked for."""

from __future__ import annotations

from dataclasses import replace

from inventory.cli.plan_text import format_plan, format_shortfall_line
from inventory.core.lengths import Display, Length, Nearest, Unit, inches, millimeters
from inventory.core.workshop import DEFAULT_WORKSHOP
from inventory.fill.plan import Plan, Purchase, Shortage, Shortfall
from inventory.fill.request import BoardRequest, Grain
from inventory.wording.shortfall_text import (
    format_purchase,
    format_smaller_sizes,
    format_unhelpful_sizes,
    smaller_sizes,
)

ASKED = BoardRequest(inches("18"), inches("12"), inches("1"), Grain.EDGE)
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
