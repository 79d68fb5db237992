"""Looking for tags: a whole photo pass after pass, then once more and closely wherever something is half read.

The decoder is zxing-cpp; of what it says only whole QR symbols count, and of those only what the caller knows as a
tag.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

import zxingcpp
from PIL import Image

from labels.reading.filters import FilterPass, filter_passes, pyramid_passes
from labels.reading.findings import (
    Corners,
    DetectedCode,
    DetectedText,
    DetectionCollector,
    Reading,
    mean_side,
    to_full_image,
)

CodeParser = Callable[[str], str | None]
"""The code in the text of a symbol, None where it is no tag's."""

MIN_PYRAMID_SIDE = 250
"""A whole photo is not shrunk to less than this, in pixels: a tag in it would be too coarse."""

DEEP_SCAN_PIXELS = 1_200_000
"""A photo in which nothing was read is brought to so many pixels for the costly filters."""

TARGET_SYMBOL_SIDE = 135.0
"""The side in pixels to which a half-read symbol is brought for the filters: about five pixels a module."""

MIN_SYMBOL_SIDE = 15.0
"""What seems a symbol and is smaller than this, in pixels, is none: not even one pixel a module."""

MAX_UNDECODED = 12
"""Half-read places that are looked at closely; a shelf of bare finder patterns is no shelf of tags."""


def read_photo(picture: Image.Image, parse_code: CodeParser) -> Reading:
    """All tags in a photo, however many."""
    gray = _grayscale(picture)
    findings = DetectionCollector()
    for each in pyramid_passes(gray, MIN_PYRAMID_SIDE):
        _scan_pass(each, parse_code, findings)
    _scan_deep(gray, parse_code, findings)
    return findings.result()


def read_frame(picture: Image.Image, parse_code: CodeParser) -> Reading:
    """The first tag that is read in a picture of a live camera: the next picture comes at once, so not all is tried."""
    gray = _grayscale(picture)
    findings = DetectionCollector()
    for each in pyramid_passes(gray, MIN_PYRAMID_SIDE):
        _scan_pass(each, parse_code, findings)
        if findings.seen:
            return findings.result()
    _scan_deep(gray, parse_code, findings)
    return findings.result()


def _grayscale(picture: Image.Image) -> Image.Image:
    return picture if picture.mode == "L" else picture.convert("L")


def _scan_pass(
    one: FilterPass, parse_code: CodeParser, findings: DetectionCollector, left: float = 0.0, top: float = 0.0
) -> bool:
    """Notes what one pass shows; whether a tag was in it."""
    read = False
    for symbol in _decode(one.picture):
        corners = to_full_image(_corners(symbol.position), left, top, one.scale)
        if not symbol.valid:
            if mean_side(corners) >= MIN_SYMBOL_SIDE:
                findings.add_undecoded(corners)
            continue
        code = parse_code(symbol.text)
        if code is None:
            findings.add_text(DetectedText(symbol.text, corners))
        else:
            findings.add_code(DetectedCode(code, symbol.text, corners))
            read = True
    return read


def _decode(picture: Image.Image) -> Iterable[zxingcpp.Barcode]:
    """Whole and half symbols. QR alone: in noise the simpler kinds of code are found where there is none."""
    formats = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode)
    return zxingcpp.read_barcodes(picture, formats=formats, return_errors=True, try_invert=False)


def _corners(position: zxingcpp.Position) -> Corners:
    a, b, c, d = (position.top_left, position.top_right, position.bottom_right, position.bottom_left)
    return ((a.x, a.y), (b.x, b.y), (c.x, c.y), (d.x, d.y))


def _scan_deep(picture: Image.Image, parse_code: CodeParser, findings: DetectionCollector) -> None:
    """Every half-read place by itself, brought to one size, through all filters until it is read; else the whole."""
    for corners in list(findings.undecoded_quads)[:MAX_UNDECODED]:
        part, left, top = _crop_around(picture, corners)
        for each in filter_passes(part, TARGET_SYMBOL_SIDE / mean_side(corners)):
            if _scan_pass(each, parse_code, findings, left, top):
                break
    if not findings.seen:
        scale = min(1.0, math.sqrt(DEEP_SCAN_PIXELS / (picture.width * picture.height)))
        for each in filter_passes(picture, scale):
            if _scan_pass(each, parse_code, findings):
                break


def _crop_around(picture: Image.Image, corners: Corners) -> tuple[Image.Image, int, int]:
    """What lies around a place, half a side more each way, and where it begins."""
    around = mean_side(corners) * 0.5
    left, top = (max(0, int(min(each[axis] for each in corners) - around)) for axis in (0, 1))
    right = min(picture.width, int(max(x for x, _ in corners) + around) + 1)
    bottom = min(picture.height, int(max(y for _, y in corners) + around) + 1)
    return picture.crop((left, top, max(right, left + 1), max(bottom, top + 1))), left, top
