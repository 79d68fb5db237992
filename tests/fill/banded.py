"""Boards of bands and a small rack that fills them, laid out."""

from __future__ import annotations

from dataclasses import replace

from inventory.core.lengths import inches
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.bands import Band, FieldBand, StripeBand, mirrored
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest, Grain
from inventory.layout.positions import FillLayout
from inventory.layout.strip_layout import lay_out_fill
from inventory.orders.answer import fill_rack
from tests.solver.hand_written import DAY, make_offcut

CHERRY_LINES: tuple[Band, ...] = mirrored(
    (FieldBand(("ash",)), StripeBand(("cherry",), 2, inches("1/4")), FieldBand(("walnut",), 2))
)
STRIPED = BoardRequest(inches("18"), inches("12"), inches("1 1/2"), Grain.EDGE, CHERRY_LINES, fills=1, on=DAY)
PLAIN = replace(STRIPED, bands=())
# A wide strip may fill several fields of one pool at once, so that one gets none; narrower strips leave each its own.
FLAT = replace(
    STRIPED,
    grain=Grain.FACE,
    thickness=inches("3/4"),
    allowances=replace(STRIPED.allowances, max_strip_width=inches("4")),
)

RACK = [
    make_offcut("41", "5 1/4", "13/16", "ash", "AAAAAA1"),
    make_offcut("22", "3 1/2", "15/16", "ash", "BBBBBB1", Face.ROUGH, Face.ROUGH),
    make_offcut("30", "6", "1", "ash", "CCCCCC1"),
    make_offcut("24", "4", "1", "cherry", "DDDDDD1"),
    make_offcut("40", "7", "1 1/8", "walnut", "EEEEEE1", count=2),
    make_offcut("21", "5", "7/8", "walnut", "FFFFFF1"),
    make_offcut("60", "6", "1", "hard maple", "GGGGGG1", count=4),
]


def first_fill(request: BoardRequest, rack: list[Offcut] = RACK) -> tuple[Fill, FillLayout]:
    """The first fill that the rack gives, and how it is laid out."""
    plan = fill_rack(rack, request)
    assert plan.fills, plan.shortfall
    return plan.fills[0], lay_out_fill(plan.fills[0], plan.request)
