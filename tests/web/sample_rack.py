"""A small rack for the bench: five ash pieces that fill a board, one walnut, a bundle."""

from __future__ import annotations

from inventory.core.lengths import inches
from inventory.core.offcuts import Face, Offcut
from inventory.services.rack import tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop

BOARD = "length=18&width=6&thickness=1+1/2"


def _piece(
    length: str, width: str, thickness: str, species: str, location: str, face: Face = Face.PLANED, count: int = 1
) -> Offcut:
    sizes = (inches(length), inches(width), inches(thickness))
    return Offcut(*sizes, species, face, face, count, location=location)


LONG_ASH = _piece("66", "4", "1", "ash", "wall 10")
SHORT_ASH = _piece("20", "4", "1", "ash", "wall 2", Face.FINISHED)
WALNUT = _piece("45", "5 1/2", "1 1/4", "walnut", "bin 3")
BUNDLE = _piece("20", "2", "7/8", "ash", "", Face.ROUGH, 4)
CODES = {"long": "0000011", "short": "0000022", "walnut": "0000033", "bundle": "0000044"}


def tag_sample_rack(shop: Shop) -> None:
    """Puts the four tags on the rack."""
    pieces = zip((LONG_ASH, SHORT_ASH, WALNUT, BUNDLE), CODES.values(), strict=True)
    tagging.tag_all(shop, [NewPiece(offcut, code) for offcut, code in pieces])
