"""What one offcut can give to boards of any length and width (cutting model, sections 4 and 5).

Sizes are `Length`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting import edge_grain, face_grain
from inventory.cutting.alternatives import glue_up_spec
from inventory.cutting.rack_table import build_table


@dataclass(frozen=True)
class EdgeGrainCapacity:
    """Strips turned on edge for a board of this finished thickness: how many across, and what they add."""

    board_thickness: Length
    strips: int
    adds: Length


@dataclass(frozen=True)
class FaceGrainCapacity:
    """Strips laid flat: for boards up to this finished thickness, how many from one length, and what they add."""

    board_thickness: Length
    strips: int
    adds: Length


@dataclass(frozen=True)
class PieceCapacity:
    """What one piece gives: its clean thickness, and strips from one length."""

    clean: Length
    on_edge: tuple[EdgeGrainCapacity, ...]
    flat: FaceGrainCapacity | None


def piece_capacity(offcut: Offcut, allowances: Allowances, board_thicknesses: Sequence[Length]) -> PieceCapacity:
    """What one piece gives to boards of these finished thicknesses, from one length crosscut from it."""
    arrays = build_table([offcut]).arrays(allowances, date.min)
    clean = allowances.clean_thickness(offcut)
    on_edge = []
    for thickness in board_thicknesses:
        glue_up = glue_up_spec(Length(1), Length(1), thickness, allowances)
        strips = int(edge_grain.strips_across(arrays, glue_up)[0])
        if strips and clean >= max(allowances.thinnest_lamination, 1):
            on_edge.append(EdgeGrainCapacity(thickness, strips, Length(strips * clean)))
    flat = None
    board = Length(clean - allowances.flattening)
    if board > 0:
        adds = int(face_grain.width_per_length(arrays, glue_up_spec(Length(1), Length(1), board, allowances))[0])
        if adds:
            strips = int(face_grain.strips_per_length(arrays.width, allowances)[0])
            flat = FaceGrainCapacity(board, strips, Length(adds))
    return PieceCapacity(Length(max(clean, 0)), tuple(on_edge), flat)
