"""Alignment to a printer's dots, so that dithered photos and modules are printed without rescaling.

Places are millimeters from a label's top left.
"""

from __future__ import annotations

from labels.geometry import Box
from labels.stock import Stock


def snap_box(stock: Stock, cell: int, box: Box) -> tuple[Box, int, int]:
    """A box on a label aligned to whole dots, no larger than before, and its dots across and down.

    Where grays are printed, the box is unchanged and its dots are pixels at the stock's resolution.
    """
    if not stock.dot:
        across, down = (max(1, round(size / 25.4 * stock.dpi)) for size in (box.width, box.height))
        return box, across, down
    left, top = nearest_dot(stock, cell, box.left, box.top)
    dot, correction = float(stock.dot), stock.correction
    wide, high = dot / float(correction.across), dot / float(correction.down)
    across, down = max(1, int((box.right - left) / wide + 1e-6)), max(1, int((box.bottom - top) / high + 1e-6))
    return Box(left, top, across * wide, down * high), across, down


def nearest_dot(stock: Stock, cell: int, x: float, y: float) -> tuple[float, float]:
    """The corner of a dot nearest to a place on a label; the place itself where grays are printed."""
    if not stock.dot:
        return x, y
    dot, correction = float(stock.dot), stock.correction
    left, top = (float(value) for value in stock.corner(cell))
    return (
        _snap(left + x, dot, float(correction.across), float(correction.right)) - left,
        _snap(top + y, dot, float(correction.down), float(correction.lower)) - top,
    )


def _snap(place: float, dot: float, scale: float, moved: float) -> float:
    return (round((moved + scale * place) / dot) * dot - moved) / scale
