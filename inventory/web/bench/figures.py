"""The figures of an option as (term, value): what it costs, and what work it is.

All options of a request have the same terms.
"""

from __future__ import annotations

from collections.abc import Sequence

from inventory.core.lengths import Display, Unit, exact_text, format_volume
from inventory.core.offcuts import Face
from inventory.core.workshop import Workshop
from inventory.cutting.bands import StripeBand
from inventory.layout.finished_board import FinishedBoard, size_movements
from inventory.layout.operations import Operations
from inventory.layout.positions import FillLayout
from inventory.wording.effort_text import format_glue_spreads, format_known_weights, format_movements

MM2_PER_SQUARE_FOOT = 92_903.04
"""1 ft = 304.8 mm exactly (NIST Special Publication 811, Appendix B.6; from memory)."""

Figures = tuple[tuple[str, str], ...]


def option_figures(
    fill_layout: FillLayout,
    operations: Operations,
    boards: Sequence[FinishedBoard],
    workshop: Workshop,
    display: Display,
) -> Figures:
    """The figures of a fill as it is laid out, with its work and its boards."""
    return (
        *_wood_and_cuts(fill_layout, display),
        *_work_and_boards(fill_layout, operations, boards, workshop, display),
    )


def _wood_and_cuts(fill_layout: FillLayout, display: Display) -> Figures:
    fill, unit = fill_layout.fill, display.unit
    offcuts = dict.fromkeys((cut.offcut, cut.piece) for cut in fill.cuts)
    faces = [face for offcut, _ in offcuts for face in offcut.faces]
    return (
        ("Yield", f"{fill.yield_share * 100:.0f} %"),
        ("Wood off the rack", format_volume(fill.loss, unit)),
        ("Waste", format_volume(fill.waste, unit)),
        ("Offcuts", str(fill.pieces)),
        ("Strips", strip_count_text(fill_layout)),
        ("Rips", str(fill_layout.rips)),
        ("Crosscuts", str(fill_layout.crosscuts)),
        *([("Resaws", str(fill_layout.resaws))] if _has_stripes(fill_layout) else []),
        *_slices_and_glue_lines(fill_layout, display),
        ("Rough faces to flatten", str(faces.count(Face.ROUGH))),
        ("Faces with old finish", str(faces.count(Face.FINISHED))),
        ("Area to flatten or strip", _area_text(fill.milling_area, unit)),
    )


def _work_and_boards(
    fill_layout: FillLayout,
    operations: Operations,
    boards: Sequence[FinishedBoard],
    workshop: Workshop,
    display: Display,
) -> Figures:
    movements = [movement for board in boards for movement in size_movements(board, workshop)]
    return (
        ("Fence set-ups", str(len(operations.fence))),
        ("Stop set-ups", str(len(operations.stop))),
        *([("Resaw set-ups", str(len(operations.resaw)))] if _has_stripes(fill_layout) else []),
        ("Glue spread", format_glue_spreads(operations)),
        ("Board's weight", format_known_weights(boards, display)),
        *(
            (
                f"{name.capitalize()} moves by",
                format_movements([each for each in movements if each.name == name], workshop.sawn, display),
            )
            for name in dict.fromkeys(each.name for each in movements)
        ),
    )


def _has_stripes(fill_layout: FillLayout) -> bool:
    return any(isinstance(band, StripeBand) for band in fill_layout.request.bands)


def _slices_and_glue_lines(fill_layout: FillLayout, display: Display) -> Figures:
    """The glue lines; of end grain the slices and their depth too, and the glue lines of both glue-ups."""
    glue_lines = str(fill_layout.fill.glue_lines)
    panels = [glue_up for glue_up in fill_layout.fill.glue_ups if glue_up.rows]
    if not panels:
        return (("Glue lines", glue_lines),)
    slices = sum(panel.rows for panel in panels)
    between = slices - len({panel.board for panel in panels})
    first = "the panel" if len(panels) == 1 else "the panels"
    depths = {panel.request.thickness: exact_text(panel.request.thickness, display.unit) for panel in panels}
    return (
        ("Slices", str(slices)),
        ("Row depth", ", ".join(depths.values())),
        ("Glue lines", f"{glue_lines} in {first}, {between} between rows"),
    )


def strip_count_text(fill_layout: FillLayout) -> str:
    """How many strips are ripped; where some are resawn to leaves, or are spare, how many are glued up too."""
    ripped, glued = fill_layout.fill.strips, len(fill_layout.strips)
    return str(ripped) if glued == ripped else f"{ripped} ripped, {glued} glued up"


def _area_text(mm2: int, unit: Unit) -> str:
    return f"{mm2 / MM2_PER_SQUARE_FOOT:.1f} sq ft" if unit is Unit.INCH else f"{mm2 / 1e6:.2f} m²"
