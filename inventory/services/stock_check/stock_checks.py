"""Stock checks: the tags seen at a location are compared with those that should be there."""

from __future__ import annotations

from collections.abc import Sequence
from typing import BinaryIO

from sqlalchemy import Connection, func, select

from inventory.core.codes import format_code, read_code, read_scanned
from inventory.core.errors import UserError
from inventory.core.offcuts import MAX_BUNDLE_COUNT, MAX_NAME_LENGTH, location_key
from inventory.core.whole_numbers import read_integer
from inventory.services.rack.scanning import PhotoScan, ReadTag, scan_photo, scan_still, tags_of
from inventory.services.rack.tagging import normalize_name
from inventory.services.stock_check.differences import (
    CANCELED_OUTCOME,
    FoundPiece,
    InvalidCount,
    Reconciler,
    Reconciliation,
    StockCheckView,
    differences_from,
)
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord
from inventory.storage.repositories import stock_checks
from inventory.storage.repositories.offcuts import HERE, RECORD_COLUMNS, records_of
from inventory.storage.repositories.stock_checks import StockCheck
from inventory.storage.tables import OFFCUTS

__all__ = [
    "FoundPiece",
    "InvalidCount",
    "InvalidLocation",
    "NoSuchStockCheck",
    "Reconciliation",
    "StockCheckEnded",
    "StockCheckNotEmpty",
    "StockCheckView",
    "begin",
    "count",
    "finish",
    "listed",
    "location_of",
    "places",
    "put_away",
    "see",
    "see_photo",
    "see_still",
    "unsee",
    "view",
]  # fmt: skip

LATEST = 10


class NoSuchStockCheck(UserError):
    """No stock check has this number."""


class InvalidLocation(UserError):
    """A location that can't be checked."""


class StockCheckEnded(UserError):
    """Somebody else finished the stock check."""


class StockCheckNotEmpty(UserError):
    """A stock check that is to be canceled although tags were seen."""


def begin(shop: Shop, location: str) -> int:
    """The number of the location's open stock check, else of a new one. Raises InvalidLocation."""
    name = normalize_name(location)
    if not name:
        raise InvalidLocation("No location is chosen. Choose one, or type what stands on the shelf.")
    if len(name) > MAX_NAME_LENGTH:
        raise InvalidLocation(f"The location has {len(name)} letters, and {MAX_NAME_LENGTH} fit. Shorten it.")
    with shop.writing() as connection:
        for each in stock_checks.open_stock_checks(connection):
            if location_key(each.location) == location_key(name):
                return each.id
        return stock_checks.insert_stock_check(connection, _as_known(connection, name), shop.now())


def _as_known(connection: Connection, name: str) -> str:
    """The location in the spelling that the latest piece there has, else as typed."""
    asked = select(OFFCUTS.c.location).where(OFFCUTS.c.location_key == location_key(name), OFFCUTS.c.state.in_(HERE))
    return connection.scalar(asked.order_by(OFFCUTS.c.id.desc()).limit(1)) or name


def listed(shop: Shop) -> tuple[tuple[StockCheck, ...], tuple[StockCheck, ...]]:
    """The open stock checks, and the latest finished ones."""
    with shop.reading() as connection:
        return stock_checks.open_stock_checks(connection), stock_checks.finished_stock_checks(connection, LATEST)


def places(shop: Shop) -> tuple[tuple[str, int], ...]:
    """The locations in the shop, in order, with the number of tags in each."""
    c = OFFCUTS.c
    asked = select(c.location, func.max(c.id), func.count()).where(c.state.in_(HERE), c.location_key != "")
    with shop.reading() as connection:
        rows = connection.execute(asked.group_by(c.location_key).order_by(c.location_key))
        return tuple((row[0], row[2]) for row in rows)


def view(shop: Shop, number: int) -> StockCheckView:
    """A stock check as it is now. Raises NoSuchStockCheck."""
    with shop.reading() as connection:
        return _view(connection, _get_stock_check(connection, number))


def location_of(shop: Shop, number: int) -> str:
    """The location of a stock check. Raises NoSuchStockCheck."""
    with shop.reading() as connection:
        return _get_stock_check(connection, number).location


def _get_stock_check(connection: Connection, number: int) -> StockCheck:
    found = stock_checks.stock_check_by_id(connection, number) if 0 < number < 2**63 else None
    if found is None:
        raise NoSuchStockCheck(f"There is no stocktake {number}. Choose a location and begin anew.")
    return found


def _open_check(connection: Connection, number: int) -> StockCheck:
    found = _get_stock_check(connection, number)
    if found.ended_at is not None:
        raise StockCheckEnded(
            f"The stocktake of {found.location} was finished meanwhile, so nothing more was noted. Begin a new one."
        )
    return found


def _view(connection: Connection, stock_check: StockCheck) -> StockCheckView:
    key = location_key(stock_check.location)
    noted = stock_checks.sightings(connection, stock_check.id)
    tags = tags_of(connection, [each.code for each in noted])
    found: dict[int, FoundPiece] = {}
    for sighting, tag in zip(noted, tags, strict=True):
        if tag.record is not None:
            # A piece may have been seen by two tags, the old one and the new one.
            before = found.get(tag.record.id)
            pieces = sighting.pieces if before is None or before.pieces is None else before.pieces
            found[tag.record.id] = FoundPiece(tag.record, pieces)
    there = RECORD_COLUMNS.where(OFFCUTS.c.location_key == key, OFFCUTS.c.state.in_(HERE)).order_by(OFFCUTS.c.code)
    unseen = [each for each in records_of(connection, connection.execute(there)) if each.id not in found]
    here = [each for each in found.values() if each.record.here]
    return StockCheckView(
        stock_check,
        right=tuple(each for each in here if location_key(each.record.offcut.location) == key),
        misplaced=tuple(each for each in here if location_key(each.record.offcut.location) != key),
        gone=tuple(each for each in found.values() if not each.record.here),
        untagged=tuple(tag for tag in tags if tag.record is None),
        missing=tuple(each for each in unseen if not each.set_aside),
        on_hold=tuple(each for each in unseen if each.set_aside),
    )


