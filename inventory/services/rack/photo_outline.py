"""Locates an offcut in its photo, so that a board can be drawn with the wood's own picture.

Method: the connected patch that differs in color from the border of the photo is taken for the piece; its center,
orientation and sides are those of a rectangle with the same second moments. Where the patch does not have the piece's
proportions, the piece is assumed in the middle, along the longer side. An estimate, for drawings only.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from PIL import Image

from inventory.shop import Shop
from inventory.storage.photos import NoSuchPhoto, PhotoSize
from inventory.storage.records import OffcutRecord, PhotoRecord

ANALYSIS_SIDE = 60
"""The longest side, in pixels, to which a photo is reduced before it is looked at."""
LEAST_COVERED, MOST_COVERED = 0.02, 0.8
PROPORTION_OFF = 1.6
"""How far a patch may be from the piece's proportions and still be the piece."""
LIMITS = (1.3, 0.8, 1.9)
"""How many times the rim's usual difference a pixel must differ to be of the piece; the best of these is taken."""
MIN_CONTRAST = 12.0
FALLBACK_SHARE = 0.85
"""How much of the longer side a piece takes where it could not be found."""
USED_SHARE = 0.86
"""How much of the piece's found sides is used: its rim is rounded, chipped and in the shade."""

Pixel = tuple[int, int, int]


@dataclass(frozen=True)
class PhotoPlacement:
    """Where a piece is in a photo: center, size and orientation.

    `x`, `y`, `long` and `wide` are parts of the photo's longer side, `turn` the degrees
    from left-to-right to the grain, clockwise.
    """

    x: float
    y: float
    long: float
    wide: float
    turn: float


@dataclass(frozen=True)
class PlacedPhoto:
    """A photo of a piece, and where the piece lies in it."""

    photo: PhotoRecord
    placement: PhotoPlacement


def pictured(shop: Shop, records: Mapping[str, OffcutRecord]) -> dict[str, PlacedPhoto]:
    """The main photo of each piece that has one, by tag; a photo whose file is missing is left out."""
    found = {}
    for code, record in records.items():
        photo = record.main_photo
        if photo is not None:
            proportion = record.offcut.length / record.offcut.width
            try:
                path = shop.photos.path(photo.digest, PhotoSize.THUMB)
                found[code] = PlacedPhoto(photo, locate_in_photo(path, proportion))
            except (NoSuchPhoto, OSError):
                continue
    return found


@lru_cache(maxsize=512)
def locate_in_photo(path: Path, proportion: float) -> PhotoPlacement:
    """Where a piece of this ratio of length to width is in the picture. Raises OSError where it can't be read."""
    with Image.open(path) as picture:
        small = picture.convert("RGB")
        small.thumbnail((ANALYSIS_SIDE, ANALYSIS_SIDE))
        wide, high = small.size
        raw = small.tobytes()
    pixels = [(raw[at], raw[at + 1], raw[at + 2]) for at in range(0, len(raw), 3)]
    return _found(pixels, wide, high, proportion) or _framed(wide, high, proportion)


def _framed(wide: int, high: int, proportion: float) -> PhotoPlacement:
    longer = max(wide, high)
    turn = 0.0 if (wide >= high) == (proportion >= 1) else 90.0
    long = FALLBACK_SHARE if proportion >= 1 else FALLBACK_SHARE * proportion
    return PhotoPlacement(wide / longer / 2, high / longer / 2, long * USED_SHARE, long / proportion * USED_SHARE, turn)


def _found(pixels: list[Pixel], wide: int, high: int, proportion: float) -> PhotoPlacement | None:
    """The patch near the center that differs from the border and is closest to the piece's proportions."""
    away, usual = _rim_contrast(pixels, wide, high)
    best: tuple[float, PhotoPlacement] | None = None
    for share in LIMITS:
        patch = _patch([each > max(usual * share, MIN_CONTRAST) for each in away], wide, high)
        if LEAST_COVERED * len(pixels) <= len(patch) <= MOST_COVERED * len(pixels):
            long, across, placement = _fit_rectangle(patch, max(wide, high), proportion)
            off = max(long / across / proportion, across * proportion / long)
            if off <= PROPORTION_OFF and (best is None or off < best[0]):
                best = off, placement
    return None if best is None else best[1]


def _fit_rectangle(patch: list[tuple[int, int]], longer: int, proportion: float) -> tuple[float, float, PhotoPlacement]:
    """The rectangle with the second moments of the patch: its sides along and across the grain."""
    count = len(patch)
    x, y = sum(each[0] for each in patch) / count, sum(each[1] for each in patch) / count
    xx = sum((each[0] - x) ** 2 for each in patch) / count
    yy = sum((each[1] - y) ** 2 for each in patch) / count
    xy = sum((each[0] - x) * (each[1] - y) for each in patch) / count
    turn = 0.5 * math.atan2(2 * xy, xx - yy)
    spread = math.sqrt(((xx - yy) / 2) ** 2 + xy**2)
    # The variance of a rectangle along a side is a twelfth of the side squared.
    sides = [math.sqrt(12 * max((xx + yy) / 2 + sign * spread, 0.1)) for sign in (1, -1)]
    # Pixels at the edge of the patch are only half covered by the piece.
    long, across = (max(side - 1, side / 2) for side in sides)
    if proportion < 1:
        long, across, turn = across, long, turn + math.pi / 2
    place = ((x + 0.5) / longer, (y + 0.5) / longer)
    placement = PhotoPlacement(*place, long * USED_SHARE / longer, across * USED_SHARE / longer, math.degrees(turn))
    return long, across, placement


def _rim_contrast(pixels: list[Pixel], wide: int, high: int) -> tuple[list[float], float]:
    """How much each pixel differs in color from the border, and how much most of the border does."""
    rim = [pixels[y * wide + x] for y in range(high) for x in range(wide) if x in (0, wide - 1) or y in (0, high - 1)]
    middle = tuple(sorted(each[part] for each in rim)[len(rim) // 2] for part in range(3))
    usual = sorted(_color_distance(pixel, middle) for pixel in rim)[len(rim) * 8 // 10]
    return [_color_distance(pixel, middle) for pixel in pixels], usual


def _color_distance(one: tuple[int, ...], other: tuple[int, ...]) -> float:
    """A color distance in which brightness counts less, since light is uneven on a bench."""
    red, green, blue = (one[part] - other[part] for part in range(3))
    bright = (red + green + blue) / 3
    return math.sqrt(((red - bright) ** 2 + (green - bright) ** 2 + (blue - bright) ** 2) * 4 + bright**2)


def _patch(unlike: list[bool], wide: int, high: int) -> list[tuple[int, int]]:
    """The connected patch of these pixels that is nearest to the center."""
    seeds = [place for place, each in enumerate(unlike) if each]
    if not seeds:
        return []
    first = min(seeds, key=lambda place: (place % wide - wide / 2) ** 2 + (place // wide - high / 2) ** 2)
    seen, waiting = {first}, [first]
    while waiting:
        place = waiting.pop()
        x, y = place % wide, place // wide
        for beside in (
            place - 1 if x else -1,
            place + 1 if x < wide - 1 else -1,
            place - wide if y else -1,
            place + wide if y < high - 1 else -1,
        ):
            if beside >= 0 and unlike[beside] and beside not in seen:
                seen.add(beside)
                waiting.append(beside)
    return [(place % wide, place // wide) for place in seen]
