"""The order of strips in a glue-up: one numbering for drawing, cut sheet and glue-up."""

import pytest

from inventory.core.lengths import inches
from inventory.layout.positions import GlueUpLayout
from inventory.layout.strip_layout import lay_out_fill
from tests.solver.hand_written import EDGE_BOARD, FACE_BOARD, make_edge_fill, make_face_fill

EDGE_FILL = lay_out_fill(make_edge_fill(), EDGE_BOARD)
FACE_FILL = lay_out_fill(make_face_fill(), FACE_BOARD)
[EDGE], [FACE] = EDGE_FILL.layouts, FACE_FILL.layouts
BOTH = pytest.mark.parametrize("layout", [EDGE, FACE], ids=["edge", "face"])


@BOTH
def test_strips_are_numbered_from_one_edge_to_the_other_without_a_gap(layout: GlueUpLayout) -> None:
    assert [strip.number for strip in layout.strips] == list(range(1, len(layout.strips) + 1))
    place = 0
    for strip in layout.strips:
        assert strip.start == place
        place = strip.end
    assert place == layout.width


def test_the_glue_up_is_as_wide_as_the_plan_says() -> None:
    assert EDGE.width == make_edge_fill().filled_width
    assert FACE.width == make_face_fill().filled_width


@BOTH
def test_letters_follow_across_the_board(layout: GlueUpLayout) -> None:
    assert list(dict.fromkeys(strip.letter for strip in layout.strips)) == sorted(
        {strip.letter for strip in layout.strips}
    )


@BOTH
def test_every_strip_has_its_number_in_the_list_of_its_piece(layout: GlueUpLayout) -> None:
    of_pieces = {(piece.letter, number) for piece in layout.pieces for number in piece.numbers}
    assert of_pieces == {(strip.letter, strip.number) for strip in layout.strips}
    for piece in layout.pieces:
        assert sum(piece.numbers_by_length, ()) == piece.numbers


@BOTH
def test_the_widest_strips_lie_outermost_where_the_sides_are_trimmed(layout: GlueUpLayout) -> None:
    widths = [run[0].width for run in layout.runs if not any(strip.part for strip in run)]
    assert min(layout.strips[0].width, layout.strips[-1].width) >= sorted(widths)[-2]


def test_strips_of_one_piece_lie_apart_and_the_board_looks_the_same_from_either_side() -> None:
    assert "".join(strip.letter for strip in EDGE.strips) == "ABABCBDAEBCBABA"
    assert EDGE.is_mirrored
    assert len(EDGE.runs) == len(EDGE.strips)


def test_strips_of_one_piece_are_numbered_as_they_come_off_the_saw() -> None:
    assert [(piece.letter, piece.numbers_by_length) for piece in EDGE.pieces] == [
        ("A", ((1, 3), (8, 13), (15,))),
        ("B", ((2, 4, 6), (10, 12, 14))),
        ("C", ((5, 11),)),
        ("D", ((7,),)),
        ("E", ((9,),)),
    ]


def test_a_part_of_a_length_keeps_its_number_in_the_length_it_is_ripped_from() -> None:
    [piece] = [piece for piece in FACE.pieces if piece.offcut.tag == "GGGGGG1"]
    part = [strip.number for strip in FACE.strips if strip.part]
    assert piece.numbers_by_length[-1] == tuple(part)


def test_like_pieces_of_a_bundle_are_reported_together() -> None:
    assert [[piece.letter for piece in group] for group in EDGE_FILL.identical_pieces] == [
        ["A"],
        ["B"],
        ["C"],
        ["D", "E"],
    ]


def test_what_is_trimmed_comes_off_both_sides_ends_and_faces_alike() -> None:
    assert EDGE.end_trims == (inches("1/2"), inches("1/2"))
    assert EDGE.face_trims == (inches("1/16"), inches("1/16"))
    left, right = EDGE.side_trims
    assert left + right + inches("12") == EDGE.width
    assert right - left in (0, 1)


def test_rips_and_crosscuts_are_those_that_take_wood_away() -> None:
    assert EDGE_FILL.crosscuts == 3 + 1 + 1 + 1 + 2
    assert EDGE_FILL.rips == 5 + 2 + 1 + 1 + 6
    assert FACE_FILL.rips == 2 + 0 + 1
