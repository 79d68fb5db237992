"""Where the piece lies in a photo, so that the label shows wood and not the bench.

Knows colours and pixels. Knows nothing of labels or printers. The piece is
found only where it is clear: a background of about one colour all round, and
one thing on it that differs. In doubt the photo stays whole.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

# The photo is looked at this small, its rim this wide as a share of the shorter side.
LOOKED_AT = 96
RIM = 0.06

# Distances between colours, of 255 for each of three: what may differ within the background, and what is the piece.
EVEN_BACKGROUND = 22.0
LEAST_DISTANCE = 34.0
MOST_OF_RIM = 0.30

# Shares of the photo and of its own box that a piece covers, and of a row or column that counts as piece.
LEAST_PIECE, MOST_PIECE = 0.03, 0.85
LEAST_FILLED = 0.55
LEAST_OF_ROW = 0.10

# Who takes a photo of a piece fills at least this share of it one way: something smaller is a knot in a close view.
LEAST_SPAN = 0.45

# What is left of the background round the piece, as a share of the piece's longer side.
MARGIN = 0.04


@dataclass(frozen=True)
class Crop:
    """A part of a photo as shares of its width and height, from its top left."""

    left: float
    top: float
    right: float
    bottom: float

    def of(self, width: int, height: int) -> tuple[int, int, int, int]:
        """The same in whole pixels of a photo, at least one each way."""
        left, top = min(int(self.left * width), width - 1), min(int(self.top * height), height - 1)
        return left, top, max(left + 1, round(self.right * width)), max(top + 1, round(self.bottom * height))


WHOLE = Crop(0.0, 0.0, 1.0, 1.0)


def piece_in(photo: Image.Image) -> Crop:
    """The part of a photo that the piece fills, with a little of what lies round it; all of it in doubt."""
    small = photo.reduce(max(1, max(photo.size) // LOOKED_AT)).convert("RGB")
    # Plane by plane: three numbers a pixel side by side take numpy ten times as long.
    colours = [np.asarray(plane, dtype=np.float32) for plane in small.split()]
    rim = _rim(*colours[0].shape)
    if min(rim.shape) < 12:
        return WHOLE
    red, green, blue = ((plane - _median(plane[rim])) ** 2 for plane in colours)
    distance = np.sqrt(red + green + blue)
    uneven = float(_median(distance[rim]))
    if uneven > EVEN_BACKGROUND:
        return WHOLE
    piece = distance > max(LEAST_DISTANCE, 3 * uneven)
    if piece[rim].mean() > MOST_OF_RIM:
        return WHOLE
    return _around(piece)


def _median(values: NDArray[np.float32]) -> np.float32:
    """The median as numpy reckons it, which takes several times as long over so few."""
    ordered = np.sort(values)
    middle: np.float32 = (ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / np.float32(2)
    return middle


def _rim(high: int, wide: int) -> NDArray[np.bool_]:
    deep = max(1, round(RIM * min(high, wide)))
    rim = np.ones((high, wide), dtype=bool)
    rim[deep:-deep, deep:-deep] = False
    return rim


def _around(piece: NDArray[np.bool_]) -> Crop:
    """The box round what differs from the background, if it looks like one piece of wood."""
    high, wide = piece.shape
    rows = np.flatnonzero(piece.mean(axis=1) > LEAST_OF_ROW)
    columns = np.flatnonzero(piece.mean(axis=0) > LEAST_OF_ROW * min(1.0, len(rows) / high * 2)) if len(rows) else rows
    if not len(rows) or not len(columns):
        return WHOLE
    top, bottom, left, right = rows[0], rows[-1] + 1, columns[0], columns[-1] + 1
    inside = piece[top:bottom, left:right]
    if not LEAST_PIECE <= piece.mean() <= MOST_PIECE or inside.mean() < LEAST_FILLED:
        return WHOLE
    if inside.sum() < 0.9 * piece.sum() or max((right - left) / wide, (bottom - top) / high) < LEAST_SPAN:
        return WHOLE
    margin = MARGIN * max(bottom - top, right - left)
    return Crop(
        max(0.0, float(left - margin) / wide),
        max(0.0, float(top - margin) / high),
        min(1.0, float(right + margin) / wide),
        min(1.0, float(bottom + margin) / high),
    )
