"""Stocktaking: the tags seen at a location set against what should lie there, and the differences mended in one go.

Knows that several phones may look at once: each tag that was seen is noted once, and only what holds at the
moment of finishing is mended. Which pieces were not seen for long: `unseen`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import BinaryIO

from sqlalchemy import Connection, func, select

from inventory.core.codes import read_code, read_scanned, shown_code
from inventory.core.errors import Mendable
from inventory.core.offcuts import LONGEST_NAME, MOST_IN_A_BUNDLE, location_key
from inventory.services.rack.scanning import Scan, SeenTag, scan_photo, scan_still, tags_of
from inventory.services.rack.tagging import tidy_name
from inventory.services.stock_check.differences import (
    NOTHING_LOOKED_AFTER,
    Found,
    Mender,
    Mending,
    NotACount,
    StocktakeView,
    otherwise,
)
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord
from inventory.storage.repositories import stock_checks
from inventory.storage.repositories.offcuts import HERE, RECORD_COLUMNS, records_of
from inventory.storage.repositories.stock_checks import Stocktake
from inventory.storage.tables import OFFCUTS

__all__ = [
    "Found", "Mending", "NoSuchStocktake", "NotACount", "NotALocation", "NotEmpty", "StocktakeEnded", "StocktakeView",
    "begin", "count", "finish", "listed", "location_of", "places", "put_away", "see", "see_photo", "see_still", "unsee",
    "view",
]  # fmt: skip

LATEST = 10


class NoSuchStocktake(Mendable):
    """No stocktake has this number."""


class NotALocation(Mendable):
    """A location of which no stock can be taken."""


class StocktakeEnded(Mendable):
    """Somebody finished the stocktake meanwhile."""


class NotEmpty(Mendable):
    """A stocktake that is to be put away and has seen something."""


def begin(shop: Shop, location: str) -> int:
    """The number of the location's stocktake: the one under way, else a new one. Raises NotALocation."""
    name = tidy_name(location)
    if not name:
        raise NotALocation("No location is chosen. Choose one, or type what stands on the shelf.")
    if len(name) > LONGEST_NAME:
        raise NotALocation(f"The location has {len(name)} letters, and {LONGEST_NAME} fit. Shorten it.")
    with shop.writing() as connection:
        for each in stock_checks.stocktakes_under_way(connection):
            if location_key(each.location) == location_key(name):
                return each.id
        return stock_checks.insert_stocktake(connection, _as_known(connection, name), shop.now())


def _as_known(connection: Connection, name: str) -> str:
    """The location in the spelling that the latest piece there has, else as typed."""
    asked = select(OFFCUTS.c.location).where(OFFCUTS.c.location_key == location_key(name), OFFCUTS.c.state.in_(HERE))
    return connection.scalar(asked.order_by(OFFCUTS.c.id.desc()).limit(1)) or name


def listed(shop: Shop) -> tuple[tuple[Stocktake, ...], tuple[Stocktake, ...]]:
    """The stocktakes under way, and the latest that are finished."""
    with shop.reading() as connection:
        return stock_checks.stocktakes_under_way(connection), stock_checks.stocktakes_ended(connection, LATEST)


def places(shop: Shop) -> tuple[tuple[str, int], ...]:
    """The locations of what is in the shop, in order, with how many tags lie there."""
    c = OFFCUTS.c
    asked = select(c.location, func.max(c.id), func.count()).where(c.state.in_(HERE), c.location_key != "")
    with shop.reading() as connection:
        rows = connection.execute(asked.group_by(c.location_key).order_by(c.location_key))
        return tuple((row[0], row[2]) for row in rows)


def view(shop: Shop, number: int) -> StocktakeView:
    """A stocktake as it stands. Raises NoSuchStocktake."""
    with shop.reading() as connection:
        return _view(connection, _the_stocktake(connection, number))


def location_of(shop: Shop, number: int) -> str:
    """The location of a stocktake. Raises NoSuchStocktake."""
    with shop.reading() as connection:
        return _the_stocktake(connection, number).location


def _the_stocktake(connection: Connection, number: int) -> Stocktake:
    found = stock_checks.stocktake_of(connection, number) if 0 < number < 2**63 else None
    if found is None:
        raise NoSuchStocktake(f"There is no stocktake {number}. Choose a location and begin anew.")
    return found


def _under_way(connection: Connection, number: int) -> Stocktake:
    found = _the_stocktake(connection, number)
    if found.ended_at is not None:
        raise StocktakeEnded(
            f"The stocktake of {found.location} was finished meanwhile, so nothing more was noted. Begin a new one."
        )
    return found


def _view(connection: Connection, stocktake: Stocktake) -> StocktakeView:
    key = location_key(stocktake.location)
    noted = stock_checks.sightings(connection, stocktake.id)
    tags = tags_of(connection, [each.code for each in noted])
    found: dict[int, Found] = {}
    for sighting, tag in zip(noted, tags, strict=True):
        if tag.record is not None:
            # A piece may have been seen by two tags, its old one and its new one.
            before = found.get(tag.record.id)
            pieces = sighting.pieces if before is None or before.pieces is None else before.pieces
            found[tag.record.id] = Found(tag.record, pieces)
    there = RECORD_COLUMNS.where(OFFCUTS.c.location_key == key, OFFCUTS.c.state.in_(HERE)).order_by(OFFCUTS.c.code)
    unseen = [each for each in records_of(connection, connection.execute(there)) if each.id not in found]
    here = [each for each in found.values() if each.record.here]
    return StocktakeView(
        stocktake,
        right=tuple(each for each in here if location_key(each.record.offcut.location) == key),
        misplaced=tuple(each for each in here if location_key(each.record.offcut.location) != key),
        gone=tuple(each for each in found.values() if not each.record.here),
        untagged=tuple(tag for tag in tags if tag.record is None),
        missing=tuple(each for each in unseen if not each.set_aside),
        aside=tuple(each for each in unseen if each.set_aside),
    )


