"""The ladder: ways to make a dusty, faded or coarse code readable, the cheap and fruitful ones first.

Each pass makes its picture when it is asked for, as most photos need one or two of them alone.

The order was measured by this project on simulated photos (tests/labels/camera.py). Of 50 frames with sawdust on 10
% of the area the plain picture was read in 16, the soft one in 37, the softest of a larger one in 44, one of those
here in 48: a blur of about a third of a module melts sawdust into the paper.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from PIL import Image, ImageFilter, ImageOps

Filter = Callable[[Image.Image], Image.Image]


@dataclass(frozen=True)
class FilterPass:
    """One picture to look at; `scale` is how many of its pixels one of the original's has become."""

    picture: Image.Image
    scale: float = 1.0


def _plain(picture: Image.Image) -> Image.Image:
    return picture


def _contrast_blur(picture: Image.Image) -> Image.Image:
    return ImageOps.autocontrast(picture, cutoff=0.5).filter(ImageFilter.GaussianBlur(1.0))


def _blur(picture: Image.Image) -> Image.Image:
    return picture.filter(ImageFilter.GaussianBlur(1.5))


def _strong_blur(picture: Image.Image) -> Image.Image:
    return picture.filter(ImageFilter.GaussianBlur(2.0))


def _median_filter(picture: Image.Image) -> Image.Image:
    return picture.filter(ImageFilter.MedianFilter(5))


def _equalize_blur(picture: Image.Image) -> Image.Image:
    return ImageOps.equalize(picture).filter(ImageFilter.GaussianBlur(1.0))


PYRAMID_FILTERS: tuple[Filter, ...] = (_plain, _contrast_blur)
"""For a whole photo, at its full size and at smaller ones."""

DEEP_FILTERS: tuple[tuple[float, Filter], ...] = (
    (1.5, _strong_blur),
    (0.7, _equalize_blur),
    (1.0, _median_filter),
    (1.5, _blur),
)
"""For a small picture, or the near surroundings of one symbol, where any filter is cheap: scale and filter."""


MAX_SIDE = 65_535
"""zxing-cpp takes no picture with a longer side, in pixels (it says so itself)."""


def pyramid_passes(picture: Image.Image, min_side: int) -> Iterator[FilterPass]:
    """A whole photo, at its size, at a half, a quarter … while its shorter side is not under `min_side`."""
    reduced = picture
    while True:
        scale = reduced.width / picture.width
        for filter_ in PYRAMID_FILTERS:
            yield FilterPass(filter_(reduced), scale)
        if min(reduced.size) < 2 * min_side:
            return
        reduced = reduced.reduce(2)


def filter_passes(picture: Image.Image, scale: float = 1.0) -> Iterator[FilterPass]:
    """The picture at `scale` times the scale of each filter, through that filter."""
    for own_scale, filter_ in DEEP_FILTERS:
        size = _clamp_side(picture.width * scale * own_scale), _clamp_side(picture.height * scale * own_scale)
        sized = picture.resize(size, Image.Resampling.BICUBIC) if size != picture.size else picture
        yield FilterPass(filter_(sized), sized.width / picture.width)


def _clamp_side(side: float) -> int:
    return min(max(1, round(side)), MAX_SIDE)
