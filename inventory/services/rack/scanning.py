"""Scanning: which pieces are in a photo, and what a code that was scanned or typed leads to.

Knows codes and what stands behind them here. Finding tags in a picture is
`labels.reading`'s; only whole codes with the right check character come from there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import BinaryIO

from sqlalchemy import Connection

from inventory.core.codes import code_in_picture, one_slip_away, read_code
from inventory.shop import Shop
from inventory.storage.photos import look_at
from inventory.storage.records import OffcutRecord
from inventory.storage.repositories.codes import is_given
from inventory.storage.repositories.offcuts import records_by_code
from labels.reading import Corners, Reading, read_photo, read_still


class Standing(Enum):
    """What a tag's code stands for in this shop."""

    PIECE = "piece"
    BLANK = "blank"
    STRANGE = "strange"


@dataclass(frozen=True)
class SeenTag:
    """A tag that was read. `code` is what stands on it; a replaced tag's piece has another by now (`record.code`).

    BLANK: the code was given here and no piece has it. STRANGE: it was never given here.
    `places` are the corners of its one or two symbols in the photo, in pixels.
    """

    code: str
    standing: Standing
    record: OffcutRecord | None
    places: tuple[Corners, ...] = ()


@dataclass(frozen=True)
class Scan:
    """What a photo shows: tags in the order of reading, places half read, texts of codes that are no tag's."""

    tags: tuple[SeenTag, ...]
    half_read: tuple[Corners, ...]
    others: tuple[str, ...]

    @property
    def records(self) -> tuple[OffcutRecord, ...]:
        """The pieces in the photo, each once."""
        return tuple({each.record.id: each.record for each in self.tags if each.record is not None}.values())


def scan_photo(shop: Shop, source: bytes | BinaryIO, name: str = "") -> Scan:
    """Which pieces' tags are in a photo, one or a whole shelf; the photo is not kept. Raises NotAPhoto."""
    return _scan(shop, read_photo(look_at(source, name), code_in_picture))


def scan_still(shop: Shop, source: bytes | BinaryIO) -> Scan:
    """As `scan_photo` for one picture of a live camera, of which the first tag is enough. Raises NotAPhoto."""
    return _scan(shop, read_still(look_at(source), code_in_picture))


def _scan(shop: Shop, reading: Reading) -> Scan:
    places: dict[str, tuple[Corners, ...]] = {}
    for seen in reading.seen:
        places[seen.code] = (*places.get(seen.code, ()), seen.corners)
    tags = look_up(shop, reading.codes)
    return Scan(
        tuple(SeenTag(each.code, each.standing, each.record, places[each.code]) for each in tags),
        reading.half_read,
        tuple(dict.fromkeys(each.text for each in reading.others)),
    )


def look_up(shop: Shop, codes: Sequence[str]) -> tuple[SeenTag, ...]:
    """What these codes stand for here, each once, in their order. Raises NotACode."""
    read = [read_code(code) for code in codes]
    with shop.reading() as connection:
        return tags_of(connection, read)


def perhaps_meant(shop: Shop, text: str) -> tuple[SeenTag, ...]:
    """The tags given here of which a text that is no code may be a slip."""
    with shop.reading() as connection:
        tags = tags_of(connection, one_slip_away(text))
    return tuple(tag for tag in tags if tag.standing is not Standing.STRANGE)


def tags_of(connection: Connection, codes: Sequence[str]) -> tuple[SeenTag, ...]:
    """As `look_up` with codes that were read, within a transaction."""
    once = list(dict.fromkeys(codes))
    records = records_by_code(connection, once)
    return tuple(
        SeenTag(
            code,
            Standing.PIECE if code in records else Standing.BLANK if is_given(connection, code) else Standing.STRANGE,
            records.get(code),
        )
        for code in once
    )
