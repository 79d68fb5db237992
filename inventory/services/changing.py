"""Changing a piece: its sizes and words, its photos, and that it is gone or back.

Knows which change is allowed and writes what changed into the history. Every
call carries the version that the page showed; Conflict where it has moved on.
"""

from __future__ import annotations

from enum import Enum

from inventory.errors import Mendable
from inventory.pieces import Offcut
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord, StoredPhoto


class NotAllowed(Mendable):
    """A change that the state of the piece does not allow."""


class LetGoReason(Enum):
    """Why a piece left the shop unused."""

    BURNT = "burnt"
    GIVEN_AWAY = "given away"
    SPOILED = "split, rotten or wormy"
    NOT_FOUND = "not found"
    OTHER = "other"


def change(shop: Shop, code: str, version: int, offcut: Offcut) -> OffcutRecord:
    """Puts the values of `offcut` (all but tag and tagged_on) in the place of the piece's own.

    Where nothing differs nothing is written. Raises NoSuchPiece, Conflict,
    NotAllowed (gone pieces; a count below what is set aside; other sizes, species
    or faces while a board waits for it).
    """
    raise NotImplementedError


def use_up(shop: Shop, code: str, version: int, *, pieces: int | None = None, note: str = "") -> OffcutRecord:
    """Says that free like pieces (None: all of them) went into something else. Raises as `change`."""
    raise NotImplementedError


def let_go(shop: Shop, code: str, version: int, reason: LetGoReason, note: str = "") -> OffcutRecord:
    """Says that the piece left the shop unused. Raises as `change`; NotAllowed while a board waits for it."""
    raise NotImplementedError


def take_back(shop: Shop, code: str, version: int) -> OffcutRecord:
    """Puts a piece that is used up or let go back on the rack. Raises as `change`."""
    raise NotImplementedError


def add_photo(shop: Shop, code: str, version: int, photo: StoredPhoto) -> OffcutRecord:
    """Ties one more photo to the piece, last in order."""
    raise NotImplementedError


def remove_photo(shop: Shop, code: str, version: int, photo: int) -> OffcutRecord:
    """Takes a photo (by its PhotoRecord.id) off the piece; its file stays."""
    raise NotImplementedError


def choose_main_photo(shop: Shop, code: str, version: int, photo: int) -> OffcutRecord:
    """Makes a photo (by its PhotoRecord.id) the first."""
    raise NotImplementedError
