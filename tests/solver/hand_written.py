"""Fills written by hand, for tests of layout, wording, drawings and pages."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, inches, volume_mm3
from inventory.core.offcuts import Face, Offcut
from inventory.cutting import edge_grain, face_grain
from inventory.cutting.costs import Preference
from inventory.fill.plan import Fill, PlannedGlueUp
from inventory.fill.request import BoardRequest, Grain
from inventory.layout.positions import GlueUpLayout
from inventory.layout.strip_layout import lay_out_fill

DAY = date(2030, 1, 31)

EDGE_BOARD = BoardRequest(inches("18"), inches("12"), inches("1 1/2"), Grain.EDGE, on=DAY)
FACE_BOARD = BoardRequest(
    inches("36"), inches("20"), inches("7/8"), Grain.FACE, on=DAY, allowances=Allowances(max_strip_width=inches("4"))
)

TakenPiece = tuple[Offcut, int, int, Length | None]
"""An offcut, the number of the piece, strips (face grain: whole lengths) taken, the width of a part of a length."""


def make_offcut(
    length: str,
    width: str,
    thickness: str,
    species: str,
    tag: str,
    face_a: Face = Face.PLANED,
    face_b: Face = Face.PLANED,
    count: int = 1,
    location: str = "wall 2",
) -> Offcut:
    """An offcut in inches, planed unless said otherwise."""
    sizes = (inches(length), inches(width), inches(thickness))
    return Offcut(*sizes, species, face_a, face_b, count, tag, location, date(2029, 6, 1))


def make_fill(request: BoardRequest, takes: Sequence[TakenPiece]) -> Fill:
    """The fill that takes exactly these pieces."""
    construction = edge_grain if request.grain is Grain.EDGE else face_grain
    cuts = [cut for take in takes for cut in construction.cuts(*take, request.glue_up)]
    return Fill(
        prefer=Preference.LEAST_WASTE,
        proven=True,
        bound=0,
        cuts=tuple(cuts),
        board_volume=volume_mm3(request.length, request.width, request.thickness),
        glue_ups=(PlannedGlueUp(0, 0, 0, request),),
    )


def make_edge_fill() -> Fill:
    """Fifteen strips on edge from five pieces of three species, two of them from one bundle."""
    bundle = make_offcut("21", "2 1/4", "3/4", "white oak", "DDDDDD1", count=3)
    return make_fill(
        EDGE_BOARD,
        [
            (make_offcut("44", "5 1/4", "13/16", "ash", "AAAAAA1"), 1, 6, None),
            (make_offcut("96 1/2", "3 3/4", "1", "cherry", "BBBBBB1", Face.ROUGH, Face.FINISHED), 1, 5, None),
            (make_offcut("20", "4", "15/16", "ash", "CCCCCC1", Face.ROUGH, Face.ROUGH), 1, 2, None),
            (bundle, 1, 1, None),
            (bundle, 2, 1, None),
        ],
    )


def make_face_fill() -> Fill:
    """Seven strips laid flat from three pieces; the last gives a whole length and a part of one."""
    return make_fill(
        FACE_BOARD,
        [
            (make_offcut("80", "7 1/2", "1 1/4", "walnut", "EEEEEE1"), 1, 2, None),
            (make_offcut("38", "2 9/16", "1 1/8", "ash", "FFFFFF1"), 1, 1, None),
            (make_offcut("84", "2 1/2", "1 1/8", "ash", "GGGGGG1"), 1, 1, inches("13/16")),
        ],
    )


def lay_out_glue_up(fill: Fill, request: BoardRequest) -> GlueUpLayout:
    """The proposed layout of a fill of one glue-up."""
    [layout] = lay_out_fill(fill, request).layouts
    return layout
