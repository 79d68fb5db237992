"""A cut: which lengths and strips one piece gives, and what is left of it.

Sizes are `Length`, volumes whole mm³, areas whole mm².
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut


@dataclass(frozen=True)
class Leftover:
    """What is left of an offcut after cutting; `kept` if it goes back on the rack."""

    length: Length
    width: Length
    thickness: Length
    kept: bool


@dataclass(frozen=True)
class StripShare:
    """Strips of a cut that go to the glue-up of this number, counted from 0, and the width that they add."""

    glue_up: int
    strips: int
    adds: Length


@dataclass(frozen=True)
class Cut:
    """What one piece gives to a fill.

    `piece` counts the pieces under one tag from 1. `rips` says how many strips
    are ripped from each of the `lengths_cut` lengths, in order. A piece that
    gives whole lengths and a part of a length has two cuts: that of the part has the figures
    and `leftovers` of the whole piece, the other has 0 and none. `worth_lost` is in thousandths
    of a mm³, `milling` in mm³ planed away, `milling_area` in mm² of faces not surfaced. Where
    several glue-ups are filled together, `shares` says which strips go to which, in the order
    in which they are ripped; without it all go to the first.
    """

    offcut: Offcut
    piece: int
    lengths_cut: int
    rips: tuple[int, ...]
    strip_width: Length
    adds: Length
    loss: int
    worth_lost: int
    milling: int
    milling_area: int
    leftovers: tuple[Leftover, ...]
    part: bool = False
    leaves: int | None = None
    band: int = 0
    board: int = 0
    shares: tuple[StripShare, ...] = ()

    def for_band(self, *, band: int) -> Cut:
        """The same cut, for this band."""
        return replace(self, band=band)

    def with_shares(self, shares: tuple[StripShare, ...]) -> Cut:
        """The same cut, its strips shared among glue-ups."""
        return replace(self, shares=shares)

    @property
    def strips(self) -> int:
        """Strips ripped from the piece."""
        return sum(self.rips)

    @property
    def glued_strips(self) -> int:
        """Strips that can go into a glue-up: the leaves where strips are resawn."""
        return self.leaves or self.strips

    @property
    def assignments(self) -> tuple[StripShare, ...]:
        """Which strips go to which glue-up; without `shares`, all of them to the first."""
        return self.shares or (StripShare(0, self.glued_strips, self.adds),)
