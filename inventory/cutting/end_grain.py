"""End-grain boards: panels, slices and rows (cutting model, section 6).

A panel is filled as an edge-grain or face-grain glue-up. Sizes are `Length`.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, inches, millimeters

MAX_PANELS = 12

# Thicknesses of hardwood surfaced on two sides, from 8/4 down to 3/4 in rough: NHLA standard thickness
# as reprinted in an engineering data table; Wood handbook (FPL-GTR-190), chapter 6.
STANDARD_DEPTHS_INCH = tuple(inches(text) for text in ("1 3/4", "1 1/2", "1 5/16", "1 1/16", "13/16", "9/16"))
# common practice, no source
STANDARD_DEPTHS_MM = tuple(millimeters(text) for text in ("45", "40", "35", "30", "25", "20", "15"))


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
