"""Photos cropped, turned, and measured by a symbol of known size in them (`labels.reading`).

Positions are pixels of the full picture, symbol sides mm.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from io import BytesIO

from PIL import Image

from inventory.core.codes import code_in_picture, format_code
from inventory.core.errors import UserError
from inventory.core.lengths import NM_PER_MM, Length
from inventory.services.rack.editing import ChangeNotAllowed
from inventory.services.rack.queries import get_piece
from inventory.shop import Shop
from inventory.storage.photos import PhotoSize, read_grayscale, read_photo
from inventory.storage.records import EventKind, OffcutRecord, PhotoRecord
from inventory.storage.repositories.offcuts import (
    add_event,
    add_photos,
    photos_of,
    piece_conflict,
    reorder_photos,
    update_offcut,
)
from labels.reading import (
    Corner,
    MeasuredLength,
    MeasurementError,
    Reading,
    measure_lengths,
    strip_targets,
    symbol_target,
)
from labels.reading import read_photo as read_tags

MIN_CROP_SIDE = 40
"""What is cut out of a photo has at least so many pixels each way."""
QUALITY = 92
"""An altered JPEG is packed less than a fresh one: it was packed once already (common practice, no source)."""
POINTING_ERROR = 2.5
"""A finger or pointer lands so many pixels of the screen beside what it means (standard deviation; a guess)."""


class Turn(Enum):
    """A quarter turn, as seen on the screen."""

    LEFT = "left"
    RIGHT = "right"


class CannotMeasure(UserError):
    """This photo can't be measured; the sentence says what helps."""


class DamagedPhoto(UserError):
    """A photo whose file can't be read any more."""


class InvalidCrop(UserError):
    """A part of a photo that can't be cut out."""


@dataclass(frozen=True)
class SizeEstimate:
    """A size measured in a photo: within ± `within` with 95 % probability."""

    size: Length
    within: Length

    @property
    def share(self) -> float:
        """The relative uncertainty."""
        return self.within / self.size if self.size else 1.0


def turn(shop: Shop, code: str, version: int, photo: int, way: Turn) -> OffcutRecord:
    """Turns a photo a quarter. Raises NoSuchPiece, Conflict, ChangeNotAllowed (not its photo)."""
    method = Image.Transpose.ROTATE_90 if way is Turn.LEFT else Image.Transpose.ROTATE_270
    return _altered(shop, code, version, photo, lambda picture: picture.transpose(method), f"turned {way.value}")


def crop(shop: Shop, code: str, version: int, photo: int, one: Corner, other: Corner) -> OffcutRecord:
    """Crops a photo to the rectangle between two opposite corners. Raises InvalidCrop, and as `turn`."""

    def cut(picture: Image.Image) -> Image.Image:
        left, right = (_within(place, picture.width) for place in sorted((one[0], other[0])))
        top, bottom = (_within(place, picture.height) for place in sorted((one[1], other[1])))
        if right - left < MIN_CROP_SIDE or bottom - top < MIN_CROP_SIDE:
            raise InvalidCrop(
                f"What is left would be less than {MIN_CROP_SIDE} pixels wide or high. Mark two corners further apart."
            )
        return picture.crop((left, top, right, bottom))

    return _altered(shop, code, version, photo, cut, "cropped")


def _within(place: float, size: int) -> int:
    return min(max(round(place), 0), size)


def _altered(
    shop: Shop, code: str, version: int, photo: int, change: Callable[[Image.Image], Image.Image], result: str
) -> OffcutRecord:
    before = get_photo(shop, code, photo)
    after = shop.photos.keep(read_photo(_packed(change(_whole(shop, before)))))
    with shop.writing() as connection:
        record = get_piece(connection, code)
        if record.version != version:
            raise piece_conflict(record.code)
        places = [each.id for each in record.photos]
        if photo not in places:
            raise _no_such_photo(record.code)
        update_offcut(connection, record)
        add_photos(connection, record.id, [after])
        new = photos_of(connection, [record.id])[record.id][-1].id
        reorder_photos(connection, record.id, [new if each == photo else each for each in places])
        add_event(connection, record.id, shop.now(), EventKind.PHOTO, action=result)
        return get_piece(connection, code)


def _whole(shop: Shop, photo: PhotoRecord) -> Image.Image:
    try:
        with Image.open(shop.photos.path(photo.digest, PhotoSize.FULL)) as picture:
            return picture.convert("RGB")
    except OSError:
        raise DamagedPhoto(
            "The photo's file is damaged and can't be read. Take the photo off the piece, and take another one."
        ) from None


def _packed(picture: Image.Image) -> bytes:
    out = BytesIO()
    picture.save(out, "JPEG", quality=QUALITY)
    return out.getvalue()


def get_photo(shop: Shop, code: str, photo: int) -> PhotoRecord:
    """A photo of a piece by its number. Raises NoSuchPiece, ChangeNotAllowed (not its photo)."""
    with shop.reading() as connection:
        record = get_piece(connection, code)
    for each in record.photos:
        if each.id == photo:
            return each
    raise _no_such_photo(record.code)


def _no_such_photo(code: str) -> ChangeNotAllowed:
    return ChangeNotAllowed(f"{format_code(code)} has no such photo. Look at it as it is now.")


def measure(
    shop: Shop,
    photo: PhotoRecord,
    segments: Sequence[tuple[Corner, Corner]],
    tag_side: float | None,
    pixels_per_screen_pixel: float,
) -> tuple[SizeEstimate, ...]:
    """The lengths between places marked in a photo, by the strips in it, else by its tags.

    `tag_side` is the side of the tags' large codes in mm, None where it is not known;
    `pixels_per_screen_pixel` are pixels of the photo under one pixel of the screen on which
    they were marked. Raises CannotMeasure.
    """
    reading = read_tags(read_grayscale(shop.photos.path(photo.digest, PhotoSize.FULL).read_bytes()), code_in_picture)
    try:
        result = _measure_spans(reading, segments, tag_side, POINTING_ERROR * max(pixels_per_screen_pixel, 0.2))
    except MeasurementError as error:
        raise CannotMeasure(
            f"{error} Lay the two measuring strips, or two tags, flat on the piece's face, one near each end, and take "
            "the photo from straight above, with all of the piece in it."
        ) from None
    return tuple(
        SizeEstimate(Length(round(each.length * NM_PER_MM)), Length(round(each.within * NM_PER_MM))) for each in result
    )


def _measure_spans(
    reading: Reading, segments: Sequence[tuple[Corner, Corner]], tag_side: float | None, finger: float
) -> tuple[MeasuredLength, ...]:
    figures = strip_targets(reading)
    if not figures and tag_side:
        # Of a label with two codes the larger, main one is used: it holds an address where the shop has one.
        large = [each for each in reading.seen if each.text != each.code] or list(reading.seen)
        figures = tuple(symbol_target(each.corners, tag_side) for each in large)
    return measure_lengths(figures, segments, finger)
