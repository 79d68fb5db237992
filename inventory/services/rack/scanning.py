"""Scanning: which pieces are in a photo, and which piece a scanned or typed code belongs to.

`labels.reading` finds the tags; it returns only whole codes with the right check character.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import BinaryIO

from sqlalchemy import Connection

from inventory.core.codes import code_in_picture, one_typo_away, read_code
from inventory.shop import Shop
from inventory.storage.photos import read_grayscale
from inventory.storage.records import OffcutRecord
from inventory.storage.repositories.codes import is_issued
from inventory.storage.repositories.offcuts import records_by_code
from labels.reading import Corners, Reading, read_frame, read_photo


class TagStatus(Enum):
    """What a tag's code belongs to in this shop."""

    PIECE = "piece"
    BLANK = "blank"
    STRANGE = "strange"


@dataclass(frozen=True)
class ReadTag:
    """A tag that was read. `code` is the one on it; the piece of a replaced tag has another now (`record.code`).

    BLANK: the code was given here and no piece has it. STRANGE: it was never given here.
    `places` are the corners of its one or two symbols in the photo, in pixels.
    """

    code: str
    status: TagStatus
    record: OffcutRecord | None
    places: tuple[Corners, ...] = ()


@dataclass(frozen=True)
class PhotoScan:
    """What a photo shows: tags in reading order, places of unreadable symbols, texts of codes that are not tags."""

    tags: tuple[ReadTag, ...]
    undecoded: tuple[Corners, ...]
    others: tuple[str, ...]

    @property
    def records(self) -> tuple[OffcutRecord, ...]:
        """The pieces in the photo, each once."""
        return tuple({each.record.id: each.record for each in self.tags if each.record is not None}.values())


def scan_photo(shop: Shop, source: bytes | BinaryIO, name: str = "") -> PhotoScan:
    """Which pieces' tags are in a photo, one or a whole shelf; the photo is not kept. Raises InvalidPhoto."""
    return _scan(shop, read_photo(read_grayscale(source, name), code_in_picture))


def scan_still(shop: Shop, source: bytes | BinaryIO) -> PhotoScan:
    """As `scan_photo` for one picture of a live camera, of which the first tag is enough. Raises InvalidPhoto."""
    return _scan(shop, read_frame(read_grayscale(source), code_in_picture))


def _scan(shop: Shop, reading: Reading) -> PhotoScan:
    places: dict[str, tuple[Corners, ...]] = {}
    for seen in reading.seen:
        places[seen.code] = (*places.get(seen.code, ()), seen.corners)
    tags = look_up(shop, reading.codes)
    return PhotoScan(
        tuple(ReadTag(each.code, each.status, each.record, places[each.code]) for each in tags),
        reading.undecoded,
        tuple(dict.fromkeys(each.text for each in reading.others)),
    )


def look_up(shop: Shop, codes: Sequence[str]) -> tuple[ReadTag, ...]:
    """What these codes belong to, each once, in their order. Raises InvalidCode."""
    read = [read_code(code) for code in codes]
    with shop.reading() as connection:
        return tags_of(connection, read)


def similar_tags(shop: Shop, text: str) -> tuple[ReadTag, ...]:
    """The tags of this shop that an invalid code may be a typing error of."""
    with shop.reading() as connection:
        tags = tags_of(connection, one_typo_away(text))
    return tuple(tag for tag in tags if tag.status is not TagStatus.STRANGE)


def tags_of(connection: Connection, codes: Sequence[str]) -> tuple[ReadTag, ...]:
    """As `look_up` with codes that were read, within a transaction."""
    once = list(dict.fromkeys(codes))
    records = records_by_code(connection, once)
    return tuple(
        ReadTag(
            code,
            TagStatus.PIECE
            if code in records
            else TagStatus.BLANK
            if is_issued(connection, code)
            else TagStatus.STRANGE,
            records.get(code),
        )
        for code in once
    )
