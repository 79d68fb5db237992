"""Which construction serves which grain, and what the search may ask of it.

A new construction is a module beside `edge_grain` with these functions, and one
line here; the search needs no change.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Protocol

from inventory.cutting import accents, edge_grain, face_grain
from inventory.cutting.bands import Demand
from inventory.cutting.columns import Columns, Ints
from inventory.cutting.cuts import Cut
from inventory.cutting.offers import Closings, GlueUp, Misfits, Offers
from inventory.measures import Length
from inventory.pieces import Offcut


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
        return accents.edge_capacities(columns, glue_up, self.accent)

    def offers(self, columns: Columns, glue_up: GlueUp) -> Offers:
        return accents.edge_offers(columns, glue_up, self.accent, self.strips)

    def closings(self, columns: Columns, glue_up: GlueUp) -> Closings | None:
        return None

    def misfits(self, columns: Columns, glue_up: GlueUp) -> Misfits:
        return accents.edge_misfits(columns, glue_up, self.accent)

    def cuts(self, offcut: Offcut, piece: int, take: int, closing: Length | None, glue_up: GlueUp) -> tuple[Cut, ...]:
        return accents.edge_cuts(offcut, piece, take, glue_up, self.accent)


@dataclass(frozen=True)
class FaceAccent:
    """Narrow rips for an accent of `strips` strips, each `accent` wide, in face grain."""

    accent: Length
    strips: int

    def capacities(self, columns: Columns, glue_up: GlueUp) -> Ints:
        return accents.face_capacities(columns, glue_up, self.accent)

    def offers(self, columns: Columns, glue_up: GlueUp) -> Offers:
        return accents.face_offers(columns, glue_up, self.accent, self.strips)

    def closings(self, columns: Columns, glue_up: GlueUp) -> Closings | None:
        return None

    def misfits(self, columns: Columns, glue_up: GlueUp) -> Misfits:
        return accents.face_misfits(columns, glue_up, self.accent)

    def cuts(self, offcut: Offcut, piece: int, take: int, closing: Length | None, glue_up: GlueUp) -> tuple[Cut, ...]:
        return accents.face_cuts(offcut, piece, take, glue_up, self.accent)


def construction_for(grain: Grain, demand: Demand) -> Construction:
    """How this demand is served in a glue-up of this grain; an end-grain board has panels instead."""
    match grain:
        case Grain.EDGE:
            return edge_grain if demand.accent is None else EdgeAccent(demand.accent, demand.target)
        case Grain.FACE:
            return face_grain if demand.accent is None else FaceAccent(demand.accent, demand.target)
        case Grain.END:
            raise ValueError("an end-grain board is glued up from panels of edge or face grain")
