"""Which construction serves which grain, and what the search may ask of it.

A new construction is a module beside `edge_grain` with these functions, and one
line here; the search needs no change.
"""

from __future__ import annotations

from enum import Enum
from typing import Protocol

from inventory.cutting import edge_grain, face_grain
from inventory.cutting.columns import Columns, Ints
from inventory.cutting.cuts import Cut
from inventory.cutting.offers import Closings, GlueUp, Misfits, Offers
from inventory.measures import Length
from inventory.pieces import Offcut


class Grain(Enum):
    """Which grain the board shows; the values are the contract's words."""

    EDGE = "edge"
    FACE = "face"


class Construction(Protocol):
    """How strips are won from offcuts for one kind of glue-up."""

    def capacities(self, columns: Columns, glue_up: GlueUp) -> Ints: ...

    def offers(self, columns: Columns, glue_up: GlueUp) -> Offers: ...

    def closings(self, columns: Columns, glue_up: GlueUp) -> Closings | None: ...

    def misfits(self, columns: Columns, glue_up: GlueUp) -> Misfits: ...

    def cuts(
        self, offcut: Offcut, piece: int, take: int, closing: Length | None, glue_up: GlueUp
    ) -> tuple[Cut, ...]: ...


def construction_for(grain: Grain) -> Construction:
    """The construction of this grain."""
    match grain:
        case Grain.EDGE:
            return edge_grain
        case Grain.FACE:
            return face_grain
