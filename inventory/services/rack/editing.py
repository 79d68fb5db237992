"""Editing a piece: its fields and photos, and whether it is used, removed or back on the rack.

Each call carries the version that the page showed and raises Conflict where the piece has changed since.
"""

from __future__ import annotations

from dataclasses import fields, replace
from enum import Enum

from sqlalchemy import Connection

from inventory.core.codes import format_code
from inventory.core.errors import UserError
from inventory.core.offcuts import MAX_NOTE_LENGTH, Offcut, State
from inventory.services.rack.queries import get_piece
from inventory.services.rack.tagging import normalize_offcut
from inventory.shop import Shop
from inventory.storage.records import EventKind, OffcutRecord, StoredPhoto
from inventory.storage.repositories.offcuts import (
    add_event,
    add_photos,
    mark_checked,
    piece_conflict,
    reorder_photos,
    update_offcut,
)

MAX_PHOTOS = 20


class ChangeNotAllowed(UserError):
    """A change that the state of the piece does not allow."""


class RemovalReason(Enum):
    """Why a piece left the shop unused."""

    BURNT = "burnt"
    GIVEN_AWAY = "given away"
    BINNED = "put in the bin"
    SPOILED = "split, rotten or wormy"
    NOT_FOUND = "not found"
    OTHER = "other"


def change(shop: Shop, code: str, version: int, offcut: Offcut) -> OffcutRecord:
    """Replaces the fields of the piece (all but tag and tagged_on) with those of `offcut`.

    Without differences nothing is written. Raises NoSuchPiece, Conflict,
    ChangeNotAllowed (gone pieces; a count below the pieces on hold; other sizes,
    species or faces while pieces are on hold).
    """
    with shop.writing() as connection:
        record = _piece_at_version(connection, code, version)
        after = replace(
            normalize_offcut(offcut, shop.today()), tag=record.offcut.tag, tagged_on=record.offcut.tagged_on
        )
        changed = [field.name for field in fields(Offcut) if _differs(record.offcut, after, field.name)]
        if not changed:
            return record
        _must_be_here(record)
        if record.set_aside:
            _must_suit_its_boards(record, after)
        state = State.ON_HOLD if record.set_aside == after.count else State.ON_RACK
        update_offcut(connection, record, offcut=after, state=state)
        old, new = ({name: getattr(offcut, name) for name in changed} for offcut in (record.offcut, after))
        add_event(connection, record.id, shop.now(), EventKind.CHANGED, before=old, after=new)
        return get_piece(connection, code)


def _piece_at_version(connection: Connection, code: str, version: int) -> OffcutRecord:
    """The piece, at the version that the page showed. Raises NoSuchPiece, Conflict."""
    record = get_piece(connection, code)
    if record.version != version:
        raise piece_conflict(record.code)
    return record


def _must_be_here(record: OffcutRecord) -> None:
    if not record.here:
        raise ChangeNotAllowed(
            f"{format_code(record.code)} is {record.state.value}. Take it back first, then change it."
        )


def _must_suit_its_boards(record: OffcutRecord, after: Offcut) -> None:
    if after.count < record.set_aside:
        raise ChangeNotAllowed(
            f"{record.set_aside} of {format_code(record.code)} are set aside for a board, so the count can't be "
            f"{after.count}. Type {record.set_aside} or more, or abandon the board first."
        )
    cut_by = ("length", "width", "thickness", "species", "face_a", "face_b")
    if any(getattr(after, name) != getattr(record.offcut, name) for name in cut_by):
        raise ChangeNotAllowed(
            f"{format_code(record.code)} is set aside for a board that was planned with its sizes, species and faces. "
            "Abandon the board first, then change them."
        )


def _differs(one: Offcut, other: Offcut, name: str) -> bool:
    return bool(getattr(one, name) != getattr(other, name))


def use_up(shop: Shop, code: str, version: int, *, pieces: int | None = None, note: str = "") -> OffcutRecord:
    """Records that free like pieces (None: all of them) were used in something else.

    Raises NoSuchPiece, Conflict, ChangeNotAllowed (more than are free, a note too long).
    """
    with shop.writing() as connection:
        record = _piece_at_version(connection, code, version)
        _must_be_here(record)
        taken = record.free if pieces is None else pieces
        if not 1 <= taken <= record.free:
            raise ChangeNotAllowed(
                f"{taken} of {format_code(record.code)} can't be used up: {record.free} of {record.offcut.count} "
                "are free. Type a number from 1 to what is free, or abandon the board that waits for it."
            )
        left = record.offcut.count - taken
        if left:
            state = State.ON_HOLD if left == record.set_aside else State.ON_RACK
            update_offcut(connection, record, offcut=replace(record.offcut, count=left), state=state)
        else:
            update_offcut(connection, record, state=State.USED_UP)
        bundle = record.offcut.count
        add_event(connection, record.id, shop.now(), EventKind.USED, pieces=taken, bundle=bundle, note=_note(note))
        return get_piece(connection, code)


