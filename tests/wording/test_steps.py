"""The work in words: what is done to each piece and to the glue-up."""

from dataclasses import replace

from inventory.core.allowances import Allowances
from inventory.core.lengths import Display, Length, Nearest, inches
from inventory.core.offcuts import Face, Mark
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.fill.request import Grain, PanelSpec
from inventory.layout.end_grain_rows import sliced_boards
from inventory.wording.steps import glue_up_steps, piece_steps, second_glue_up_steps
from tests.fill.banded import STRIPED, first_fill
from tests.solver.hand_written import (
    EDGE_BOARD,
    FACE_BOARD,
    lay_out_glue_up,
    make_edge_fill,
    make_face_fill,
    make_fill,
    make_offcut,
)

FINE = Display(Nearest.THIRTY_SECOND)
EDGE = lay_out_glue_up(make_edge_fill(), EDGE_BOARD)
FACE = lay_out_glue_up(make_face_fill(), FACE_BOARD)


def test_an_edge_grain_piece_is_crosscut_flattened_and_ripped_length_by_length() -> None:
    assert piece_steps([EDGE.pieces[0]], EDGE, FINE).all == (
        "Crosscut 3 lengths of 19 in from one end. Left: 39 1/8 in × 3 3/4 in, keep it.",
        "Take 1/16 in off face A (rough) and 1/32 in off face B (old finish): 29/32 in of 1 in is left.",
        "Lengths 1 and 2, each: joint one edge, then rip 2 strips 1 5/8 in wide: strips 1 and 3, then 8 and 13. "
        "Left: 19 in × 7/32 in, not kept.",
        "Length 3: joint one edge, then rip one strip 1 5/8 in wide: strip 15. Left: 19 in × 1 31/32 in, keep it.",
    )


def test_like_pieces_of_a_bundle_are_reported_once_with_each_ones_strips() -> None:
    assert piece_steps(EDGE.pieces[3:5], EDGE, FINE).all == (
        "Crosscut one length of 19 in from one end. Left: 1 7/8 in × 2 1/4 in, not kept.",
        "Both faces count as flat and bare: 3/4 in thick.",
        "Joint one edge, then rip one strip 1 5/8 in wide: 7 from D, 9 from E. Left: 19 in × 15/32 in, not kept.",
    )


def test_a_face_grain_piece_is_ripped_to_equal_strips_and_jointed() -> None:
    [piece] = [piece for piece in FACE.pieces if piece.offcut.species == "walnut"]
    assert piece_steps([piece], FACE, FINE).rip == (
        "Lengths 1 and 2, each: rip 2 equal strips 3 11/16 in wide and joint both edges to 3 5/8 in each: "
        "strips 1 and 3, then 5 and 7.",
    )


def test_a_part_of_a_length_is_ripped_from_a_length_of_its_own() -> None:
    [piece] = [piece for piece in FACE.pieces if piece.offcut.tag == "GGGGGG1"]
    whole, part = piece_steps([piece], FACE, FINE).rip
    assert whole == "Length 1: leave it whole and joint both edges to 2 7/16 in: strip 6."
    assert part == (
        "Length 2: rip one strip 7/8 in wide and joint both edges to 13/16 in: strip 4. "
        "Left: 37 in × 1 1/2 in, keep it."
    )


def test_a_piece_as_long_as_a_strip_is_not_crosscut() -> None:
    fill = make_fill(EDGE_BOARD, [(make_offcut("19", "2", "1", "ash", "AAAAAA1"), 1, 1, None)])
    layout = lay_out_glue_up(fill, EDGE_BOARD)
    assert piece_steps(layout.pieces, layout, FINE).crosscut == "It is 19 in long, just as needed: no crosscut."


def test_lengths_too_short_for_machines_are_flattened_and_jointed_before_they_are_cut_off() -> None:
    request = replace(EDGE_BOARD, length=inches("10"))
    layout = lay_out_glue_up(make_fill(request, [(make_offcut("30", "2", "1", "ash", "AAAAAA1"), 1, 1, None)]), request)
    assert piece_steps(layout.pieces, layout, FINE).crosscut == (
        "Crosscut one length of 11 in from one end. Left: 18 7/8 in × 2 in, keep it. "
        "So short, it goes over no jointer and through no planer: flatten and joint the piece before this crosscut, "
        "or by hand after it."
    )


def test_metal_is_looked_for_first_at_the_piece_that_has_it_and_at_no_other() -> None:
    marked = replace(make_offcut("19", "2", "1", "ash", "AAAAAA1"), marks=(Mark.METAL, Mark.KNOTS))
    plain = make_offcut("19", "2", "1", "ash", "BBBBBB1")
    layout = lay_out_glue_up(make_fill(EDGE_BOARD, [(marked, 1, 1, None), (plain, 1, 1, None)]), EDGE_BOARD)
    first = {piece.offcut.tag: piece_steps([piece], layout, FINE).all[0] for piece in layout.pieces}
    assert first == {
        "AAAAAA1": "Metal was found in this piece: find all of it with a detector, and take it out before a blade "
        "touches the wood.",
        "BBBBBB1": "It is 19 in long, just as needed: no crosscut.",
    }


