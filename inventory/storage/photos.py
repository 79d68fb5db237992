"""Photos of offcuts: how a picture from a phone is read, and how it is kept.

Sizes are pixels.
"""

from __future__ import annotations

import hashlib
import re
import threading
import warnings
from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from io import BytesIO
from pathlib import Path
from typing import BinaryIO

import pillow_heif
from PIL import ExifTags, Image, ImageCms, ImageOps, UnidentifiedImageError

from inventory.core.errors import UserError
from inventory.storage.atomic_write import atomic_write, make_folder
from inventory.storage.records import StoredPhoto

MAX_BYTES = 30_000_000
# The largest picture that a "50 megapixel" phone writes: 8192 × 6144 (from memory).
MAX_PIXELS = 8192 * 6144
MAX_SIDE = 65_000

# common practice, no source
JPEG_QUALITY = 85
THUMB_QUALITY = 80

_FORMATS = ("JPEG", "PNG", "WEBP", "HEIF", "AVIF")
_DIGEST = re.compile(r"[0-9a-f]{64}")
_DAMAGED = (OSError, ValueError, SyntaxError, EOFError, RuntimeError, OverflowError, MemoryError)
_PAPER = (255, 255, 255)

_decode_lock = threading.Lock()
"""Held while a picture is decoded: eight phones at once then need the memory of one,
and Python's list of warning filters, which all threads share, is changed by one alone."""


class InvalidPhoto(UserError):
    """A file that is not a picture that can be stored."""


class NoSuchPhoto(UserError):
    """No stored photo has this digest or size."""


class PhotoSize(Enum):
    """The two sizes that are stored of each photo."""

    FULL = "full"
    THUMB = "thumb"

    @property
    def longest_side(self) -> int:
        """The longest side, in pixels."""
        return 2400 if self is PhotoSize.FULL else 480


@dataclass(frozen=True)
class IncomingPhoto:
    """A picture that was read but not stored yet: two JPEGs, upright, without metadata."""

    full: bytes
    thumb: bytes
    width: int
    height: int

    @cached_property
    def digest(self) -> str:
        """SHA-256 of the full picture, 64 hex digits."""
        return hashlib.sha256(self.full).hexdigest()


def read_photo(source: bytes | BinaryIO, name: str = "") -> IncomingPhoto:
    """Reads a picture as a phone sends it, turns it upright and makes both sizes of it.

    JPEG, PNG, WebP, HEIC and AVIF are read, up to 30 MB and 8192 × 6144 pixels.
    Nothing of the camera's notes (place, time, owner) is kept; a small picture is
    never enlarged; colors are brought to sRGB. `name` stands in the message of
    InvalidPhoto, which says what is wrong and how to fix it.
    """
    content, shown = _content(source, name)
    with _decode_lock, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return _both_sizes(_open(content, shown))
        except Image.DecompressionBombError:
            raise InvalidPhoto(_too_many_pixels(shown)) from None
        except _DAMAGED:
            raise InvalidPhoto(f"{shown} is cut off or damaged and can't be read to its end. Send it again.") from None


def read_grayscale(source: bytes | BinaryIO, name: str = "") -> Image.Image:
    """A picture as a phone sends it, upright, gray and at its own size: to be analyzed, not stored.

    Reads and refuses what `read_photo` reads and refuses. Raises InvalidPhoto.
    """
    content, shown = _content(source, name)
    with _decode_lock, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            picture = _open(content, shown)
            orientation = picture.getexif().get(ExifTags.Base.Orientation, 1)
            if picture.mode.startswith("I;16"):
                picture = picture.convert("I").point(lambda grey: grey * (1 / 257))
            grey = picture.convert("L")
            grey.getexif()[ExifTags.Base.Orientation] = orientation
            return ImageOps.exif_transpose(grey)
        except Image.DecompressionBombError:
            raise InvalidPhoto(_too_many_pixels(shown)) from None
        except _DAMAGED:
            raise InvalidPhoto(f"{shown} is cut off or damaged and can't be read to its end. Send it again.") from None


def _content(source: bytes | BinaryIO, name: str) -> tuple[bytes, str]:
    """The bytes of a picture and how messages name it. Raises InvalidPhoto."""
    shown = f'"{name[:80]}"' if name else "The photo"
    content = source if isinstance(source, bytes) else source.read(MAX_BYTES + 1)
    if not content:
        raise InvalidPhoto(f"{shown} is empty: no byte of it arrived. Send it again.")
    if len(content) > MAX_BYTES:
        raise InvalidPhoto(
            f"{shown} is larger than {MAX_BYTES // 1_000_000} MB. Take it again at a smaller size, or send a JPEG."
        )
    return content, shown


