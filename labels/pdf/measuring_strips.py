"""Measuring strips: a page with QR symbols of known size at known places, cut into two strips.

Millimeters from the page's top left; on a strip, from the first symbol's top left.
"""

from __future__ import annotations

from labels.qr import dark_rectangles, symbol_for
from labels.shapes import Rectangles, Shape, Stroke, Text
from labels.typesetting.fonts import MM_PER_POINT, FontFace
from labels.typesetting.words import wrap_text

SYMBOL_SIDE = 30.0
"""The side of a symbol."""
SYMBOL_PITCH = 105.0
"""Distance from one symbol's corner to the next one's."""
SYMBOLS_PER_STRIP = 3
STRIPS = ("A", "B")
LENGTH = (SYMBOLS_PER_STRIP - 1) * SYMBOL_PITCH + SYMBOL_SIDE
WIDTH = 42.0
QUIET_ZONE = (WIDTH - SYMBOL_SIDE) / 2
INSTRUCTIONS = (
    f"Print this page at 100 %: each strip must measure {LENGTH:.0f} mm over its black codes. "
    "Cut the two strips out along the lines. Lay them flat on the face of the piece, one near each end, "
    "and take the photo from straight above. "
    "They come off before the piece is cut or planed."
)


def symbol_text(strip: str, number: int) -> str:
    """The text of a strip's symbol; numbers begin at 1."""
    return f"RACKFUL SCALE {strip}{number}"


def parse_symbol_text(text: str) -> tuple[str, float, float] | None:
    """The strip of the symbol with this text, and the symbol's top left there; None for any other text.

    >>> parse_symbol_text("RACKFUL SCALE B2"), parse_symbol_text("something else")
    (('B', 0.0, 105.0), None)
    """
    for strip in STRIPS:
        for number in range(1, SYMBOLS_PER_STRIP + 1):
            if text == symbol_text(strip, number):
                return strip, 0.0, (number - 1) * SYMBOL_PITCH
    return None


def strip_shapes(width: float, height: float) -> list[Shape]:
    """Both strips on a page of this size, with instructions."""
    top, size = (height - LENGTH) / 2, 11.0
    shapes: list[Shape] = []
    for strip, left in zip(STRIPS, (22.0, 22.0 + WIDTH + 14.0), strict=True):
        edges = (left - QUIET_ZONE, left + SYMBOL_SIDE + QUIET_ZONE)
        shapes.append(Stroke(tuple(((x, top - QUIET_ZONE), (x, top + LENGTH + QUIET_ZONE)) for x in edges), 0.2))
        for number in range(1, SYMBOLS_PER_STRIP + 1):
            symbol = symbol_for(symbol_text(strip, number))
            corner = top + (number - 1) * SYMBOL_PITCH
            shapes.append(Rectangles(left, corner, SYMBOL_SIDE / symbol.side, dark_rectangles(symbol)))
        shapes.append(Text(left + SYMBOL_SIDE / 2 - 2, top + SYMBOL_SIDE + 12, strip, FontFace.BOLD, 24.0))
    beside = 22.0 + 2 * WIDTH + 14.0 + 4.0
    baseline = top + 6.0
    for row in wrap_text(INSTRUCTIONS, FontFace.REGULAR, size, width - beside - 14.0):
        shapes.append(Text(beside, baseline, row, FontFace.REGULAR, size))
        baseline += 1.35 * size * MM_PER_POINT
    return shapes
