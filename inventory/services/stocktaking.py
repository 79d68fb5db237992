"""Stocktaking: the tags seen at a location set against what should lie there, and the differences mended in one go.

Knows that several phones may look at once: each tag that was seen is noted once, and only what holds at the
moment of finishing is mended. Which pieces were not seen for long: `unseen`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, BinaryIO

from sqlalchemy import Connection, func, select

from inventory.codes import read_code, read_scanned, shown_code
from inventory.errors import Mendable
from inventory.pieces import LONGEST_NAME, MOST_IN_A_BUNDLE, State, location_key
from inventory.services.changing import LetGoReason
from inventory.services.scanning import Scan, SeenTag, scan_photo, scan_still, tags_of
from inventory.services.tagging import tidy_name
from inventory.shop import Shop
from inventory.storage import stocktakes
from inventory.storage.offcuts import (
    HERE,
    RECORD_COLUMNS,
    add_event,
    note_seen,
    records_of,
    update_offcut,
)
from inventory.storage.records import EventKind, OffcutRecord
from inventory.storage.stocktakes import Stocktake
from inventory.storage.tables import OFFCUTS

LATEST = 10


class NoSuchStocktake(Mendable):
    """No stocktake has this number."""


class NotALocation(Mendable):
    """A location of which no stock can be taken."""


class StocktakeEnded(Mendable):
    """Somebody finished the stocktake meanwhile."""


class NotACount(Mendable):
    """A number of pieces that a bundle can't have."""


@dataclass(frozen=True)
class Found:
    """A piece whose tag was seen. `pieces` are those that were counted, None where nobody counted."""

    record: OffcutRecord
    pieces: int | None


@dataclass(frozen=True)
class StocktakeView:
    """What was seen, set against what should lie there.

    `right` lie where they should, `misplaced` should lie elsewhere, `gone` were let go or used up and are seen
    all the same; `untagged` are tags that no piece has. Of what was not seen, boards wait for `aside`, which may
    lie at the bench, and nobody knows where `missing` are.
    """

    stocktake: Stocktake
    right: tuple[Found, ...]
    misplaced: tuple[Found, ...]
    gone: tuple[Found, ...]
    untagged: tuple[SeenTag, ...]
    missing: tuple[OffcutRecord, ...]
    aside: tuple[OffcutRecord, ...]

    @property
    def found(self) -> tuple[Found, ...]:
        """All pieces that were seen."""
        return (*self.right, *self.misplaced, *self.gone)

    @property
    def expected(self) -> int:
        """So many tags should lie there."""
        return len(self.right) + len(self.missing) + len(self.aside)


@dataclass(frozen=True)
class Mending:
    """What is to become of the differences, by code; what is not named takes the usual way.

    A missing piece is let go where `not_found` names it, else still looked for; a misplaced one lies here from
    now on unless `left` names it; a gone one is on the rack again where `back` names it.
    """

    not_found: Collection[str] = ()
    left: Collection[str] = ()
    back: Collection[str] = ()


def begin(shop: Shop, location: str) -> int:
    """The number of the location's stocktake: the one under way, else a new one. Raises NotALocation."""
    name = tidy_name(location)
    if not name:
        raise NotALocation("No location is chosen. Choose one, or type what stands on the shelf.")
    if len(name) > LONGEST_NAME:
        raise NotALocation(f"The location has {len(name)} letters, and {LONGEST_NAME} fit. Shorten it.")
    with shop.writing() as connection:
        for each in stocktakes.stocktakes_under_way(connection):
            if location_key(each.location) == location_key(name):
                return each.id
        return stocktakes.insert_stocktake(connection, _as_known(connection, name), shop.now())


def _as_known(connection: Connection, name: str) -> str:
    """The location in the spelling that the latest piece there has, else as typed."""
    asked = select(OFFCUTS.c.location).where(OFFCUTS.c.location_key == location_key(name), OFFCUTS.c.state.in_(HERE))
    return connection.scalar(asked.order_by(OFFCUTS.c.id.desc()).limit(1)) or name


def listed(shop: Shop) -> tuple[tuple[Stocktake, ...], tuple[Stocktake, ...]]:
    """The stocktakes under way, and the latest that are finished."""
    with shop.reading() as connection:
        return stocktakes.stocktakes_under_way(connection), stocktakes.stocktakes_ended(connection, LATEST)


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
    found = stocktakes.stocktake_of(connection, number) if 0 < number < 2**63 else None
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
    noted = stocktakes.sightings(connection, stocktake.id)
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
        stocktakes.see(connection, number, noted, shop.now())
        return tags


