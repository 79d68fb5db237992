"""The pick list and the cut sheet of a board, as plain words and numbers.

Knows the order of locations and of the work (cutting model, section 3: crosscut
to lengths first, then rip each length). Draws nothing. Sizes are Length.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.cutting.cuts import Cut
from inventory.fill.plan import Fill
from inventory.measures import Length
from inventory.pieces import Offcut
from inventory.storage.records import BoardRecord


@dataclass(frozen=True)
class Pick:
    """Take `pieces` of this tag from this place."""

    location: str
    offcut: Offcut
    pieces: int


@dataclass(frozen=True)
class Strip:
    """A strip in the glue-up, numbered from 1 as drawn, left to right.

    It begins `at` from the left edge of the glue-up and adds `adds`. It is rip
    `rip` of length `length_number` of the piece, both from 1; `cut` is the index in `fill.cuts`.
    """

    number: int
    cut: int
    length_number: int
    rip: int
    at: Length
    adds: Length


@dataclass(frozen=True)
class SheetPiece:
    """All that is done to one piece: its cuts (index in the fill, cut), its strips, and what to look for before.

    `flatten` are the faces (`a`, `b`) to be flattened, `strip_finish` those with an old coating.
    """

    offcut: Offcut
    piece: int
    cuts: tuple[tuple[int, Cut], ...]
    strips: tuple[Strip, ...]
    flatten: tuple[str, ...]
    strip_finish: tuple[str, ...]

    @property
    def crosscuts(self) -> int:
        """Cuts across the grain, one for each length; the last falls away where nothing is left behind it."""
        raise NotImplementedError

    @property
    def rips(self) -> int:
        """Cuts along the grain, one for each strip; the last of a length falls away where nothing is left beside it."""
        raise NotImplementedError


@dataclass(frozen=True)
class CutSheet:
    """The work in order, piece by piece in the order of the pick list, and the glue-up left to right."""

    pieces: tuple[SheetPiece, ...]
    strips: tuple[Strip, ...]

    @property
    def crosscuts(self) -> int:
        return sum(piece.crosscuts for piece in self.pieces)

    @property
    def rips(self) -> int:
        return sum(piece.rips for piece in self.pieces)

    @property
    def faces_to_flatten(self) -> int:
        return sum(len(piece.flatten) for piece in self.pieces)

    @property
    def faces_to_strip(self) -> int:
        return sum(len(piece.strip_finish) for piece in self.pieces)


def strips_in_order(fill: Fill) -> tuple[Strip, ...]:
    """The strips of a fill's glue-up, numbered in the order of its cuts."""
    raise NotImplementedError


def pick_list(board: BoardRecord) -> tuple[Pick, ...]:
    """What to fetch, in the order of the locations ("wall 2" before "wall 10"; no location last)."""
    raise NotImplementedError


def cut_sheet(fill: Fill) -> CutSheet:
    """The cut sheet of a fill, set aside or not yet."""
    raise NotImplementedError
