"""The words in which a cut is told: which lengths and strips, what is left.

Knows no rule of cutting. Sizes are Length, volumes whole mm³, areas whole mm².
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from inventory.measures import Length
from inventory.pieces import Offcut


@dataclass(frozen=True)
class Remainder:
    """What is left of an offcut after cutting; `kept` if it goes back on the rack."""

    length: Length
    width: Length
    thickness: Length
    kept: bool


@dataclass(frozen=True)
class Cut:
    """What one piece gives to one glue-up.

    `piece` counts the like pieces of a bundle from 1. `rips` says how many strips
    are ripped from each of the `lengths_cut` lengths, in order. Where a piece
    gives whole lengths and the closing strip, it has two cuts: `loss`, `dirty`
    and `remainders` of the whole piece then stand in the closing one, and the
    other has 0, 0 and none.
    """

    offcut: Offcut
    piece: int
    lengths_cut: int
    rips: tuple[int, ...]
    strip_width: Length
    adds: Length
    loss: int
    dirty: int
    remainders: tuple[Remainder, ...]
    closing: bool = False
    leaves: int | None = None
    band: int = 0
    board: int = 0

    def of(self, *, band: int) -> Cut:
        """The same cut, for this band."""
        return replace(self, band=band)

    @property
    def strips(self) -> int:
        """Strips ripped from the piece."""
        return sum(self.rips)
