"""Finds tags in a photo: first in the whole photo, then closely wherever a symbol can't be decoded.

The decoder is zxing-cpp. Only QR symbols that pass error correction count, and only those that `parse_code` accepts are
tags.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

import zxingcpp
from PIL import Image

from labels.reading.filters import FilterPass, filter_passes, pyramid_passes
from labels.reading.findings import (
    Corners,
    DetectedSymbol,
    DetectionCollector,
    Reading,
    mean_side,
    to_full_image,
)

CodeParser = Callable[[str], str | None]
"""Returns the code in the text of a symbol; None where it is no tag's."""

MIN_PYRAMID_SIDE = 250
"""A whole photo is not reduced below this side in pixels: a tag in it would be too coarse."""

DEEP_SCAN_PIXELS = 1_200_000
"""A photo in which no tag was found is reduced to so many pixels for the costly filters."""

TARGET_SYMBOL_SIDE = 135.0
"""A symbol that can't be decoded is scaled to this side in pixels for the filters: about five pixels a module."""

MIN_SYMBOL_SIDE = 15.0
"""A detected symbol with a smaller side, in pixels, is noise: not even one pixel a module."""

MAX_UNDECODED = 12
"""At most so many symbols that can't be decoded are scanned closely."""


def read_photo(picture: Image.Image, parse_code: CodeParser) -> Reading:
    """All tags in a photo."""
    gray = _grayscale(picture)
    findings = DetectionCollector()
    for each in pyramid_passes(gray, MIN_PYRAMID_SIDE):
        _scan_pass(each, parse_code, findings)
    _scan_deep(gray, parse_code, findings)
    return findings.result()


def read_frame(picture: Image.Image, parse_code: CodeParser) -> Reading:
    """The first tag in a frame of a live camera; the next frame follows at once, so not every pass is tried."""
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
    filtered: FilterPass, parse_code: CodeParser, findings: DetectionCollector, left: float = 0.0, top: float = 0.0
) -> bool:
    """Collects what one pass shows; returns whether a tag was decoded. Left and top are those of a part of a photo."""
    picture, scale = filtered
    read = False
    for symbol in _decode(picture):
        corners = to_full_image(_corners(symbol.position), left, top, scale)
        if not symbol.valid:
            if mean_side(corners) >= MIN_SYMBOL_SIDE:
                findings.add_undecoded(corners)
            continue
        code = parse_code(symbol.text) or ""
        findings.add(DetectedSymbol(symbol.text, corners, code))
        read = read or bool(code)
    return read


def _decode(picture: Image.Image) -> Iterable[zxingcpp.Barcode]:
    """Decoded and detected symbols. QR only: in noise, simpler kinds of code are found where there is none."""
    formats = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode)
    return zxingcpp.read_barcodes(picture, formats=formats, return_errors=True, try_invert=False)


def _corners(position: zxingcpp.Position) -> Corners:
    a, b, c, d = (position.top_left, position.top_right, position.bottom_right, position.bottom_left)
    return ((a.x, a.y), (b.x, b.y), (c.x, c.y), (d.x, d.y))


def _scan_deep(picture: Image.Image, parse_code: CodeParser, findings: DetectionCollector) -> None:
    """Scans each undecoded symbol, scaled, through the filters until it is decoded; without any tag the whole photo."""
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
    """The part of a picture around a symbol, half a side more on each side, and the part's left and top."""
    around = mean_side(corners) * 0.5
    left, top = (max(0, int(min(each[axis] for each in corners) - around)) for axis in (0, 1))
    right = min(picture.width, int(max(x for x, _ in corners) + around) + 1)
    bottom = min(picture.height, int(max(y for _, y in corners) + around) + 1)
    return picture.crop((left, top, max(right, left + 1), max(bottom, top + 1))), left, top
