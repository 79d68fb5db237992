"""The invented history of the demo shop: boards made, pieces moved, used and removed.

Days count back from the day on which the demo is made; pieces are named by species and length as in the table.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.cutting.costs import Preference
from inventory.services.rack.editing import RemovalReason

SHOP_NAME = "Mossgate Stairs and Doors"

PieceName = tuple[str, str]


@dataclass(frozen=True)
class DemoBoard:
    """A board: its size and species, and the days of its steps; None for a step not taken."""

    name: str
    length: str
    width: str
    thickness: str
    grain: str
    species: tuple[str, ...]
    prefer: Preference
    held: int
    cut: int | None = None
    finished: int | None = None
    abandoned: int | None = None


@dataclass(frozen=True)
class MovedPiece:
    """A piece that was moved to another location."""

    piece: PieceName
    days_ago: int
    location: str


@dataclass(frozen=True)
class RemovedPiece:
    """A piece that left the shop unused."""

    piece: PieceName
    days_ago: int
    reason: RemovalReason
    note: str = ""


@dataclass(frozen=True)
class UsedPiece:
    """Pieces of a bundle, or a whole piece, used for something other than a board."""

    piece: PieceName
    days_ago: int
    pieces: int
    note: str


BOARDS = (
    DemoBoard("Carving board for the harvest supper", "16 in", "10 in", "1 1/4 in", "edge", ("beech",),
         Preference.FEWEST_PIECES, 890, 889, 874),
    DemoBoard("Top of the step stool", "15 in", "10 in", "1 in", "face", ("ash",),
         Preference.LEAST_WASTE, 812, 812, 801),
    DemoBoard("Bread board, maple", "14 in", "9 in", "1 in", "edge", ("hard maple",),
         Preference.LEAST_WASTE, 402, 401, 388),
    DemoBoard("Top of the saw bench", "24 in", "10 in", "1 1/2 in", "edge", ("red oak",),
         Preference.OLDEST_FIRST, 318, 316, 300),
    DemoBoard("Base for a chess board", "14 in", "14 in", "3/4 in", "face", ("black walnut",),
         Preference.LEAST_WASTE, 131, 129, 110),
    DemoBoard("Hatch to the loft", "24 in", "20 in", "3/4 in", "face", ("pine",),
         Preference.FEWEST_PIECES, 95, abandoned=71),
    DemoBoard("Window board for the gatehouse", "27 in", "9 in", "7/8 in", "face", ("white oak",),
         Preference.FEWEST_PIECES, 12, 5),
    DemoBoard("Serving board, cherry", "14 in", "8 in", "3/4 in", "edge", ("cherry",), Preference.LEAST_WASTE, 2),
    DemoBoard("Tray for the office", "350 mm", "220 mm", "20 mm", "face", ("sapele", "mahogany"),
         Preference.LEAST_MILLING, 1),
)  # fmt: skip

MOVED = (
    MovedPiece(("pine", "36 in"), 700, "wall 3"),
    MovedPiece(("white oak", "38 3/16 in"), 512, "loft"),
    MovedPiece(("Douglas fir", "55 in"), 33, "under the bench"),
)

REMOVED = (
    RemovedPiece(("pine", "58 1/2 in"), 640, RemovalReason.SPOILED, "Worm in the lower third."),
    RemovedPiece(("mahogany", "14 1/2 in"), 420, RemovalReason.GIVEN_AWAY, "To the school's carving class."),
    RemovedPiece(("pine", "44 1/2 in"), 333, RemovalReason.BURNT, "Too twisted to be flattened."),
    RemovedPiece(("poplar", "40 in"), 208, RemovalReason.NOT_FOUND, "Not in the loft at the count."),
)

USED = (
    UsedPiece(("red oak", "12 1/4 in"), 280, 1, "Blocks under a newel."),
    UsedPiece(("ash", "35 1/2 in"), 144, 2, "Two balusters replaced in Weir Street."),
    UsedPiece(("birch", "20 in"), 90, 2, "Drawer sides."),
)

LABELS_PRINTED = tuple(range(1080, 11, -41))
"""Days on which the print queue was printed; what was tagged since is still in it."""
