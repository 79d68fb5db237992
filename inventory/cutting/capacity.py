"""What one offcut can give, whatever board may come (cutting model, sections 4 and 5).

Knows strips turned on edge and laid flat, without a board's length. Sizes are Length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.core.lengths import Length
from inventory.core.offcuts import Allowances, Offcut
from inventory.cutting import edge_grain, face_grain
from inventory.cutting.alternatives import glue_up_for
from inventory.cutting.offcut_arrays import columns_of


@dataclass(frozen=True)
class OnEdge:
    """Strips turned on edge for a board of this finished thickness: how many across, and what they add."""

    board_thickness: Length
    strips: int
    adds: Length


@dataclass(frozen=True)
class Flat:
    """Strips laid flat: for boards up to this finished thickness, how many from a length, and what they add."""

    board_thickness: Length
    strips: int
    adds: Length


@dataclass(frozen=True)
class Gives:
    """What one piece gives: its clean thickness, and strips for each full length."""

    clean: Length
    on_edge: tuple[OnEdge, ...]
    flat: Flat | None


def what_it_gives(offcut: Offcut, allowances: Allowances, board_thicknesses: Sequence[Length]) -> Gives:
    """What one piece gives to boards of these finished thicknesses, one length crosscut from it."""
    columns = columns_of([offcut], allowances, date.min)
    clean = allowances.clean_thickness(offcut)
    on_edge = []
    for thickness in board_thicknesses:
        glue_up = glue_up_for(Length(1), Length(1), thickness, allowances)
        strips = int(edge_grain.strips_across(columns, glue_up)[0])
        if strips and clean >= max(allowances.thinnest_lamination, 1):
            on_edge.append(OnEdge(thickness, strips, Length(strips * clean)))
    flat = None
    board = Length(clean - allowances.flattening)
    if board > 0:
        adds = int(face_grain.length_adds(columns, glue_up_for(Length(1), Length(1), board, allowances))[0])
        if adds:
            strips = int(face_grain.strips_of_a_length(columns.width, allowances)[0])
            flat = Flat(board, strips, Length(adds))
    return Gives(Length(max(clean, 0)), tuple(on_edge), flat)
