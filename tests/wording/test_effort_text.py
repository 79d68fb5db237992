"""The effort of a fill as people read it, sentence by sentence."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from inventory.core.lengths import Display, Nearest, Unit, inches
from inventory.core.workshop import DEFAULT_WORKSHOP, Sawn, Workshop
from inventory.cutting.cuts import StripShare
from inventory.fill.plan import Fill, PlannedGlueUp
from inventory.fill.request import BoardRequest
from inventory.layout.finished_board import finished_boards, size_movements
from inventory.layout.operations import Operations, operations_for
from inventory.wording.effort_text import (
    format_basis,
    format_boards,
    format_glue_spreads,
    format_movement,
    format_movements,
    format_operations,
    format_set_ups,
    format_temperature,
    format_weights,
)
from tests.verify import paper_plans as paper
from tests.verify.paper_plans import mm

MM = Display(Nearest.TENTH_MM)
INCH = Display(Nearest.SIXTEENTH)
AIR = (
    "From 35 % to 65 % relative humidity at 20 °C wood goes from 7.0 to 12.0 % moisture content "
    "(Wood Handbook, FPL-GTR-282 (2021), equation 4-5)."
)
TABLE = (
    "Movements are a guide, not a measurement. Coefficients, by equation 13-2: "
    "Wood Handbook, FPL-GTR-190 (2010), table 13-5."
)
WEIGHTS = (
    "Weights are at 12 % moisture content, without glue and finish; wood of one species differs by a tenth and more."
)
WIDE = replace(paper.EDGE, width=mm("300"))
SWING = "From 35 % to 65 % humidity"


def work_told(fill: Fill, request: BoardRequest, workshop: Workshop = DEFAULT_WORKSHOP) -> tuple[str, ...]:
    return format_operations(operations_for(paper.for_request(fill, request), workshop), workshop, MM)


def boards_told(fill: Fill, request: BoardRequest, workshop: Workshop = DEFAULT_WORKSHOP) -> tuple[str, ...]:
    return format_boards(finished_boards(paper.for_request(fill, request), request), workshop, MM)


def of(species: str, fill: Fill) -> Fill:
    return replace(fill, cuts=tuple(replace(cut, offcut=replace(cut.offcut, species=species)) for cut in fill.cuts))


# --- the work ------------------------------------------------------------------------------------


def test_a_plain_fill_says_its_set_ups_alone() -> None:
    assert work_told(paper.EDGE_FILL, paper.EDGE) == ("Set-ups: rip fence 1 (43 mm), crosscut stop 1 (325 mm).",)


def test_every_set_up_is_reported_with_its_size() -> None:
    assert work_told(paper.FACE_FILL, paper.FACE) == (
        "Set-ups: rip fence 2 (58.5 mm, 69 mm), crosscut stop 1 (325 mm).",
    )
    assert work_told(paper.BANDED_FILL, paper.BANDED_PLAN.request) == (
        "Set-ups: rip fence 1 (43 mm), crosscut stop 1 (325 mm), band saw fence for leaves 1 (6 mm).",
    )


def test_leaves_are_set_up_as_finely_as_their_step_says() -> None:
    leaf = inches("9/32")
    operations = Operations((inches("1 5/8"),), (), (leaf,), leaf, (), (), ())
    text = format_set_ups(operations, Display(Nearest.SIXTEENTH))
    assert text == "Set-ups: rip fence 1 (1 5/8 in), band saw fence for leaves 1 (9/32 in)."


def test_pieces_that_need_no_cut_need_no_set_up() -> None:
    whole = replace(
        paper.WHOLE_CUT,
        rips=(1,),
        strip_width=mm("88"),
        offcut=replace(paper.OAK, width=mm("90"), length=mm("325")),
    )
    fill = replace(paper.FACE_FILL, cuts=(whole,))
    assert work_told(fill, paper.FACE) == ("Set-ups: none, every piece is glued in as it is.",)


def test_thin_and_short_pieces_are_reported() -> None:
    short = replace(paper.EDGE, length=mm("175"))
    small = replace(paper.ASH, length=mm("250"), thickness=mm("6"), tag="0000011")
    fill = replace(paper.EDGE_FILL, cuts=(paper.EDGE_CUT, replace(paper.EDGE_CUT, offcut=small)))
    assert work_told(fill, short)[1:] == (
        "The thinnest piece at the saw is 6 mm.",
        "Lengths of 200 mm are too short for jointer and planer: joint and plane before the crosscuts.",
        "Too short for them even before: 000-0011.",
    )


@pytest.mark.parametrize(
    ("planer", "sentence"),
    [
        ("98", "The glue-up is 100 mm wide, the planer takes 98 mm: cut it to width before it is planed."),
        (
            "60",
            "The glue-up is 100 mm wide, the planer takes 60 mm: glue it in 2 parts of at most 3 strips, plane each, "
            "then glue them together; or flatten it another way.",
        ),
        (
            "19",
            "The glue-up is 100 mm wide, a strip alone wider than the planer takes (19 mm): flatten it another way.",
        ),
    ],
)
def test_a_glue_up_wider_than_the_planer_is_reported(planer: str, sentence: str) -> None:
    assert work_told(paper.EDGE_FILL, paper.EDGE, replace(DEFAULT_WORKSHOP, planer_width=mm(planer)))[1:] == (sentence,)


def test_parts_are_reported_by_the_numbers_of_the_drawing() -> None:
    workshop = replace(DEFAULT_WORKSHOP, planer_width=mm("59"))
    laid = [[mm("20")] * 5]
    operations = operations_for(paper.EDGE_FILL, workshop, laid)
    assert format_operations(operations, workshop, MM)[1:] == (
        "The glue-up is 100 mm wide, the planer takes 59 mm: glue it in 3 parts (strips 1 to 2, 3 to 4, 5), plane "
        "each, then glue them together; or flatten it another way.",
    )


def test_a_glue_up_in_stages_is_reported() -> None:
    workshop = replace(DEFAULT_WORKSHOP, spread_rate=Fraction(1), open_time=Fraction("2.5"))
    assert work_told(paper.EDGE_FILL, paper.EDGE, workshop)[1:] == (
        "The glue-up has 5 strips, one spread of glue covers 3, in 2.5 minutes at 1 strip a minute: "
        "glue it in 2 parts of at most 3 strips, then glue them together.",
    )
    assert format_glue_spreads(operations_for(paper.EDGE_FILL, workshop)) == "3 times"
    assert format_glue_spreads(operations_for(paper.EDGE_FILL, DEFAULT_WORKSHOP)) == "once"


def test_of_several_glue_ups_each_is_named() -> None:
    glue_ups = (PlannedGlueUp(0, 0, 0, paper.EDGE), PlannedGlueUp(1, 0, 0, paper.EDGE))
    first, second = (replace(paper.EDGE_CUT, shares=(share,)) for share in _all_to(0, 1))
    fill = replace(paper.EDGE_FILL, cuts=(first, second), glue_ups=glue_ups)
    text = work_told(fill, replace(paper.EDGE, count=2), replace(DEFAULT_WORKSHOP, planer_width=mm("98")))
    laid = [[mm("20")] * 5, [mm("20")] * 5]
    narrow = replace(DEFAULT_WORKSHOP, planer_width=mm("60"))
    operations = operations_for(fill, narrow, laid)
    assert "2 parts (strips 6 to 8, 9 to 10)" in format_operations(operations, narrow, MM)[2]
    assert text[1:] == (
        "Glue-up 1 is 100 mm wide, the planer takes 98 mm: cut it to width before it is planed.",
        "Glue-up 2 is 100 mm wide, the planer takes 98 mm: cut it to width before it is planed.",
    )


def test_many_glue_ups_that_need_parts_are_reported_together() -> None:
    glue_ups = tuple(PlannedGlueUp(number, 0, 0, paper.EDGE) for number in range(5))
    cuts = tuple(replace(paper.EDGE_CUT, shares=(share,)) for share in _all_to(*range(5)))
    fill, request = replace(paper.EDGE_FILL, cuts=cuts, glue_ups=glue_ups), replace(paper.EDGE, count=5)
    workshop = replace(DEFAULT_WORKSHOP, planer_width=mm("60"), spread_rate=Fraction(3), open_time=Fraction(1))
    assert work_told(fill, request, workshop)[1:] == (
        "Glue-ups wider than the planer takes (60 mm): 1 to 5. Cut each to width before it is planed, glue it in parts "
        "that go through, or flatten it another way.",
        "Glue-ups of more strips or rows than one spread of glue covers (4, in 1 minute at 3 strips a minute): 1 to 5. "
        "Glue each in parts, then the parts together.",
    )
    four = replace(fill, cuts=cuts[:4], glue_ups=glue_ups[:4])
    assert len(work_told(four, replace(request, count=4), workshop)) == 1 + 4


def _all_to(*glue_ups: int) -> list[StripShare]:
    return [StripShare(number, paper.EDGE_CUT.strips, paper.EDGE_CUT.adds) for number in glue_ups]


# --- the finished board --------------------------------------------------------------------------


def test_where_the_sawing_is_not_known_both_coefficients_are_reported() -> None:
    assert boards_told(paper.EDGE_FILL, replace(paper.EDGE, width=mm("300"))) == (
        "Weight about 2.4 kg.",
        f"{SWING} the width of 300 mm grows by about 2.6 mm if its strips are flat-sawn stock turned on edge (radial "
        "coefficient), by about 4.1 mm if quarter-sawn (tangential).",
    )


@pytest.mark.parametrize(
    ("sawn", "sentence"),
    [
        (
            Sawn.FLAT,
            f"{SWING} the width of 300 mm grows by about 2.6 mm: flat-sawn stock turned on edge, radial coefficient. "
            "Quarter-sawn stock swaps them: by about 4.1 mm (tangential).",
        ),
        (
            Sawn.QUARTER,
            f"{SWING} the width of 300 mm grows by about 4.1 mm: quarter-sawn stock turned on edge, tangential "
            "coefficient. Flat-sawn stock swaps them: by about 2.6 mm (radial).",
        ),
    ],
)
def test_where_the_sawing_is_known_its_coefficient_comes_first(sawn: Sawn, sentence: str) -> None:
    text = boards_told(paper.EDGE_FILL, replace(paper.EDGE, width=mm("300")), replace(DEFAULT_WORKSHOP, sawn=sawn))
    assert text[1] == sentence


def test_strips_laid_flat_are_reported_so() -> None:
    text = boards_told(of("cherry", paper.FACE_FILL), replace(paper.FACE, width=mm("300")))
    assert text[1] == (
        f"{SWING} the width of 300 mm grows by about 3.7 mm if its strips are flat-sawn stock laid flat (tangential "
        "coefficient), by about 1.9 mm if quarter-sawn (radial)."
    )


def test_a_species_that_is_not_known_is_named() -> None:
    assert boards_told(of("driftwood", paper.EDGE_FILL), paper.EDGE) == (
        "Weight not known: none is on record here for driftwood.",
        "How far the width moves is not known: nothing is on record here for driftwood.",
    )
    assert boards_told(of("", paper.EDGE_FILL), paper.EDGE)[0] == (
        "Weight not known: none is on record here for wood whose species is not noted."
    )


def test_one_direction_that_is_not_on_record_is_named() -> None:
    text = boards_told(of("teak", paper.EDGE_FILL), paper.EDGE)
    assert text[1] == (
        f"{SWING} the width of 97 mm grows by an amount not known here for teak if its strips are flat-sawn stock "
        "turned on edge (radial coefficient), by about 0.9 mm if quarter-sawn (tangential)."
    )


def test_figures_from_total_shrinkage_and_beyond_the_coefficients_are_reported_as_rough() -> None:
    cherry = replace(paper.BANDED_FILL.cuts[1], offcut=replace(paper.CHERRY_STRIPE, species="sapele"))
    fill = replace(paper.BANDED_FILL, cuts=(paper.EDGE_CUT, cherry))
    workshop = replace(DEFAULT_WORKSHOP, dampest=Fraction(80))
    text = format_basis(finished_boards(fill, paper.BANDED_PLAN.request), workshop, MM)
    assert text[-1] == (
        f"{TABLE} They hold from 6 to 14 % moisture content; this swing goes beyond, so it is rough. From total "
        "shrinkage by equation 4-9, and rough, since sources differ on it: sapele (Chudnoff, Tropical Timbers of the "
        "World, USDA Agriculture Handbook 607 (1984))."
    )


def test_boards_that_differ_are_reported_from_the_least_to_the_most() -> None:
    glue_ups = tuple(PlannedGlueUp(number, 0, 0, paper.EDGE) for number in range(3))
    cuts = [replace(paper.EDGE_CUT, shares=(share,)) for share in _all_to(0, 1, 2)]
    request = replace(paper.EDGE, count=3)
    alike = replace(paper.EDGE_FILL, cuts=tuple(cuts), glue_ups=glue_ups)
    assert boards_told(alike, request) == (
        "Weight of each board about 0.78 kg.",
        f"{SWING} the width of 97 mm grows by about 0.8 mm if its strips are flat-sawn stock turned on edge (radial "
        "coefficient), by about 1.3 mm if quarter-sawn (tangential).",
    )
    cuts[1] = replace(cuts[1], offcut=paper.CHERRY)
    apart = replace(alike, cuts=tuple(cuts))
    assert boards_told(apart, request) == (
        "Weight of each board about 0.65 to 0.78 kg.",
        f"{SWING} the width of 97 mm grows by about 0.6 to 0.8 mm if its strips are flat-sawn stock turned on edge "
        "(radial coefficient), by about 1.2 to 1.3 mm if quarter-sawn (tangential).",
    )
    widths = [each for board in finished_boards(apart, request) for each in size_movements(board, DEFAULT_WORKSHOP)]
    assert format_movements(widths, Sawn.UNKNOWN, MM) == "0.6 to 1.3 mm"
    cuts[2] = replace(cuts[2], offcut=replace(paper.ASH, species="driftwood", tag="D"))
    assert boards_told(replace(alike, cuts=tuple(cuts)), request) == (
        "Weight of each board about 0.65 to 0.78 kg where known: none is on record here for driftwood.",
        f"{SWING} the width of 97 mm grows by an amount not known here for driftwood if its strips are flat-sawn stock "
        "turned on edge (radial coefficient), by an amount not known here for driftwood if quarter-sawn (tangential).",
    )


def test_boards_of_different_sizes_are_reported_apart() -> None:
    glue_ups = (PlannedGlueUp(0, 0, 0, paper.EDGE), PlannedGlueUp(1, 0, 0, replace(paper.EDGE, width=mm("90"))))
    cuts = tuple(replace(paper.EDGE_CUT, shares=(share,)) for share in _all_to(0, 1))
    text = boards_told(replace(paper.EDGE_FILL, cuts=cuts, glue_ups=glue_ups), paper.EDGE)
    assert [each.split(" grows")[0] for each in text[1:]] == [f"{SWING} the width of {size} mm" for size in (97, 90)]


def test_what_the_figures_rest_on_is_reported_once_for_all_fills() -> None:
    fills = (paper.EDGE_FILL, of("cherry", paper.EDGE_FILL))
    boards = [board for fill in fills for board in finished_boards(fill, paper.EDGE)]
    assert format_basis(boards, DEFAULT_WORKSHOP, MM) == (WEIGHTS, AIR, TABLE)
    driftwood = finished_boards(of("driftwood", paper.EDGE_FILL), paper.EDGE)
    assert format_basis(driftwood, DEFAULT_WORKSHOP, MM) == ()


# --- figures -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sawn", "display", "shown"),
    [
        (Sawn.UNKNOWN, MM, "2.6 to 4.1 mm"),
        (Sawn.FLAT, MM, "2.6 mm"),
        (Sawn.QUARTER, MM, "4.1 mm"),
        (Sawn.UNKNOWN, INCH, "3/32 to 5/32 in"),
    ],
)
def test_the_change_alone_is_a_range_where_the_sawing_is_not_known(sawn: Sawn, display: Display, shown: str) -> None:
    [board] = finished_boards(paper.for_request(paper.EDGE_FILL, WIDE), WIDE)
    assert format_movements(size_movements(board, DEFAULT_WORKSHOP), sawn, display) == shown


def test_a_change_that_is_half_known_is_not_known() -> None:
    [board] = finished_boards(of("teak", paper.EDGE_FILL), paper.EDGE)
    assert format_movements(size_movements(board, DEFAULT_WORKSHOP), Sawn.UNKNOWN, MM) == "not known"
    assert format_movements(size_movements(board, DEFAULT_WORKSHOP), Sawn.QUARTER, MM) == "0.9 mm"


@pytest.mark.parametrize(
    ("size", "display", "shown"),
    [
        (inches("1/64"), INCH, "1/64 in"),
        (inches("1/64") * 2 // 5, INCH, "under 1/64 in"),
        (mm("0.05"), MM, "0.1 mm"),
        (mm("0.04"), MM, "under 0.1 mm"),
    ],
)
def test_a_small_movement_is_reported_to_the_64th_or_the_tenth(size: int, display: Display, shown: str) -> None:
    assert format_movement(size, display) == shown


def test_a_tiny_board_is_reported_to_move_by_less_than_can_be_reported() -> None:
    text = boards_told(paper.EDGE_FILL, replace(paper.EDGE, width=mm("3")))
    assert text[1] == (
        f"{SWING} the width of 3 mm grows by under 0.1 mm if its strips are flat-sawn stock turned on edge (radial "
        "coefficient), by under 0.1 mm if quarter-sawn (tangential)."
    )


@pytest.mark.parametrize(
    ("celsius", "unit", "shown"),
    [("20", Unit.INCH, "68 °F"), ("21.1", Unit.INCH, "70 °F"), ("20", Unit.MILLIMETER, "20 °C")],
)
def test_a_temperature_is_shown_as_the_shop_reads_it(celsius: str, unit: Unit, shown: str) -> None:
    assert format_temperature(Fraction(celsius), unit) == shown


def test_a_weight_is_shown_in_pounds_or_kilograms() -> None:
    [board] = finished_boards(paper.for_request(paper.EDGE_FILL, WIDE), WIDE)
    assert (format_weights([board], INCH), format_weights([board], MM)) == (
        "about 5.3 lb",
        "about 2.4 kg",
    )
