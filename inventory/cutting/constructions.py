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
from inventory.cutting.alternatives import CutAlternatives, GlueUpSpec, Misfits, PartialAlternatives
from inventory.cutting.bands import Demand
from inventory.cutting.cuts import Cut
from inventory.cutting.offcut_arrays import IntArray, RackArrays


class Grain(Enum):
    """Which grain the board shows; the values are the contract's words."""

    EDGE = "edge"
    FACE = "face"
    END = "end"


class Construction(Protocol):
    """How strips are won from offcuts for one kind of demand; `adds` is counted in what the demand asks."""

    def capacities(self, arrays: RackArrays, glue_up: GlueUpSpec) -> IntArray: ...

    def alternatives(self, arrays: RackArrays, glue_up: GlueUpSpec) -> CutAlternatives: ...

    def partial_alternatives(self, arrays: RackArrays, glue_up: GlueUpSpec) -> PartialAlternatives | None: ...

    def misfits(self, arrays: RackArrays, glue_up: GlueUpSpec) -> Misfits: ...

    def cuts(
        self, offcut: Offcut, piece: int, take: int, closing: Length | None, glue_up: GlueUpSpec
    ) -> tuple[Cut, ...]: ...


@dataclass(frozen=True)
class EdgeStripe:
    """Leaves `stripe` wide for an accent of `strips` strips in edge grain."""

    stripe: Length
    strips: int

    def capacities(self, arrays: RackArrays, glue_up: GlueUpSpec) -> IntArray:
        return stripes.edge_capacities(arrays, glue_up, self.stripe)

    def alternatives(self, arrays: RackArrays, glue_up: GlueUpSpec) -> CutAlternatives:
        return stripes.edge_alternatives(arrays, glue_up, self.stripe, self.strips)

    def partial_alternatives(self, arrays: RackArrays, glue_up: GlueUpSpec) -> PartialAlternatives | None:
        return None

    def misfits(self, arrays: RackArrays, glue_up: GlueUpSpec) -> Misfits:
        return stripes.edge_misfits(arrays, glue_up, self.stripe)

    def cuts(
        self, offcut: Offcut, piece: int, take: int, closing: Length | None, glue_up: GlueUpSpec
    ) -> tuple[Cut, ...]:
        return stripes.edge_cuts(offcut, piece, take, glue_up, self.stripe)


@dataclass(frozen=True)
class FaceStripe:
    """Narrow rips for an accent of `strips` strips, each `stripe` wide, in face grain."""

    stripe: Length
    strips: int

    def capacities(self, arrays: RackArrays, glue_up: GlueUpSpec) -> IntArray:
        return stripes.face_capacities(arrays, glue_up, self.stripe)

    def alternatives(self, arrays: RackArrays, glue_up: GlueUpSpec) -> CutAlternatives:
        return stripes.face_alternatives(arrays, glue_up, self.stripe, self.strips)

    def partial_alternatives(self, arrays: RackArrays, glue_up: GlueUpSpec) -> PartialAlternatives | None:
        return None

    def misfits(self, arrays: RackArrays, glue_up: GlueUpSpec) -> Misfits:
        return stripes.face_misfits(arrays, glue_up, self.stripe)

    def cuts(
        self, offcut: Offcut, piece: int, take: int, closing: Length | None, glue_up: GlueUpSpec
    ) -> tuple[Cut, ...]:
        return stripes.face_cuts(offcut, piece, take, glue_up, self.stripe)


def construction_for(grain: Grain, demand: Demand) -> Construction:
    """How this demand is served in a glue-up of this grain; an end-grain board has panels instead."""
    match grain:
        case Grain.EDGE:
            return edge_grain if demand.stripe is None else EdgeStripe(demand.stripe, demand.target)
        case Grain.FACE:
            return face_grain if demand.stripe is None else FaceStripe(demand.stripe, demand.target)
        case Grain.END:
            raise ValueError("an end-grain board is glued up from panels of edge or face grain")