def _open(content: bytes, shown: str) -> Image.Image:
    pillow_heif.register_heif_opener()
    try:
        picture = Image.open(BytesIO(content), formats=_FORMATS)
    except UnidentifiedImageError:
        raise InvalidPhoto(
            f"{shown} is not a picture that can be read here. Send a JPEG, PNG, WebP, HEIC or AVIF."
        ) from None
    if picture.width * picture.height > MAX_PIXELS or max(picture.size) > MAX_SIDE:
        raise InvalidPhoto(_too_many_pixels(shown, picture.size))
    # A phone's JPEG or HEIC may hold a second, smaller picture; only animations are refused.
    if picture.format in ("PNG", "WEBP", "AVIF") and getattr(picture, "is_animated", False):
        raise InvalidPhoto(f"{shown} moves: it is a film of several pictures. Send a single picture.")
    return picture


def _too_many_pixels(shown: str, size: tuple[int, int] | None = None) -> str:
    pixels = f"{size[0]} × {size[1]} pixels" if size else "far too many pixels"
    return f"{shown} has {pixels}; at most 8192 × 6144 can be kept. Take it again at a smaller size."


def _both_sizes(picture: Image.Image) -> IncomingPhoto:
    side = PhotoSize.FULL.longest_side
    # A JPEG is decoded at a half, a quarter or an eighth where that still is large enough.
    picture.draft("RGB", _scaled(picture.size, side))
    orientation = picture.getexif().get(ExifTags.Base.Orientation, 1)
    plain = _flatten_to_srgb(picture, side)
    # Only this tag of the metadata is set again, for `exif_transpose`; saving writes none.
    plain.getexif()[ExifTags.Base.Orientation] = orientation
    upright = ImageOps.exif_transpose(plain)
    thumb = upright.copy()
    thumb.thumbnail((PhotoSize.THUMB.longest_side,) * 2)
    return IncomingPhoto(_jpeg(upright, JPEG_QUALITY), _jpeg(thumb, THUMB_QUALITY), *upright.size)


def _scaled(size: tuple[int, int], side: int) -> tuple[int, int]:
    longest = max(*size, side)
    return (max(1, size[0] * side // longest), max(1, size[1] * side // longest))


def _flatten_to_srgb(picture: Image.Image, side: int) -> Image.Image:
    """The picture as bare sRGB of at most `side` pixels, on white where it is see-through."""
    profile = picture.info.get("icc_profile")
    if picture.mode.startswith("I;16"):
        picture = picture.convert("I").point(lambda grey: grey * (1 / 257)).convert("L")
    if picture.has_transparency_data:
        picture = picture.convert("RGBA")
    elif picture.mode not in ("RGB", "CMYK"):
        picture = picture.convert("RGB")
    picture.thumbnail((side, side))
    if picture.mode == "RGBA":
        picture = Image.alpha_composite(Image.new("RGBA", picture.size, (*_PAPER, 255)), picture).convert("RGB")
    picture = _in_srgb(picture, profile).convert("RGB")
    picture.info = {}
    return picture


def _in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    if not profile:
        return picture
    try:
        theirs = ImageCms.ImageCmsProfile(BytesIO(profile))
        ours = ImageCms.createProfile("sRGB")
        turned = ImageCms.profileToProfile(picture, theirs, ours, outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError):
        # A profile that is damaged or made for other colors: the bare colors are near enough.
        return picture
    return turned or picture


def _jpeg(picture: Image.Image, quality: int) -> bytes:
    out = BytesIO()
    picture.save(out, "JPEG", quality=quality)
    return out.getvalue()


class PhotoStore:
    """The photos of one shop, in a folder, each under the SHA-256 of its full picture."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(self, photo: IncomingPhoto) -> StoredPhoto:
        """Stores both sizes of a photo; the same picture twice is stored once.

        When it returns, both files survive a loss of power. Raises WriteFailed where
        the disk is full, and leaves no partial file.
        """
        # The full picture comes last: where it is, its thumb is.
        self._write(self._place(photo.digest, PhotoSize.THUMB), photo.thumb)
        self._write(self._place(photo.digest, PhotoSize.FULL), photo.full)
        return StoredPhoto(photo.digest, photo.width, photo.height)

    def path(self, digest: str, size: PhotoSize | str) -> Path:
        """The file of a kept photo.

        Only 64 lower-case hex digits and a known size make a path, so that no
        path from a user ever reaches the disk. Raises NoSuchPhoto.
        """
        place = self._place(digest, size)
        if not place.is_file():
            raise NoSuchPhoto("That photo is not in this shop's folder. Open the piece and take it again.")
        return place

    def _write(self, place: Path, content: bytes) -> None:
        make_folder(place.parent)
        if not (place.is_file() and place.read_bytes() == content):
            with atomic_write(place) as stream:
                stream.write(content)

    def _place(self, digest: str, size: PhotoSize | str) -> Path:
        try:
            known = PhotoSize(size)
        except ValueError:
            raise NoSuchPhoto('A photo is kept as "full" and as "thumb", in no other size.') from None
        if not _DIGEST.fullmatch(digest):
            raise NoSuchPhoto("That is no photo of this shop: its name must be 64 hex digits.")
        return self.folder / digest[:2] / f"{digest}-{known.value}.jpg"
