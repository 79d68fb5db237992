"""End-grain boards: panels, slices and rows (cutting model, section 6).

A panel is filled as an edge-grain or face-grain glue-up. Sizes are `Length`.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, Unit, inches, millimeters

MAX_PANELS = 12

# common practice, no source (cutting model, section 6)
STANDARD_DEPTHS = {
    Unit.INCH: tuple(inches(text) for text in ("2", "1 3/4", "1 1/2", "1 1/4", "1", "7/8", "3/4")),
    Unit.MILLIMETER: tuple(millimeters(text) for text in ("50", "45", "40", "35", "30", "25", "22", "20", "18")),
}


@dataclass(frozen=True)
class Panel:
    """One panel to be glued up, planed to `depth` and sliced into `rows` across its length.

    `length`, `width`, `depth` are its finished sizes; each slice is `slice_length` along
    the panel's grain, which becomes the rough thickness of the board.
    """

    rows: int
    length: Length
    width: Length
    depth: Length
    slice_length: Length


def rows_needed(length: Length, depth: Length, allowances: Allowances) -> int:
    """`R`: how many rows of this depth make the board's length and its trim."""
    return -(-(length + allowances.side_trim) // depth)


def panels_for(
    length: Length, width: Length, thickness: Length, depth: Length, panels: int, allowances: Allowances
) -> tuple[Panel, ...]:
    """The panels of a board of these finished sizes, rows divided as evenly as possible, the longest first."""
    rows = rows_needed(length, depth, allowances)
    panels = min(panels, rows)
    slice_length = Length(thickness + allowances.flattening)
    made = []
    for number in range(panels):
        here = rows // panels + (number < rows % panels)
        along = Length(here * slice_length + (here - 1) * allowances.crosscut_kerf)
        made.append(Panel(here, along, width, depth, slice_length))
    return tuple(made)
