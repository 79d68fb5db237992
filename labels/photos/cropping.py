"""Crops a photo to the piece, so that the label shows wood and not the bench.

The piece is found only in front of a background of about one color that surrounds it. In doubt the photo is not
cropped.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

# The photo is analyzed at this size; its border is this share of the shorter side.
ANALYSIS_SIZE = 96
BORDER_RATIO = 0.06

# Distances between colors (three channels of 255): at most within the background, at least of the piece from it.
MAX_BACKGROUND_SPREAD = 22.0
MIN_COLOR_DISTANCE = 34.0
MAX_PIECE_ON_BORDER = 0.30

# Shares of the photo and of its bounding box that the piece covers, and of a row or column that belongs to it.
MIN_PIECE_AREA, MAX_PIECE_AREA = 0.03, 0.85
MIN_FILL_RATIO = 0.55
MIN_ROW_SHARE = 0.10

# The piece spans at least this share of the photo in one direction: something smaller is a knot in a close view.
MIN_SPAN = 0.45

# Background that is kept around the piece, as a share of the piece's longer side.
MARGIN = 0.04


@dataclass(frozen=True)
class Crop:
    """A part of a photo as shares of its width and height, from its top left."""

    left: float
    top: float
    right: float
    bottom: float

    def in_pixels(self, width: int, height: int) -> tuple[int, int, int, int]:
        """The same in whole pixels of a photo, at least one in each direction."""
        left, top = min(int(self.left * width), width - 1), min(int(self.top * height), height - 1)
        return left, top, max(left + 1, round(self.right * width)), max(top + 1, round(self.bottom * height))


FULL_PHOTO = Crop(0.0, 0.0, 1.0, 1.0)


def find_piece(photo: Image.Image) -> Crop:
    """The part of a photo that the piece fills, with a small margin; the full photo in doubt."""
    small = photo.reduce(max(1, max(photo.size) // ANALYSIS_SIZE)).convert("RGB")
    # Channel by channel: interleaved channels take numpy ten times as long.
    channels = [np.asarray(channel, dtype=np.float32) for channel in small.split()]
    border = _border_mask(*channels[0].shape)
    if min(border.shape) < 12:
        return FULL_PHOTO
    red, green, blue = ((channel - _median(channel[border])) ** 2 for channel in channels)
    distance = np.sqrt(red + green + blue)
    spread = float(_median(distance[border]))
    if spread > MAX_BACKGROUND_SPREAD:
        return FULL_PHOTO
    piece = distance > max(MIN_COLOR_DISTANCE, 3 * spread)
    if piece[border].mean() > MAX_PIECE_ON_BORDER:
        return FULL_PHOTO
    return _bounding_crop(piece)


def _median(values: NDArray[np.float32]) -> np.float32:
    """The same as `numpy.median`, which takes several times as long on so few values."""
    ordered = np.sort(values)
    middle: np.float32 = (ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / np.float32(2)
    return middle


def _border_mask(high: int, wide: int) -> NDArray[np.bool_]:
    depth = max(1, round(BORDER_RATIO * min(high, wide)))
    border = np.ones((high, wide), dtype=bool)
    border[depth:-depth, depth:-depth] = False
    return border


def _bounding_crop(piece: NDArray[np.bool_]) -> Crop:
    """The box around what differs from the background, if it looks like one piece of wood."""
    high, wide = piece.shape
    rows = np.flatnonzero(piece.mean(axis=1) > MIN_ROW_SHARE)
    columns = np.flatnonzero(piece.mean(axis=0) > MIN_ROW_SHARE * min(1.0, len(rows) / high * 2)) if len(rows) else rows
    if not len(rows) or not len(columns):
        return FULL_PHOTO
    top, bottom, left, right = rows[0], rows[-1] + 1, columns[0], columns[-1] + 1
    inside = piece[top:bottom, left:right]
    if not MIN_PIECE_AREA <= piece.mean() <= MAX_PIECE_AREA or inside.mean() < MIN_FILL_RATIO:
        return FULL_PHOTO
    if inside.sum() < 0.9 * piece.sum() or max((right - left) / wide, (bottom - top) / high) < MIN_SPAN:
        return FULL_PHOTO
    margin = MARGIN * max(bottom - top, right - left)
    return Crop(
        max(0.0, float(left - margin) / wide),
        max(0.0, float(top - margin) / high),
        min(1.0, float(right + margin) / wide),
        min(1.0, float(bottom + margin) / high),
    )
