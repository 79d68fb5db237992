"""Where the cuts fall on a piece: in millimeters and inches, edge and face grain."""

from dataclasses import replace

import pytest

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, inches
from inventory.cutting.marking_out import MarkedPiece, RegionUse, mark_edge_grain, mark_face_grain
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest, Grain
from tests.solver.hand_written import EDGE_BOARD, FACE_BOARD, make_edge_fill, make_face_fill, make_fill, make_offcut

PLAIN = Allowances()


def marked(fill: Fill, request: BoardRequest) -> list[MarkedPiece]:
    keys = list(dict.fromkeys((cut.offcut.tag, cut.piece) for cut in fill.cuts))
    pieces = []
    for key in keys:
        cuts = [cut for cut in fill.cuts if (cut.offcut.tag, cut.piece) == key]
        if request.grain is Grain.EDGE:
            pieces.append(mark_edge_grain(cuts, request.glue_up))
        else:
            pieces.append(mark_face_grain(cuts, request.glue_up))
    return pieces


BOTH = pytest.mark.parametrize(
    ("fill", "request_"), [(make_edge_fill(), EDGE_BOARD), (make_face_fill(), FACE_BOARD)], ids=["edge", "face"]
)


@BOTH
def test_the_marks_cover_each_piece_once_to_the_nanometer(fill: Fill, request_: BoardRequest) -> None:
    for piece in marked(fill, request_):
        area = sum(region.length * region.width for region in piece.regions)
        assert area == piece.offcut.length * piece.offcut.width


@BOTH
def test_what_is_left_on_the_drawing_is_what_the_plan_leaves(fill: Fill, request_: BoardRequest) -> None:
    for piece in marked(fill, request_):
        planned = [
            (each.length, each.width, each.kept)
            for cut in fill.cuts
            if (cut.offcut.tag, cut.piece) == (piece.offcut.tag, piece.piece)
            for each in cut.leftovers
        ]
        drawn = [(each.length, each.width, each.use is RegionUse.KEPT) for each in piece.leftovers]
        assert sorted(drawn) == sorted(planned)


@BOTH
def test_every_strip_of_the_plan_is_marked(fill: Fill, request_: BoardRequest) -> None:
    pieces = marked(fill, request_)
    assert sum(len(length.strips) for piece in pieces for length in piece.lengths) == fill.strips
    for piece in pieces:
        numbers = [region.strip for region in piece.regions if region.use is RegionUse.STRIP]
        assert numbers == list(range(len(numbers)))


def test_an_edge_grain_length_is_jointed_then_ripped_with_a_kerf_after_each_strip() -> None:
    fill = make_fill(EDGE_BOARD, [(make_offcut("20", "4", "1", "ash", "AAAAAA1"), 1, 2, None)])
    [piece] = marked(fill, EDGE_BOARD)
    [length] = piece.lengths
    assert [(region.use, region.across, region.width) for region in length.regions] == [
        (RegionUse.JOINTED, 0, inches("1/32")),
        (RegionUse.STRIP, inches("1/32"), inches("1 5/8")),
        (RegionUse.RIP_KERF, inches("1 21/32"), inches("1/8")),
        (RegionUse.STRIP, inches("1 25/32"), inches("1 5/8")),
        (RegionUse.RIP_KERF, inches("3 13/32"), inches("1/8")),
        (RegionUse.WASTE, inches("3 17/32"), inches("15/32")),
    ]
    assert (piece.rips, piece.crosscuts) == (2, 1)


@pytest.mark.parametrize(
    ("width", "rips"),
    [
        (inches("3 13/32"), 1),
        (Length(inches("3 13/32") + 1), 2),
    ],
)
def test_a_last_strip_that_ends_at_the_edge_needs_no_rip(width: Length, rips: int) -> None:
    offcut = replace(make_offcut("20", "4", "1", "ash", "AAAAAA1"), width=width)
    [piece] = marked(make_fill(EDGE_BOARD, [(offcut, 1, 2, None)]), EDGE_BOARD)
    assert piece.rips == rips


def test_a_piece_just_one_length_long_needs_no_crosscut() -> None:
    offcut = make_offcut("19", "4", "1", "ash", "AAAAAA1")
    [piece] = marked(make_fill(EDGE_BOARD, [(offcut, 1, 1, None)]), EDGE_BOARD)
    assert (piece.crosscuts, piece.leftover) == (0, None)


def test_a_face_grain_length_is_ripped_to_equal_strips_between_kerfs() -> None:
    fill = make_fill(FACE_BOARD, [(make_offcut("37", "7 1/2", "1", "ash", "AAAAAA1"), 1, 1, None)])
    [piece] = marked(fill, FACE_BOARD)
    [length] = piece.lengths
    assert [(region.use, region.width) for region in length.regions] == [
        (RegionUse.STRIP, inches("3 11/16")),
        (RegionUse.RIP_KERF, inches("1/8")),
        (RegionUse.STRIP, inches("3 11/16")),
    ]
    assert (length.ripped, length.glued_width) == (inches("3 11/16"), inches("3 5/8"))


def test_strips_that_do_not_divide_evenly_differ_by_a_nanometer_at_most() -> None:
    offcut = replace(make_offcut("37", "12", "1", "ash", "AAAAAA1"), width=Length(inches("12") + 1))
    [piece] = marked(make_fill(FACE_BOARD, [(offcut, 1, 1, None)]), FACE_BOARD)
    widths = {strip.width for strip in piece.lengths[0].strips}
    assert max(widths) - min(widths) == 1


def test_a_part_of_a_length_comes_from_the_last_length_with_its_jointing_on() -> None:
    [*_, piece] = marked(make_face_fill(), FACE_BOARD)
    whole, part = piece.lengths
    assert (whole.part, part.part) == (False, True)
    assert part.ripped == inches("13/16") + 2 * PLAIN.edge_jointing
    assert part.glued_width == inches("13/16")
    assert part.leftover is not None
    assert part.leftover.width == inches("2 1/2") - part.ripped - PLAIN.rip_kerf
