"""Which construction serves which grain, and what the search may ask of it.

A new construction is a module beside `edge_grain` with these functions, and one
line here; the search needs no change.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Protocol

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting import edge_grain, face_grain, stripes
from inventory.cutting.alternatives import Closings, GlueUp, Misfits, Offers
from inventory.cutting.bands import Demand
from inventory.cutting.cuts import Cut
from inventory.cutting.offcut_arrays import Columns, Ints


class Grain(Enum):
    """Which grain the board shows; the values are the contract's words."""

    EDGE = "edge"
    FACE = "face"
    END = "end"


class Construction(Protocol):
    """How strips are won from offcuts for one kind of demand; `adds` is counted in what the demand asks."""

    def capacities(self, columns: Columns, glue_up: GlueUp) -> Ints: ...

    def offers(self, columns: Columns, glue_up: GlueUp) -> Offers: ...

    def closings(self, columns: Columns, glue_up: GlueUp) -> Closings | None: ...

    def misfits(self, columns: Columns, glue_up: GlueUp) -> Misfits: ...

    def cuts(
        self, offcut: Offcut, piece: int, take: int, closing: Length | None, glue_up: GlueUp
    ) -> tuple[Cut, ...]: ...


@dataclass(frozen=True)
class EdgeAccent:
    """Leaves `accent` wide for an accent of `strips` strips in edge grain."""

    accent: Length
    strips: int

    def capacities(self, columns: Columns, glue_up: GlueUp) -> Ints:
        return stripes.edge_capacities(columns, glue_up, self.accent)

    def offers(self, columns: Columns, glue_up: GlueUp) -> Offers:
        return stripes.edge_offers(columns, glue_up, self.accent, self.strips)

    def closings(self, columns: Columns, glue_up: GlueUp) -> Closings | None:
        return None

    def misfits(self, columns: Columns, glue_up: GlueUp) -> Misfits:
        return stripes.edge_misfits(columns, glue_up, self.accent)

    def cuts(self, offcut: Offcut, piece: int, take: int, closing: Length | None, glue_up: GlueUp) -> tuple[Cut, ...]:
        return stripes.edge_cuts(offcut, piece, take, glue_up, self.accent)


@dataclass(frozen=True)
class FaceAccent:
    """Narrow rips for an accent of `strips` strips, each `accent` wide, in face grain."""

    accent: Length
    strips: int

    def capacities(self, columns: Columns, glue_up: GlueUp) -> Ints:
        return stripes.face_capacities(columns, glue_up, self.accent)

    def offers(self, columns: Columns, glue_up: GlueUp) -> Offers:
        return stripes.face_offers(columns, glue_up, self.accent, self.strips)

    def closings(self, columns: Columns, glue_up: GlueUp) -> Closings | None:
        return None

    def misfits(self, columns: Columns, glue_up: GlueUp) -> Misfits:
        return stripes.face_misfits(columns, glue_up, self.accent)

    def cuts(self, offcut: Offcut, piece: int, take: int, closing: Length | None, glue_up: GlueUp) -> tuple[Cut, ...]:
        return stripes.face_cuts(offcut, piece, take, glue_up, self.accent)


def construction_for(grain: Grain, demand: Demand) -> Construction:
    """How this demand is served in a glue-up of this grain; an end-grain board has panels instead."""
    match grain:
        case Grain.EDGE:
            return edge_grain if demand.accent is None else EdgeAccent(demand.accent, demand.target)
        case Grain.FACE:
            return face_grain if demand.accent is None else FaceAccent(demand.accent, demand.target)
        case Grain.END:
            raise ValueError("an end-grain board is glued up from panels of edge or face grain")
