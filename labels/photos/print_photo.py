"""Photos made ready for a printer: cut to the piece, at print size, grey or in black dots, clear.

Knows pixels and tones. Knows nothing of labels. Labels come from laser and
thermal printers without colour, so photos go in grey, with their tones drawn
out; or, for a printer that knows black dots alone, as those dots, one to one.
"""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass
from io import BytesIO

import numpy as np
from PIL import Image, ImageFilter, ImageOps

from labels.pdf.printer import Tone
from labels.photos.cropping import WHOLE, piece_in

JPEG_QUALITY = 82

# Photos come from the shop's own store, 2400 px at most; whatever is far larger is not looked at.
MOST_PIXELS = 40_000_000

# A photo may lose this share of its area so that it fills its place; beyond that it is shown whole.
MOST_CROPPED = 0.30

# A photo is never decoded finer than this many times what is printed of it.
SPARE_PIXELS = 2

# common practice, no source: wood photos are flat and print dark, solid black wets labels and eats toner
TAIL = 0.01
MOST_GAIN = 1.7


@dataclass(frozen=True)
class _Tones:
    """The darkest and lightest tone that is printed, and the power that lightens what lies between."""

    blackest: int
    whitest: int
    power: float


# common practice, no source: single dots of a thermal head melt into one another, so dotted photos begin lighter
_TONES = {Tone.GREY: _Tones(30, 250, 0.9), Tone.BLACK: _Tones(16, 250, 0.72)}


@dataclass(frozen=True)
class Ready:
    """A photo as the page holds it: a grey JPEG or rows of dots (8 a byte, 1 is white), and its pixels both ways."""

    tone: Tone
    content: bytes
    across: int
    down: int


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


def opened(picture: bytes, most: int) -> Image.Image | None:
    """A photo, upright, in colour; None if the bytes are no picture.

    `most` is how many pixels the longer side of what is printed may have: a larger photo is decoded more coarsely.
    A label never fails for its photo.
    """
    try:
        with Image.open(BytesIO(picture)) as found:
            if found.width * found.height > MOST_PIXELS:
                return None
            found.draft("RGB", (SPARE_PIXELS * most, SPARE_PIXELS * most))
            found.load()
            ImageOps.exif_transpose(found, in_place=True)
            return _on_white(found)
    except _UNREADABLE:
        return None


def cut_to_piece(photo: Image.Image) -> Image.Image:
    """The part of a photo that shows the piece; all of it where the piece is not clear."""
    piece = piece_in(photo)
    return photo if piece == WHOLE else photo.crop(piece.of(*photo.size))


def filled_by(photo: Image.Image, width: float, height: float) -> tuple[float, float]:
    """What a photo fills of a place of this width and height in mm: all of it, or as much as it can whole."""
    aspect, place = photo.width / photo.height, width / height
    kept = min(aspect / place, place / aspect)
    if kept >= 1 - MOST_CROPPED:
        return width, height
    return (width, width / aspect) if aspect > place else (height * aspect, height)


def print_ready(photo: Image.Image, across: int, down: int, tone: Tone) -> Ready:
    """A photo at so many pixels or dots; a photo smaller than that in grey stays as it is."""
    if tone is Tone.GREY:
        across, down = min(across, photo.width), min(down, photo.height)
    fitted = ImageOps.fit(photo.convert("L"), (across, down), Image.Resampling.BICUBIC, centering=(0.5, 0.5))
    toned = _toned(fitted, _TONES[tone])
    if tone is Tone.BLACK:
        sharp = toned.filter(ImageFilter.UnsharpMask(radius=1.2, percent=90, threshold=2))
        return Ready(tone, sharp.convert("1", dither=Image.Dither.FLOYDSTEINBERG).tobytes(), across, down)
    out = BytesIO()
    toned.save(out, "JPEG", quality=JPEG_QUALITY)
    return Ready(tone, out.getvalue(), across, down)


def _on_white(image: Image.Image) -> Image.Image:
    """The picture in colour; what is see-through becomes white paper."""
    if not image.has_transparency_data:
        return image if image.mode == "RGB" else image.convert("RGB")
    clear = image.convert("RGBA")
    paper = Image.new("RGBA", clear.size, "white")
    return Image.alpha_composite(paper, clear).convert("RGB")


def _toned(grey: Image.Image, tones: _Tones) -> Image.Image:
    """The tones drawn out to what paper shows, without solid black, and a little lighter, for print darkens."""
    seen = np.cumsum(grey.histogram())
    dark, light = (int(np.searchsorted(seen, share * seen[-1])) for share in (TAIL, 1 - TAIL))
    gain = min(MOST_GAIN, (tones.whitest - tones.blackest) / max(light - dark, 1))
    middle = (tones.blackest + tones.whitest) / 2
    drawn_out = np.clip(middle + gain * (np.arange(256) - (dark + light) / 2), 0, 255)
    return grey.point(np.rint(255 * (drawn_out / 255) ** tones.power).astype(int).tolist())
