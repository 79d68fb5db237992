"""The verifier on several boards and on panels of end grain; plans computed by hand, and faults planted in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut, Leftover, StripShare
from inventory.fill.plan import Fill, Plan, PlannedGlueUp, Shortfall
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from tests.verify import faults
from tests.verify.asked import BandRequirement, requirements_of
from tests.verify.glue_ups import glue_ups
from tests.verify.paper_plans import ASH, EDGE, EDGE_CUT, TWO_ASH, mm, with_cut, with_fill

# --- by hand: two boards on edge ----------------------------------------------------------------
# Twice the board of paper_plans, 100 wide each, from two identical pieces of ash. The first gives all its 9 strips
# of 20: 5 to the first board, 4 to the second. Left: 1000 − 3·328 = 16 long and three times 11 wide, nothing is kept:
# its loss is 3 450 000. The second gives the strip that is missing. Left: 672 long, kept, and 103 wide, kept:
# 3 450 000 − 672·150·23 − 325·103·23 = 361 675. Milling area: 3·325·150·2 and 1·325·150·2.

TWO = replace(EDGE, count=2)
FULL_CUT = replace(
    EDGE_CUT,
    offcut=TWO_ASH,
    lengths_cut=3,
    rips=(3, 3, 3),
    adds=mm("180"),
    loss=3_450_000,
    worth_lost=3_450_000 * 562,
    milling=438_750,
    milling_area=292_500,
    leftovers=(
        Leftover(mm("16"), mm("150"), mm("23"), False),
        *[Leftover(mm("325"), mm("11"), mm("23"), False)] * 3,
    ),
    shares=(StripShare(0, 5, mm("100")), StripShare(1, 4, mm("80"))),
)
LAST_CUT = replace(
    EDGE_CUT,
    offcut=TWO_ASH,
    piece=2,
    lengths_cut=1,
    rips=(1,),
    adds=mm("20"),
    loss=361_675,
    worth_lost=3_450_000 * 562 - 672 * 150 * 23 * 460 - 325 * 103 * 23 * 351 * 843 // 1000,
    milling=146_250,
    milling_area=97_500,
    leftovers=(
        Leftover(mm("672"), mm("150"), mm("23"), True),
        Leftover(mm("325"), mm("103"), mm("23"), True),
    ),
    shares=(StripShare(1, 1, mm("20")),),
)
BATCH_FILL = Fill(
    prefer=Preference.LEAST_WASTE,
    proven=False,
    bound=3_000_000,
    cuts=(FULL_CUT, LAST_CUT),
    board_volume=2 * 300 * 97 * 40,
    glue_ups=(PlannedGlueUp(0, 0, 0, EDGE), PlannedGlueUp(1, 0, 0, EDGE)),
)
BATCH = Plan(TWO, (BATCH_FILL,))

# --- by hand: end grain -------------------------------------------------------------------------
# Board 100 × 96 × 20 mm of rows 40 deep: (100 + 3) / 40 = 3 rows. One panel: 3·(20 + 3) + 2·3 = 75 long, 96 wide, 40
# thick, on edge: strips 75 + 25 = 100 long, 43 wide; with side trims of 3 and then 1 mm they are 100 wide together. Ash
# as above: 5 strips from two lengths. Left: 1000 − 2·103 = 794 long, kept; 100 long is too short to be kept.
# Loss: 3 450 000 − 794·150·23 = 710 700.

END = BoardRequest(
    mm("100"), mm("96"), mm("20"), Grain.END, EDGE.bands, EDGE.prefer, 3, replace(EDGE.allowances, row_trim=mm("1")),
    EDGE.on, panel=PanelSpec(Grain.EDGE, 1, mm("40")),
)  # fmt: skip
PANEL = replace(
    EDGE, length=mm("75"), width=mm("96"), panel=END.panel, allowances=replace(END.allowances, side_trim=mm("4"))
)
END_CUT = replace(
    EDGE_CUT,
    loss=710_700,
    worth_lost=3_450_000 * 562 - 794 * 150 * 23 * 498,
    milling=90_000,
    milling_area=60_000,
    leftovers=(
        Leftover(mm("794"), mm("150"), mm("23"), True),
        Leftover(mm("100"), mm("11"), mm("23"), False),
        Leftover(mm("100"), mm("57"), mm("23"), False),
    ),
)
END_FILL = Fill(
    prefer=Preference.LEAST_WASTE,
    proven=True,
    bound=710_700,
    cuts=(END_CUT,),
    board_volume=100 * 96 * 20,
    glue_ups=(PlannedGlueUp(0, 0, 3, PANEL),),
)
END_PLAN = Plan(END, (END_FILL,))


def test_the_two_boards_computed_by_hand_are_right() -> None:
    assert faults(BATCH, [TWO_ASH]) == []


def test_the_panel_computed_by_hand_is_right() -> None:
    assert faults(END_PLAN, [ASH]) == []


def shared(*shares: StripShare) -> Plan:
    return with_cut(BATCH, 0, shares=shares)


PLANTED: dict[str, tuple[Plan, Sequence[Offcut], list[str]]] = {
    "more strips shared out than ripped": (
        shared(StripShare(0, 5, mm("100")), StripShare(1, 5, mm("100"))),
        [TWO_ASH],
        ["offcut ASH0001 piece 1 shares out 10 strips of 9."],
    ),
    "a share of no strips": (
        shared(StripShare(0, 5, mm("100")), StripShare(1, 4, mm("80")), StripShare(1, 0, mm("0"))),
        [TWO_ASH],
        ["offcut ASH0001 piece 1 shares out 9 strips of 9."],
    ),
    "a share that adds more than its strips": (
        shared(StripShare(0, 5, mm("100")), StripShare(1, 4, mm("80.000001"))),
        [TWO_ASH],
        [
            "offcut ASH0001 piece 1 says that 4 strips add 80.000001 mm to glue-up 1; by the model it is 80 mm.",
        ],
    ),
    "a board too narrow": (
        shared(StripShare(0, 6, mm("120")), StripShare(1, 3, mm("60"))),
        [TWO_ASH],
        ["glue-up 1 is 20 mm too narrow."],
    ),
    "a board that was not asked for": (
        shared(StripShare(0, 5, mm("100")), StripShare(2, 4, mm("80"))),
        [TWO_ASH],
        ["offcut ASH0001 piece 1 is cut for a board that was not asked for."],
    ),
    "a board not stated": (
        with_fill(BATCH, glue_ups=BATCH_FILL.glue_ups[:1]),
        [TWO_ASH],
        ["it states 1 glue-ups; asked for were 2."],
    ),
    "the volume of one board alone": (
        with_fill(BATCH, board_volume=1_164_000),
        [TWO_ASH],
        [
            "it says board volume 1164000; by the model it is 2328000.",
            "it says waste 2647675; by the model it is 1483675.",
            f"it says yield {1_164_000 / 3_811_675}; by the model it is {2_328_000 / 3_811_675}.",
        ],
    ),
    "a row too few": (
        with_fill(END_PLAN, glue_ups=(PlannedGlueUp(0, 0, 2, PANEL),)),
        [ASH],
        ["glue-up 0 is said to be panel 0 of board 0 with 2 rows; it is panel 0 of board 0 with 3."],
    ),
    "a panel too short": (
        with_fill(END_PLAN, glue_ups=(PlannedGlueUp(0, 0, 3, replace(PANEL, length=mm("69"))),)),
        [ASH],
        ["glue-up 0 is said to be 69 × 96 × 40 mm in edge grain; it is 75 × 96 × 40 mm in edge grain."],
    ),
    "another row depth than asked for": (
        with_fill(END_PLAN, glue_ups=(PlannedGlueUp(0, 0, 3, replace(PANEL, thickness=mm("39"))),)),
        [ASH],
        ["glue-up 0 is said to be 75 × 96 × 39 mm in edge grain; it is 75 × 96 × 40 mm in edge grain."],
    ),
}


@pytest.mark.parametrize("planted", PLANTED, ids=lambda planted: planted.replace(" ", "-"))
def test_the_verifier_finds(planted: str) -> None:
    plan, rack, expected = PLANTED[planted]
    assert [sentence.removeprefix("Fill 1 (least-waste): ") for sentence in faults(plan, rack)] == expected


def test_a_piece_in_two_panels_of_different_length_is_found() -> None:
    # Three rows from two panels: 2 rows, 2·23 + 3 = 49 long, and 1 row, 23 long.
    two_panels = replace(END, panel=PanelSpec(Grain.EDGE, 2, mm("40")))
    cut: Cut = replace(END_CUT, shares=(StripShare(0, 3, mm("60")), StripShare(1, 2, mm("40"))))
    stated = tuple(PlannedGlueUp(0, each.panel, each.rows, each.made) for each in glue_ups(two_panels, mm("40")))
    plan = Plan(two_panels, (replace(END_FILL, cuts=(cut,), glue_ups=stated),))
    assert faults(plan, [ASH])[0] == "Fill 1 (least-waste): offcut ASH0001 is cut for glue-ups of different sizes."


def test_a_shortfall_of_boards_that_can_be_filled_one_after_another_is_found() -> None:
    nothing = Shortfall((), {}, (), None, None, None)
    assert faults(Plan(TWO, (), nothing), [TWO_ASH]) == [
        "The rack holds enough for every glue-up, one after another, yet the plan has no fill."
    ]
    assert faults(Plan(TWO, (), nothing), [ASH]) == []


# --- what bands and panels ask for ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("rows", "panels", "expected_rows"),
    [(7, 1, [7]), (7, 2, [4, 3]), (7, 3, [3, 2, 2]), (6, 3, [2, 2, 2]), (2, 3, [1, 1])],
)
def test_rows_are_split_as_evenly_as_possible(rows: int, panels: int, expected_rows: list[int]) -> None:
    request = replace(END, length=mm(str(40 * rows - 3)), panel=PanelSpec(Grain.EDGE, panels, mm("40")))
    found = glue_ups(request, mm("40"))
    assert [each.rows for each in found] == expected_rows
    assert [each.made.length for each in found] == [mm(str(23 * each + 3 * (each - 1))) for each in expected_rows]


def test_a_nanometer_more_than_the_rows_needs_another_row() -> None:
    request = replace(END, length=Length(mm("117") + 1))
    assert [each.rows for each in glue_ups(request, mm("40"))] == [4]
    assert [each.rows for each in glue_ups(replace(END, length=mm("117")), mm("40"))] == [3]


def test_fields_share_what_the_stripes_leave_and_the_outer_ones_take_the_trim() -> None:
    bands = (FieldBand(("ash",)), StripeBand(("cherry",), 2, mm("5")), FieldBand(("oak",), 2))
    # 97 − 10 = 87 in thirds, 29 and 58; half of the 3 of side trim to each.
    assert requirements_of(replace(EDGE, bands=bands)) == [
        BandRequirement(0, frozenset({"ash"}), mm("30.5")),
        BandRequirement(1, frozenset({"cherry"}), mm("10"), 2, mm("5")),
        BandRequirement(2, frozenset({"oak"}), mm("59.5")),
    ]


def test_an_outermost_stripe_leaves_its_trim_to_the_nearest_field_and_identical_fields_are_one_pool() -> None:
    bands = (StripeBand(("Cherry",), 1, mm("7")), FieldBand(("ash",)), StripeBand((), 1, mm("6")), FieldBand(("ASH",)))
    # 97 − 13 = 84, 42 for each field, half of the trim to each of them.
    assert requirements_of(replace(EDGE, bands=bands)) == [
        BandRequirement(0, frozenset({"cherry"}), mm("7"), 1, mm("7")),
        BandRequirement(1, frozenset({"ash"}), mm("87")),
        BandRequirement(2, frozenset(), mm("6"), 1, mm("6")),
    ]


def test_a_share_that_does_not_divide_is_rounded_up_to_a_nanometer() -> None:
    bands = (FieldBand(("ash",)), FieldBand(("oak",)), FieldBand(("elm",)))
    # 97 / 3 = 32.333333…; the outer ones with 1.5 more.
    assert [requirement.width for requirement in requirements_of(replace(EDGE, bands=bands))] == [
        33_833_334,
        32_333_334,
        33_833_334,
    ]