def remove(shop: Shop, code: str, version: int, reason: RemovalReason, note: str = "") -> OffcutRecord:
    """Records that the piece left the shop unused.

    Raises NoSuchPiece, Conflict, ChangeNotAllowed (gone already, on hold, a note too long).
    """
    with shop.writing() as connection:
        record = _piece_at_version(connection, code, version)
        _must_be_here(record)
        if record.set_aside:
            raise ChangeNotAllowed(f"{format_code(record.code)} is set aside for a board. Abandon the board first.")
        update_offcut(connection, record, state=State.GONE)
        add_event(
            connection,
            record.id,
            shop.now(),
            EventKind.REMOVED,
            pieces=record.offcut.count,
            action=reason.value,
            note=_note(note),
        )
        return get_piece(connection, code)


def _note(text: str) -> str:
    note = " ".join(text.split())
    if len(note) > MAX_NOTE_LENGTH:
        raise ChangeNotAllowed(f"The note is longer than {MAX_NOTE_LENGTH} letters. Shorten it.")
    return note


def undo_removal(shop: Shop, code: str, version: int) -> OffcutRecord:
    """Returns a piece that is gone to the rack. Its label is not queued: it may still be on the piece.

    Raises NoSuchPiece, Conflict, ChangeNotAllowed (it is here).
    """
    with shop.writing() as connection:
        record = _piece_at_version(connection, code, version)
        if record.here:
            raise ChangeNotAllowed(
                f"{format_code(record.code)} is {record.state.value} already. Look at it as it is now."
            )
        update_offcut(connection, record, state=State.ON_RACK)
        mark_checked(connection, [record.id], shop.now())
        add_event(connection, record.id, shop.now(), EventKind.REMOVAL_UNDONE, action=record.state.value)
        return get_piece(connection, code)


def add_photo(shop: Shop, code: str, version: int, photo: StoredPhoto) -> OffcutRecord:
    """Adds a photo to the piece, last in order. Raises NoSuchPiece, Conflict, ChangeNotAllowed (too many)."""
    with shop.writing() as connection:
        record = _piece_at_version(connection, code, version)
        if photo.digest in {each.digest for each in record.photos}:
            return record
        if len(record.photos) >= MAX_PHOTOS:
            raise ChangeNotAllowed(
                f"{format_code(record.code)} has {MAX_PHOTOS} photos, and no more are kept of one piece. "
                "Take one off it first."
            )
        update_offcut(connection, record)
        add_photos(connection, record.id, [photo])
        add_event(connection, record.id, shop.now(), EventKind.PHOTO, action="added")
        return get_piece(connection, code)


def remove_photo(shop: Shop, code: str, version: int, photo: int) -> OffcutRecord:
    """Removes a photo (by its PhotoRecord.id) from the piece; its file stays. Raises as `choose_main_photo`."""
    return _place(shop, code, version, photo, first=False)


def choose_main_photo(shop: Shop, code: str, version: int, photo: int) -> OffcutRecord:
    """Makes a photo (by its PhotoRecord.id) the main one. Raises NoSuchPiece, Conflict, ChangeNotAllowed."""
    return _place(shop, code, version, photo, first=True)


def _place(shop: Shop, code: str, version: int, photo: int, *, first: bool) -> OffcutRecord:
    with shop.writing() as connection:
        record = _piece_at_version(connection, code, version)
        others = [each.id for each in record.photos if each.id != photo]
        if len(others) == len(record.photos):
            raise ChangeNotAllowed(f"{format_code(record.code)} has no such photo. Look at it as it is now.")
        update_offcut(connection, record)
        reorder_photos(connection, record.id, [photo, *others] if first else others)
        action = "chosen as the main one" if first else "taken off"
        add_event(connection, record.id, shop.now(), EventKind.PHOTO, action=action)
        return get_piece(connection, code)
