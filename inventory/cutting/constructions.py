"""The constructions: how strips of each grain are cut from offcuts.

A new construction is a module beside `edge_grain` with the functions of `Construction`, a member of
`Grain` and its lines in the tables at the end of this module.
"""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from typing import Protocol

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting import edge_grain, face_grain
from inventory.cutting.alternatives import CutAlternatives, GlueUpSpec, Misfits, PartialAlternatives
from inventory.cutting.bands import Demand
from inventory.cutting.cuts import Cut
from inventory.cutting.marking_out import MarkedPiece
from inventory.cutting.offcut_arrays import IntArray, RackArrays
from inventory.cutting.stripes import EdgeStripe, FaceStripe


class Grain(Enum):
    """Which grain the board shows; the values are the contract's words."""

    EDGE = "edge"
    FACE = "face"
    END = "end"

    @property
    def on_edge(self) -> bool:
        """Whether the strips are turned on edge, so that their thickness adds to the width."""
        return self is Grain.EDGE


class Construction(Protocol):
    """How strips are cut from offcuts for one demand.

    What an alternative or a capacity adds is counted as the demand's target: a width, or strips of a
    stripe. `take` counts whole strips or lengths; `part` is the width of the part of a length, if any.
    """

    def capacities(self, arrays: RackArrays, glue_up: GlueUpSpec) -> IntArray: ...

    def alternatives(self, arrays: RackArrays, glue_up: GlueUpSpec) -> CutAlternatives: ...

    def partial_alternatives(self, arrays: RackArrays, glue_up: GlueUpSpec) -> PartialAlternatives | None: ...

    def misfits(self, arrays: RackArrays, glue_up: GlueUpSpec) -> Misfits: ...

    def cuts(
        self, offcut: Offcut, piece: int, take: int, part: Length | None, glue_up: GlueUpSpec
    ) -> tuple[Cut, ...]: ...

    def mark(self, cuts: tuple[Cut, ...], glue_up: GlueUpSpec) -> MarkedPiece: ...

    def ripped_width(self, cut: Cut, glue_up: GlueUpSpec) -> Length | None: ...


def construction_for(grain: Grain, demand: Demand) -> Construction:
    """How this demand is served in a glue-up of this grain. Raises ValueError for end grain, which has panels."""
    if grain not in _CONSTRUCTIONS:
        raise ValueError(f"no strips are cut for {grain.value} grain: its panels are glued up in another grain")
    return _CONSTRUCTIONS[grain] if demand.stripe is None else _STRIPES[grain](demand.stripe, demand.target)


def unused_allowances(grain: Grain, *, stripes: bool) -> frozenset[str]:
    """The allowances without effect on a glue-up of this grain, with or without stripes."""
    used = _ALLOWANCES[grain] | (_STRIPE_ALLOWANCES[grain] if stripes else frozenset())
    return frozenset().union(*_ALLOWANCES.values(), *_STRIPE_ALLOWANCES.values()) - used


_CONSTRUCTIONS: dict[Grain, Construction] = {Grain.EDGE: edge_grain, Grain.FACE: face_grain}
_STRIPES: dict[Grain, Callable[[Length, int], Construction]] = {Grain.EDGE: EdgeStripe, Grain.FACE: FaceStripe}
_ALLOWANCES = {
    Grain.EDGE: frozenset({"thinnest_lamination"}),
    Grain.FACE: frozenset({"max_strip_width", "min_strip_width"}),
}
_STRIPE_ALLOWANCES = {Grain.EDGE: frozenset({"resaw_kerf", "leaf_clean"}), Grain.FACE: frozenset[str]()}
PANEL_GRAINS = tuple(_CONSTRUCTIONS)
"""The grains in which strips, and so the panels of an end-grain board, are glued up."""
