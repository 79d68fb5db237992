"""Image filters that make a dusty, faded or coarse code readable, the cheap and most effective ones first.

Passes are generated lazily, as most photos need only one or two.

The order was measured by this project on simulated photos (tests/labels/camera.py). Of 50 frames with sawdust on 10 %
of the area, the plain picture was decoded in 16, the blurred one in 37, the enlarged and strongly blurred one in 44,
any of these in 48: a blur of about a third of a module blends sawdust into the paper.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from PIL import Image, ImageFilter, ImageOps

Filter = Callable[[Image.Image], Image.Image]

FilterPass = tuple[Image.Image, float]
"""A picture to decode, and how many of its pixels one pixel of the original has become."""


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
"""For a whole photo, at full size and at smaller ones."""

DEEP_FILTERS: tuple[tuple[float, Filter], ...] = (
    (1.5, _strong_blur),
    (0.7, _equalize_blur),
    (1.0, _median_filter),
    (1.5, _blur),
)
"""Scale and filter for a small picture, or for the surroundings of one symbol, where any filter is cheap."""


MAX_SIDE = 65_535
"""The longest side of a picture that zxing-cpp accepts, in pixels (by its error message)."""


def pyramid_passes(picture: Image.Image, min_side: int) -> Iterator[FilterPass]:
    """A whole photo at full size, a half, a quarter …, while its shorter side is at least `min_side`."""
    reduced = picture
    while True:
        scale = reduced.width / picture.width
        for filter_ in PYRAMID_FILTERS:
            yield filter_(reduced), scale
        if min(reduced.size) < 2 * min_side:
            return
        reduced = reduced.reduce(2)


def filter_passes(picture: Image.Image, scale: float = 1.0) -> Iterator[FilterPass]:
    """The picture through each filter, at `scale` times the filter's own scale."""
    for own_scale, filter_ in DEEP_FILTERS:
        size = _clamp_side(picture.width * scale * own_scale), _clamp_side(picture.height * scale * own_scale)
        sized = picture.resize(size, Image.Resampling.BICUBIC) if size != picture.size else picture
        yield filter_(sized), sized.width / picture.width


def _clamp_side(side: float) -> int:
    return min(max(1, round(side)), MAX_SIDE)
