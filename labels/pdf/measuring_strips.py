"""Strips to measure by: a page with symbols of known size in known places, cut into two strips.

Knows where each symbol stands on its strip. Knows nothing of photos. Millimetres
from the page's top left; on a strip from the first symbol's corner, along it downwards.
"""

from __future__ import annotations

from labels.pdf.test_sheet import rows_of
from labels.qr import dark_blocks, symbol_for
from labels.shapes import Blocks, Shape, Stroke, Text
from labels.typesetting.fonts import MM_PER_POINT, Face

SIDE = 30.0
"""The side of a symbol."""
APART = 105.0
"""From one symbol's corner to the next one's."""
SYMBOLS = 3
STRIPS = ("A", "B")
LENGTH = (SYMBOLS - 1) * APART + SIDE
WIDTH = 42.0
QUIET = (WIDTH - SIDE) / 2
TOLD = (
    f"Print this page at 100 %: each strip must measure {LENGTH:.0f} mm over its black codes. "
    "Cut the two strips out along the lines. Lay them flat on the face of the piece, one near each end, "
    "and take the photo from straight above. "
    "They come off before the piece is cut or planed."
)


def text_of(strip: str, number: int) -> str:
    """What the symbol with this number, from 1, on this strip says."""
    return f"RACKFUL SCALE {strip}{number}"


def place_of(text: str) -> tuple[str, float, float] | None:
    """The strip and the top left corner there of the symbol that says this; None for any other text.

    >>> place_of("RACKFUL SCALE B2"), place_of("something else")
    (('B', 0.0, 105.0), None)
    """
    for strip in STRIPS:
        for number in range(1, SYMBOLS + 1):
            if text == text_of(strip, number):
                return strip, 0.0, (number - 1) * APART
    return None


def strips_on(width: float, height: float) -> list[Shape]:
    """Both strips on a page of this size, with what to do with them."""
    top, size = (height - LENGTH) / 2, 11.0
    shapes: list[Shape] = []
    for strip, left in zip(STRIPS, (22.0, 22.0 + WIDTH + 14.0), strict=True):
        edges = (left - QUIET, left + SIDE + QUIET)
        shapes.append(Stroke(tuple(((x, top - QUIET), (x, top + LENGTH + QUIET)) for x in edges), 0.2))
        for number in range(1, SYMBOLS + 1):
            symbol = symbol_for(text_of(strip, number))
            corner = top + (number - 1) * APART
            shapes.append(Blocks(left, corner, SIDE / symbol.side, dark_blocks(symbol)))
        shapes.append(Text(left + SIDE / 2 - 2, top + SIDE + 12, strip, Face.BOLD, 24.0))
    beside = 22.0 + 2 * WIDTH + 14.0 + 4.0
    baseline = top + 6.0
    for row in rows_of(TOLD, Face.REGULAR, size, width - beside - 14.0):
        shapes.append(Text(beside, baseline, row, Face.REGULAR, size))
        baseline += 1.35 * size * MM_PER_POINT
    return shapes
