"""Photos made ready for a printer: print size, grey, clear.

Knows pixels and millimetres. Knows nothing of labels. Labels come from laser
and thermal printers without colour, so photos go in grey, with their tones
drawn out; how they are made into printable tones is decided here alone.
"""

from __future__ import annotations

import struct
import zlib
from io import BytesIO

from PIL import Image, ImageOps

PRINT_DPI = 300
JPEG_QUALITY = 82

# Photos come from the shop's own store, 2400 px at most; whatever is far larger is not looked at.
MOST_PIXELS = 40_000_000

# A photo may lose this share of its area so that it fills its place; beyond that it is shown whole.
MOST_CROPPED = 0.30

# common practice, no source: wood photos are flat and print dark, solid black wets labels and eats toner
TAIL = 0.01
BLACKEST, WHITEST = 30, 250
MOST_GAIN = 1.7
LIGHTENED = 0.9

# What Pillow raises for files that are no picture, cut off, or malformed.
_UNREADABLE = (
    OSError,
    ValueError,
    SyntaxError,
    EOFError,
    struct.error,
    zlib.error,
    Image.DecompressionBombError,
    Image.DecompressionBombWarning,
)


def print_ready(picture: bytes, width: float, height: float) -> tuple[bytes, float, float] | None:
    """A photo for a place of `width` × `height` mm: the JPEG with the width and height in mm that it fills.

    None if the bytes are no picture: a label never fails for its photo.
    """
    try:
        with Image.open(BytesIO(picture)) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                return None
            opened.draft("L", (_pixels(width), _pixels(height)))
            upright = ImageOps.exif_transpose(opened)
            grey = _on_white(upright)
    except _UNREADABLE:
        return None
    across, down = _filled(grey.width / grey.height, width, height)
    size = (min(_pixels(across), grey.width), min(_pixels(down), grey.height))
    fitted = ImageOps.fit(grey, size, Image.Resampling.BICUBIC, centering=(0.5, 0.5))
    out = BytesIO()
    _toned(fitted).save(out, "JPEG", quality=JPEG_QUALITY)
    return out.getvalue(), across, down


def _pixels(millimetres: float) -> int:
    return max(1, round(millimetres / 25.4 * PRINT_DPI))


def _on_white(image: Image.Image) -> Image.Image:
    """The picture in grey; what is see-through becomes white paper."""
    if not image.has_transparency_data:
        return image.convert("L")
    clear = image.convert("RGBA")
    paper = Image.new("RGBA", clear.size, "white")
    return Image.alpha_composite(paper, clear).convert("L")


def _toned(grey: Image.Image) -> Image.Image:
    """The tones drawn out to what paper shows, without solid black, and a little lighter, for print darkens."""
    counts = grey.histogram()
    dark, light = _level(counts, TAIL), _level(counts, 1 - TAIL)
    gain = min(MOST_GAIN, (WHITEST - BLACKEST) / max(light - dark, 1))
    middle = (BLACKEST + WHITEST) / 2
    table = []
    for tone in range(256):
        drawn_out = min(255.0, max(0.0, middle + gain * (tone - (dark + light) / 2)))
        table.append(round(255 * (drawn_out / 255) ** LIGHTENED))
    return grey.point(table)


def _level(counts: list[int], share: float) -> int:
    """The tone below which this share of the picture lies."""
    wanted, seen = share * sum(counts), 0
    for tone, count in enumerate(counts):
        seen += count
        if seen >= wanted:
            return tone
    return 255


def _filled(aspect: float, width: float, height: float) -> tuple[float, float]:
    """What a picture of this aspect fills of its place: all of it, or as much as it can whole."""
    place = width / height
    kept = min(aspect / place, place / aspect)
    if kept >= 1 - MOST_CROPPED:
        return width, height
    return (width, width / aspect) if aspect > place else (height * aspect, height)
