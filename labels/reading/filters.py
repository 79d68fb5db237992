"""The ladder: ways to make a dusty, faded or coarse code readable, the cheap and fruitful ones first.

Knows filters. Knows nothing of codes. Each pass makes its picture when it is
asked for, as most photos need one or two of them alone.

The order was measured by this project on simulated photos (tests/labels/camera.py). Of 50 frames with sawdust on
10 % of the area the plain picture was read in 16, the soft one in 37, the softest of a larger one in 44, one of
those here in 48: a blur of about a third of a module melts sawdust into the paper.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from PIL import Image, ImageFilter, ImageOps

Filter = Callable[[Image.Image], Image.Image]


@dataclass(frozen=True)
class Pass:
    """One picture to look at; `scale` is how many of its pixels one of the original's has become."""

    picture: Image.Image
    scale: float = 1.0


def _plain(picture: Image.Image) -> Image.Image:
    return picture


def _soft(picture: Image.Image) -> Image.Image:
    return ImageOps.autocontrast(picture, cutoff=0.5).filter(ImageFilter.GaussianBlur(1.0))


def _softer(picture: Image.Image) -> Image.Image:
    return picture.filter(ImageFilter.GaussianBlur(1.5))


def _softest(picture: Image.Image) -> Image.Image:
    return picture.filter(ImageFilter.GaussianBlur(2.0))


def _middling(picture: Image.Image) -> Image.Image:
    return picture.filter(ImageFilter.MedianFilter(5))


def _even(picture: Image.Image) -> Image.Image:
    return ImageOps.equalize(picture).filter(ImageFilter.GaussianBlur(1.0))


BROAD: tuple[Filter, ...] = (_plain, _soft)
"""For a whole photo, at its full size and at smaller ones."""

DEEP: tuple[tuple[float, Filter], ...] = ((1.5, _softest), (0.7, _even), (1.0, _middling), (1.5, _softer))
"""For a small picture, or the near surroundings of one symbol, where any filter is cheap: scale and filter."""


LONGEST = 65_535
"""zxing-cpp takes no picture with a longer side, in pixels (it says so itself)."""


def broad_passes(picture: Image.Image, smallest: int) -> Iterator[Pass]:
    """A whole photo, at its size, at a half, a quarter … while its shorter side is not under `smallest`."""
    shrunk = picture
    while True:
        scale = shrunk.width / picture.width
        for each in BROAD:
            yield Pass(each(shrunk), scale)
        if min(shrunk.size) < 2 * smallest:
            return
        shrunk = shrunk.reduce(2)


def deep_passes(picture: Image.Image, scale: float = 1.0) -> Iterator[Pass]:
    """The picture at `scale` times the scale of each filter, through that filter."""
    for own, each in DEEP:
        size = _sized(picture.width * scale * own), _sized(picture.height * scale * own)
        sized = picture.resize(size, Image.Resampling.BICUBIC) if size != picture.size else picture
        yield Pass(each(sized), sized.width / picture.width)


def _sized(side: float) -> int:
    return min(max(1, round(side)), LONGEST)