def see(shop: Shop, number: int, text: str) -> tuple[SeenTag, ...]:
    """Notes the tags whose codes were typed or scanned, parted by commas or lines; all or none.

    Raises NoSuchStocktake, StocktakeEnded, NotACode.
    """
    codes = [read_scanned(each) for each in text.replace(",", "\n").replace(";", "\n").splitlines() if each.strip()]
    return _note(shop, number, codes or [read_code(text)])


def see_photo(shop: Shop, number: int, source: bytes | BinaryIO, name: str = "") -> Scan:
    """Notes all tags in a photo of a shelf; the photo is not kept. Raises as `see`, and NotAPhoto."""
    scan = scan_photo(shop, source, name)
    _note(shop, number, [tag.code for tag in scan.tags])
    return scan


def see_still(shop: Shop, number: int, source: bytes | BinaryIO) -> Scan:
    """As `see_photo` for one picture of a live camera, of which the first tag is noted."""
    scan = scan_still(shop, source)
    _note(shop, number, [tag.code for tag in scan.tags])
    return scan


def _note(shop: Shop, number: int, codes: Sequence[str]) -> tuple[SeenTag, ...]:
    with shop.writing() as connection:
        _under_way(connection, number)
        tags = tags_of(connection, codes)
        noted = [tag.record.code if tag.record else tag.code for tag in tags]
        stock_checks.see(connection, number, noted, shop.now())
        return tags


def unsee(shop: Shop, number: int, code: str) -> str:
    """Takes back that a tag was seen; answers its code. Raises as `see`."""
    read = read_code(code)
    with shop.writing() as connection:
        _under_way(connection, number)
        noted = [each.code for each in stock_checks.sightings(connection, number)]
        meant, *others = tags_of(connection, [read, *noted])
        same = [tag.code for tag in others if tag.record is not None and tag.record == meant.record]
        stock_checks.unsee(connection, number, [read, *same])
        return read


def count(shop: Shop, number: int, code: str, typed: str) -> Found:
    """Notes how many pieces of a bundle are there; its tag was seen, then. Raises as `see`, and NotACount."""
    read = read_code(code)
    with shop.writing() as connection:
        _under_way(connection, number)
        (tag,) = tags_of(connection, [read])
        if tag.record is None or not tag.record.here:
            raise NotACount(f"{shown_code(read)} is no piece on the rack, so there is nothing to count.")
        pieces = _read_count(tag.record, typed)
        stock_checks.count(connection, number, tag.record.code, pieces, shop.now())
        return Found(tag.record, pieces)


def _read_count(record: OffcutRecord, typed: str) -> int:
    text = typed.strip()
    if not (text.isascii() and text.isdigit() and len(text) < 9):
        raise NotACount(f'"{text[:40]}" is no number of pieces. Type one such as {record.offcut.count}.')
    pieces, least = int(text), max(record.set_aside, 1)
    if pieces < least and record.set_aside:
        raise NotACount(
            f"{record.set_aside} of {shown_code(record.code)} are set aside for a board, so there can't be {pieces} in "
            "all. Count those at the bench too, or abandon the board first."
        )
    if pieces < least:
        raise NotACount(
            f"{shown_code(record.code)} can't have {pieces} pieces and be seen. Take it off the list instead."
        )
    if pieces > MOST_IN_A_BUNDLE:
        raise NotACount(f"{pieces} pieces are more than one tag may have, {MOST_IN_A_BUNDLE}. Tag some of them anew.")
    return pieces


def finish(shop: Shop, number: int, mending: Mending) -> Stocktake:
    """Mends all differences as asked, in one go, and keeps what came of it.

    What another phone saw meanwhile counts: a piece that is there by now is not let go. A stocktake that is finished
    stays as it is, and whoever asked for something else is told what came otherwise. Raises NoSuchStocktake, NotACount
    (more are set aside than were counted), StocktakeEnded.
    """
    with shop.writing() as connection:
        stocktake = _the_stocktake(connection, number)
        if stocktake.outcome is not None:
            told = otherwise(mending, stocktake.outcome)
            if told:
                raise StocktakeEnded(
                    f"The stocktake of {stocktake.location} was finished before this was sent, and not as it was asked "
                    f"for here. {' '.join(told)} Mend that on the pieces' own pages."
                )
            return stocktake
        outcome = Mender(connection, stocktake, shop.now()).mend(_view(connection, stocktake), mending)
        stock_checks.end_stocktake(connection, number, shop.now(), outcome)
        return _the_stocktake(connection, number)


def put_away(shop: Shop, number: int) -> Stocktake:
    """Ends a stocktake that was begun by mistake and changes nothing.

    Raises NoSuchStocktake, StocktakeEnded, NotEmpty.
    """
    with shop.writing() as connection:
        stocktake = _under_way(connection, number)
        seen = len(stock_checks.sightings(connection, number))
        if seen:
            raise NotEmpty(
                f"{seen} {'tag was' if seen == 1 else 'tags were'} seen at {stocktake.location}. Finish the stocktake, "
                "or take them off its list first."
            )
        stock_checks.end_stocktake(connection, number, shop.now(), dict(NOTHING_LOOKED_AFTER))
        return _the_stocktake(connection, number)