def see(shop: Shop, number: int, text: str) -> tuple[ReadTag, ...]:
    """Records the tags whose codes were typed or scanned, separated by commas or lines; all or none.

    Raises NoSuchStockCheck, StockCheckEnded, InvalidCode.
    """
    codes = [read_scanned(each) for each in text.replace(",", "\n").replace(";", "\n").splitlines() if each.strip()]
    return _note(shop, number, codes or [read_code(text)])


def see_photo(shop: Shop, number: int, source: bytes | BinaryIO, name: str = "") -> PhotoScan:
    """Records all tags in a photo of a shelf; the photo is not stored. Raises as `see`, and InvalidPhoto."""
    scan = scan_photo(shop, source, name)
    _note(shop, number, [tag.code for tag in scan.tags])
    return scan


def see_still(shop: Shop, number: int, source: bytes | BinaryIO) -> PhotoScan:
    """As `see_photo` for one picture of a live camera, of which the first tag is recorded."""
    scan = scan_still(shop, source)
    _note(shop, number, [tag.code for tag in scan.tags])
    return scan


def _note(shop: Shop, number: int, codes: Sequence[str]) -> tuple[ReadTag, ...]:
    with shop.writing() as connection:
        _open_check(connection, number)
        tags = tags_of(connection, codes)
        noted = [tag.record.code if tag.record else tag.code for tag in tags]
        stock_checks.see(connection, number, noted, shop.now())
        return tags


def unsee(shop: Shop, number: int, code: str) -> str:
    """Removes a tag from those seen; returns its code. Raises as `see`."""
    read = read_code(code)
    with shop.writing() as connection:
        _open_check(connection, number)
        noted = [each.code for each in stock_checks.sightings(connection, number)]
        meant, *others = tags_of(connection, [read, *noted])
        same = [tag.code for tag in others if tag.record is not None and tag.record == meant.record]
        stock_checks.unsee(connection, number, [read, *same])
        return read


def count(shop: Shop, number: int, code: str, typed: str) -> FoundPiece:
    """Records how many pieces of a bundle are there, and its tag as seen. Raises as `see`, and InvalidCount."""
    read = read_code(code)
    with shop.writing() as connection:
        _open_check(connection, number)
        (tag,) = tags_of(connection, [read])
        if tag.record is None or not tag.record.here:
            raise InvalidCount(f"{format_code(read)} is no piece on the rack, so there is nothing to count.")
        pieces = _read_count(tag.record, typed)
        stock_checks.count(connection, number, tag.record.code, pieces, shop.now())
        return FoundPiece(tag.record, pieces)


def _read_count(record: OffcutRecord, typed: str) -> int:
    pieces, least = read_integer(typed), max(record.set_aside, 1)
    if pieces is None:
        raise InvalidCount(f'"{typed.strip()[:40]}" is no number of pieces. Type one such as {record.offcut.count}.')
    if pieces < least and record.set_aside:
        raise InvalidCount(
            f"{record.set_aside} of {format_code(record.code)} are set aside for a board, so there can't be "
            f"{pieces} in "
            "all. Count those at the bench too, or abandon the board first."
        )
    if pieces < least:
        raise InvalidCount(
            f"{format_code(record.code)} can't have {pieces} pieces and be seen. Take it off the list instead."
        )
    if pieces > MAX_BUNDLE_COUNT:
        raise InvalidCount(
            f"{pieces} pieces are more than one tag may have, {MAX_BUNDLE_COUNT}. Tag some of them anew."
        )
    return pieces


def finish(shop: Shop, number: int, reconciliation: Reconciliation) -> StockCheck:
    """Applies the reconciliation and stores the outcome.

    What another phone saw in the meantime counts: a piece that was seen is not removed. A finished stock check is not
    changed; an equal request returns its outcome, another one raises. Raises NoSuchStockCheck, InvalidCount (more are
    on hold than were counted), StockCheckEnded.
    """
    with shop.writing() as connection:
        stock_check = _get_stock_check(connection, number)
        if stock_check.outcome is not None:
            differences = differences_from(reconciliation, stock_check.outcome)
            if differences:
                raise StockCheckEnded(
                    f"The stocktake of {stock_check.location} was finished before this was sent, and not as it "
                    "was asked "
                    f"for here. {' '.join(differences)} Mend that on the pieces' own pages."
                )
            return stock_check
        outcome = Reconciler(connection, stock_check, shop.now()).reconcile(
            _view(connection, stock_check), reconciliation
        )
        stock_checks.finish_stock_check(connection, number, shop.now(), outcome)
        return _get_stock_check(connection, number)


def put_away(shop: Shop, number: int) -> StockCheck:
    """Cancels a stock check that was started by mistake.

    Raises NoSuchStockCheck, StockCheckEnded, StockCheckNotEmpty.
    """
    with shop.writing() as connection:
        stock_check = _open_check(connection, number)
        seen = len(stock_checks.sightings(connection, number))
        if seen:
            raise StockCheckNotEmpty(
                f"{seen} {'tag was' if seen == 1 else 'tags were'} seen at {stock_check.location}. Finish the "
                "stocktake, "
                "or take them off its list first."
            )
        stock_checks.finish_stock_check(connection, number, shop.now(), dict(CANCELED_OUTCOME))
        return _get_stock_check(connection, number)
