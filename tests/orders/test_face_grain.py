"""Boards laid flat as a cabinetmaker would make them: wide pieces stay whole, any part of a length serves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import pytest

from inventory.core.lengths import Length, inches
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut
from inventory.fill.plan import Plan
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from tests.verify import faults

DAY = date(2030, 1, 31)
SHELF = BoardRequest(inches("60"), inches("4"), inches("1"), Grain.FACE, on=DAY)
TRAY = BoardRequest(inches("18"), inches("12"), inches("3/4"), Grain.FACE, on=DAY)


def rough(length: str, width: str, thickness: str, tag: str, count: int = 1) -> Offcut:
    return Offcut(inches(length), inches(width), inches(thickness), "cherry", tag=tag, count=count)


def surfaced(length: str, width: str, thickness: str, tag: str, count: int = 1) -> Offcut:
    return replace(rough(length, width, thickness, tag, count), face_a=Face.PLANED, face_b=Face.PLANED)


def filled(request: BoardRequest, rack: Sequence[Offcut]) -> Plan:
    plan = fill_rack(rack, request)
    assert faults(plan, rack) == []
    return plan


def strips(cuts: Sequence[Cut]) -> list[tuple[str, tuple[int, ...], Length, bool]]:
    return [(cut.offcut.tag, cut.rips, cut.adds, cut.part) for cut in cuts]


def test_a_shelf_is_the_one_board_on_the_rack_that_is_large_enough() -> None:
    plan = filled(SHELF, [rough("61", "4 1/4", "1 3/8", "CHERRY1")])

    # 4 1/8 in of glue-up: 4 1/4 less two jointed edges are 4 3/16, and nothing is gained by ripping that.
    assert [fill.prefer for fill in plan.fills] == list(Preference)
    assert [strips(fill.cuts) for fill in plan.fills] == [[("CHERRY1", (1,), inches("4 3/16"), False)]] * len(
        Preference
    )


def test_a_piece_7_inches_wide_is_not_ripped_and_glued_back_together() -> None:
    plan = filled(TRAY, [surfaced("20", "7", "7/8", "CHERRY1", count=2)])

    [whole, part] = strips(plan.fills[0].cuts)
    assert whole == ("CHERRY1", (1,), inches("6 15/16"), False)
    assert part == ("CHERRY1", (1,), inches("5 3/16"), True)


def test_no_more_is_glued_up_than_the_board_takes() -> None:
    plan = filled(TRAY, [surfaced("40", "8 1/8", "7/8", "CHERRY1"), surfaced("40", "5", "7/8", "CHERRY2")])

    assert {fill.filled_width for fill in plan.fills} == {inches("12 1/8")}


@pytest.mark.parametrize(
    ("width", "rips", "adds"),
    [
        # 12 in of glued strip and two jointed edges of 1/32.
        (inches("12 1/16"), (1,), inches("12")),
        # One kerf, four jointed edges.
        (Length(inches("12 1/16") + 1), (2,), Length(inches("11 13/16") + 1)),
    ],
)
def test_a_piece_is_ripped_just_where_its_strip_would_be_over_12_inches_wide(
    width: Length, rips: tuple[int, ...], adds: Length
) -> None:
    piece = replace(surfaced("20", "12", "7/8", "CHERRY1"), width=width)
    plan = filled(replace(TRAY, width=Length(adds - inches("1/8"))), [piece])

    # A part as wide as its length comes out of it in the same way.
    assert {(cut.rips, cut.adds) for fill in plan.fills for cut in fill.cuts} == {(rips, adds)}


def test_a_part_of_a_length_over_12_inches_wide_is_two_equal_strips() -> None:
    [best, *_] = filled(replace(TRAY, width=inches("16")), [surfaced("20", "24", "7/8", "CHERRY1")]).fills

    [part] = best.cuts
    assert (part.part, part.rips, part.adds) == (True, (2,), inches("16 1/8"))
    assert part.strip_width == inches("8 1/16")
    # 24 − 16 1/8 − 4 · 1/32 − 2 · 1/8
    assert [left.width for left in part.leftovers if left.kept] == [inches("7 1/2")]