def test_oily_strips_are_wiped_just_before_the_glue_up() -> None:
    oily = replace(make_offcut("44", "5 1/4", "13/16", "teak", "AAAAAA1"), marks=(Mark.OILY,))
    fill = make_fill(EDGE_BOARD, [(oily, 1, 2, None), (make_offcut("19", "2", "1", "ash", "BBBBBB1"), 1, 1, None)])
    layout = lay_out_glue_up(fill, EDGE_BOARD)
    numbers = sorted(strip.number for strip in layout.strips if strip.offcut.tag == "AAAAAA1")
    steps = glue_up_steps(layout, FINE)
    wiped = (
        f"Wipe the faces to be glued of strips {numbers[0]} and {numbers[1]} with solvent just before the glue-up, "
        "freshly cut as they are: their wood is oily."
    )
    assert steps[steps.index(wiped) + 1].startswith("Try the clamps dry, then glue up")
    assert not any("solvent" in step for step in glue_up_steps(EDGE, FINE))


def test_a_shop_that_joints_nothing_is_not_reported_to() -> None:
    request = replace(EDGE_BOARD, allowances=Allowances(edge_jointing=Length(0)))
    layout = lay_out_glue_up(make_fill(request, [(make_offcut("20", "4", "1", "ash", "AAAAAA1"), 1, 2, None)]), request)
    assert piece_steps(layout.pieces, layout, FINE).rip == (
        "Rip 2 strips 1 5/8 in wide: strips 1 and 2. Left: 19 in × 1/2 in, not kept.",
    )


def test_the_edge_grain_glue_up_in_order() -> None:
    assert glue_up_steps(EDGE, FINE) == (
        "Turn the strips on edge and lay strips 1 to 15 in order as drawn, face against face.",
        "A suggestion: where the ends show curved growth rings, let the curves point to the left and to the right in "
        "turn, strip by strip, so that the board cups less as a whole.",
        "Try the clamps dry, then glue up: 14 glue lines, 12 17/32 in wide. "
        "The glue's own sheet says how long it stays open and how long it is clamped.",
        "Flatten both faces, 1/16 in off each: 1 1/2 in thick.",
        "Joint the two sides, 17/64 in off each: 12 in wide.",
        "Trim the two ends, 1/2 in off each: 18 in long.",
    )


def test_strips_laid_flat_are_planed_alike_first() -> None:
    first, second, *_ = glue_up_steps(FACE, FINE)
    assert (first, second) == (
        "Plane all strips to 1 in thick.",
        "Lay strips 1 to 7 flat in order as drawn, edge against edge.",
    )


def test_a_board_of_one_strip_needs_no_glue() -> None:
    fill = make_fill(FACE_BOARD, [(make_offcut("38", "3", "1", "ash", "AAAAAA1", Face.PLANED), 1, 1, None)])
    assert not any("glue" in step for step in glue_up_steps(lay_out_glue_up(fill, FACE_BOARD), FINE))


def test_leaves_are_resawn_on_the_band_saw_with_the_caution_for_thin_stock() -> None:
    _, laid = first_fill(STRIPED)
    [cherry] = [piece for piece in laid.pieces if piece.offcut.species == "cherry"]
    steps = piece_steps([cherry], laid.layouts[0], FINE)
    assert steps.rip == (
        "Joint one edge, then rip 2 strips 1 5/8 in wide, to be resawn. Left: 19 in × 15/32 in, not kept.",
    )
    assert steps.resaw == (
        "Resaw one of the strips on the band saw into 3 leaves 9/32 in thick, and clean each to 1/4 in: "
        "strips 4, 5 and 11. Leaves go through a planer only on a carrier board, and only if its manual allows "
        "stock so thin.",
        "Resaw one of the strips on the band saw into one leaf 9/32 in thick, and clean it to 1/4 in: "
        "strip 12. Leaves go through a planer only on a carrier board, and only if its manual allows stock so thin.",
    )


def test_a_thin_face_stripe_is_ripped_where_thin_rips_may_be() -> None:
    thin = replace(STRIPED, grain=Grain.FACE, width=inches("10"), thickness=inches("3/4"), bands=(
        FieldBand(("ash",)), StripeBand(("cherry",), 1, inches("1/8")), FieldBand(("walnut",)),
    ))  # fmt: skip
    _, laid = first_fill(thin)
    [cherry] = [piece for piece in laid.pieces if piece.offcut.species == "cherry"]
    [number] = cherry.numbers
    assert piece_steps([cherry], laid.layouts[0], FINE).rip == (
        f"Rip one strip 3/16 in wide and joint both edges to 1/8 in: strip {number}. Thin rips: on the band saw or "
        "with a guide made for thin rips, and never under 1/8 in (3 mm) on a table saw. "
        "Left: 19 in × 3 11/16 in, keep it.",
    )


def test_the_second_glue_up_of_an_end_grain_board_in_order() -> None:
    panels = PanelSpec(Grain.EDGE, 2, inches("1 3/4"))
    _, laid = first_fill(replace(STRIPED, bands=(), grain=Grain.END, panel=panels))
    [board] = sliced_boards(laid)
    steps = second_glue_up_steps(board, FINE)
    assert steps[0] == (
        "Crosscut the 2 panels into 11 slices of 1 5/8 in, and number them. A slice is short along the "
        "grain: carry it past the blade on a sled or a mitre gauge, with a stop that is clear of the blade."
    )
    assert steps[1:] == (
        "Turn every slice up, so that its end grain shows: each is now 1 3/4 in of the board's length.",
        "Turn every second slice end for end, 2, 4, 6, 8 and 10, so that no glue line runs on through two rows.",
        "Try the clamps dry, then glue up the second time: 10 glue lines, 19 1/4 in long.",
        "Flatten both faces to 1 1/2 in thick by sanding, or with a router on a sled: end grain in a planer can break "
        "out or be thrown back, unless the planer's manual allows it.",
        "Trim the two sides, 1/16 in off each: 12 in wide.",
        "Trim the first and the last row, 5/8 in off each: 18 in long.",
    )