def unsee(shop: Shop, number: int, code: str) -> str:
    """Takes back that a tag was seen; answers its code. Raises as `see`."""
    read = read_code(code)
    with shop.writing() as connection:
        _under_way(connection, number)
        noted = [each.code for each in stocktakes.sightings(connection, number)]
        meant, *others = tags_of(connection, [read, *noted])
        same = [tag.code for tag in others if tag.record is not None and tag.record == meant.record]
        stocktakes.unsee(connection, number, [read, *same])
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
        stocktakes.count(connection, number, tag.record.code, pieces, shop.now())
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
            otherwise = _otherwise(mending, stocktake.outcome)
            if otherwise:
                raise StocktakeEnded(
                    f"The stocktake of {stocktake.location} was finished before this was sent, and not as it was asked "
                    f"for here. {' '.join(otherwise)} Mend that on the pieces' own pages."
                )
            return stocktake
        outcome = _Mender(connection, stocktake, shop.now()).mend(_view(connection, stocktake), mending)
        stocktakes.end_stocktake(connection, number, shop.now(), outcome)
        return _the_stocktake(connection, number)


def _otherwise(mending: Mending, outcome: dict[str, Any]) -> list[str]:
    """In sentences, what of a mending was not done, and what was done without having been asked for by it."""
    told = []
    for words, ticked, done in (
        ("let go as not found", mending.not_found, outcome["not_found"]),
        ("carried back", mending.left, outcome["left"]),
        ("put on the rack again", mending.back, outcome["back"]),
    ):
        for whether, codes in (("Not", set(ticked) - set(done)), ("Though not ticked here,", set(done) - set(ticked))):
            if codes:
                told.append(f"{whether} {words}: {', '.join(shown_code(code[:7]) for code in sorted(codes))}.")
    return told


@dataclass(frozen=True)
class _Mender:
    """Writes what becomes of each piece."""

    connection: Connection
    stocktake: Stocktake
    now: datetime

    def mend(self, found: StocktakeView, mending: Mending) -> dict[str, Any]:
        """Mends everything; answers what came of it, for `Stocktake.outcome`."""
        moved = [each for each in found.misplaced if each.record.code not in mending.left]
        left = [each for each in found.misplaced if each.record.code in mending.left]
        back = [each for each in found.gone if each.record.code in mending.back]
        gone = [each for each in found.missing if each.code in mending.not_found]
        missed = [each for each in found.missing if each.code not in mending.not_found]
        counted = [*self._seen(found.right), *self._seen(left, "left in its location"), *self._seen(moved, move=True)]
        for each in back:
            self._back(each.record)
        for record in gone:
            update_offcut(self.connection, record, state=State.LET_GO)
            self._tell(record, EventKind.LET_GO, f"{LetGoReason.NOT_FOUND.value}: {self._name}")
        for record in missed:
            self._tell(record, EventKind.MISSED, f"{self._name}; still looked for")
        return {
            "right": len(found.right),
            "aside": [each.code for each in found.aside],
            "moved": [[each.record.code, each.record.offcut.location] for each in moved],
            "left": [each.record.code for each in left],
            "back": [each.record.code for each in back],
            "gone": [each.record.code for each in found.gone if each not in back],
            "not_found": [each.code for each in gone],
            "missed": [each.code for each in missed],
            "counted": counted,
            "untagged": [each.code for each in found.untagged],
        }

    @property
    def _name(self) -> str:
        return f"stocktake of {self.stocktake.location}"

    def _tell(self, record: OffcutRecord, kind: EventKind, detail: str) -> None:
        add_event(self.connection, record.id, self.now, kind, detail)

    def _seen(self, pieces: Iterable[Found], further: str = "", *, move: bool = False) -> list[list[Any]]:
        """Notes pieces as seen, with their count and location where those change; answers the new counts."""
        counted = []
        for each in pieces:
            before = each.record.offcut
            after = replace(
                before,
                count=each.pieces or before.count,
                location=self.stocktake.location if move else before.location,
            )
            if after.count < each.record.set_aside:
                raise NotACount(
                    f"{each.record.set_aside} of {shown_code(each.record.code)} were set aside for a board meanwhile, "
                    f"more than the {after.count} that were counted. Count them once more."
                )
            told = [self._name, *([further] if further else [])]
            if after.location != before.location:
                told.append(
                    f'location "{before.location}" → "{after.location}"'
                    if before.location
                    else f'location "{after.location}"'
                )
            if after.count != before.count:
                told.append(f"count {before.count} → {after.count}")
                counted.append([each.record.code, before.count, after.count])
            if after != before:
                state = State.SET_ASIDE if after.count == each.record.set_aside else State.ON_RACK
                update_offcut(self.connection, each.record, offcut=after, state=state)
            note_seen(self.connection, [each.record.id], self.now)
            self._tell(each.record, EventKind.SEEN, "; ".join(told))
        return counted

    def _back(self, record: OffcutRecord) -> None:
        offcut = replace(record.offcut, location=self.stocktake.location)
        update_offcut(self.connection, record, offcut=offcut, state=State.ON_RACK)
        note_seen(self.connection, [record.id], self.now)
        self._tell(record, EventKind.TAKEN_BACK, f"was {record.state.value}; {self._name}")
