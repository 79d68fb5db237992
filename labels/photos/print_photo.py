"""Photos prepared for a printer: cropped to the piece, at print size, in gray or dithered.

Labels are printed on laser and thermal printers without color. So photos are gray with stretched tones, or, for thermal
printers, dithered at the printer's own dots.
"""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass
from io import BytesIO

import numpy as np
from PIL import Image, ImageFilter, ImageOps

from labels.pdf.printer import Tone
from labels.photos.cropping import FULL_PHOTO, find_piece

JPEG_QUALITY = 82

# Stored photos have at most 2400 pixels on a side; far larger ones are not opened.
MAX_PIXELS = 40_000_000

# A photo may lose this share of its area to fill its box; beyond that it is shown whole.
MAX_CROPPED = 0.30

# A photo is decoded at about this many times its printed resolution.
OVERSAMPLING = 2

# common practice, no source: wood photos are flat and print dark, solid black wets labels and eats toner
CLIP_SHARE = 0.01
MAX_GAIN = 1.7


@dataclass(frozen=True)
class _ToneCurve:
    """The darkest and lightest tone that is printed, and the gamma for the tones between."""

    black_point: int
    white_point: int
    gamma: float


# common practice, no source: the dots of a thermal head merge, so dithered photos are lighter
_TONE_CURVES = {Tone.GREY: _ToneCurve(30, 250, 0.9), Tone.BLACK: _ToneCurve(16, 250, 0.72)}


@dataclass(frozen=True)
class PreparedPhoto:
    """A photo as it is embedded: a gray JPEG, or rows of dots (8 per byte, 1 is white), and its size in pixels."""

    tone: Tone
    content: bytes
    across: int
    down: int


# What Pillow raises for files that are no picture, truncated, or malformed.
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


def open_photo(picture: bytes, max_side: int) -> Image.Image | None:
    """A photo, upright, in color; None if the bytes are no picture, so that a label never fails for its photo.

    A photo that is much larger than `max_side`, the longer side in pixels as printed, is decoded at a reduced size.
    """
    try:
        with Image.open(BytesIO(picture)) as found:
            if found.width * found.height > MAX_PIXELS:
                return None
            found.draft("RGB", (OVERSAMPLING * max_side, OVERSAMPLING * max_side))
            found.load()
            ImageOps.exif_transpose(found, in_place=True)
            return _flatten_on_white(found)
    except _UNREADABLE:
        return None


def crop_to_piece(photo: Image.Image) -> Image.Image:
    """The part of a photo that shows the piece; the full photo where the piece is not found."""
    piece = find_piece(photo)
    return photo if piece == FULL_PHOTO else photo.crop(piece.in_pixels(*photo.size))


def fitted_size(photo: Image.Image, width: float, height: float) -> tuple[float, float]:
    """The size of a photo in a box of this width and height in mm: all of it, or as much as fits uncropped."""
    aspect, place = photo.width / photo.height, width / height
    kept = min(aspect / place, place / aspect)
    if kept >= 1 - MAX_CROPPED:
        return width, height
    return (width, width / aspect) if aspect > place else (height * aspect, height)


def prepare_photo(photo: Image.Image, across: int, down: int, tone: Tone) -> PreparedPhoto:
    """A photo at so many pixels or dots; a smaller photo in gray is not enlarged."""
    if tone is Tone.GREY:
        across, down = min(across, photo.width), min(down, photo.height)
    fitted = ImageOps.fit(photo.convert("L"), (across, down), Image.Resampling.BICUBIC, centering=(0.5, 0.5))
    toned = _apply_tone_curve(fitted, _TONE_CURVES[tone])
    if tone is Tone.BLACK:
        sharp = toned.filter(ImageFilter.UnsharpMask(radius=1.2, percent=90, threshold=2))
        return PreparedPhoto(tone, sharp.convert("1", dither=Image.Dither.FLOYDSTEINBERG).tobytes(), across, down)
    out = BytesIO()
    toned.save(out, "JPEG", quality=JPEG_QUALITY)
    return PreparedPhoto(tone, out.getvalue(), across, down)


def _flatten_on_white(image: Image.Image) -> Image.Image:
    """The picture in color; transparent parts become white."""
    if not image.has_transparency_data:
        return image if image.mode == "RGB" else image.convert("RGB")
    clear = image.convert("RGBA")
    paper = Image.new("RGBA", clear.size, "white")
    return Image.alpha_composite(paper, clear).convert("RGB")


def _apply_tone_curve(grey: Image.Image, tones: _ToneCurve) -> Image.Image:
    """The tones stretched to those that are printed, without solid black, and lightened, because print darkens."""
    cumulative = np.cumsum(grey.histogram())
    dark, light = (int(np.searchsorted(cumulative, share * cumulative[-1])) for share in (CLIP_SHARE, 1 - CLIP_SHARE))
    gain = min(MAX_GAIN, (tones.white_point - tones.black_point) / max(light - dark, 1))
    middle = (tones.black_point + tones.white_point) / 2
    stretched = np.clip(middle + gain * (np.arange(256) - (dark + light) / 2), 0, 255)
    return grey.point(np.rint(255 * (stretched / 255) ** tones.gamma).astype(int).tolist())
