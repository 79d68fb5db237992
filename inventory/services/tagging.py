"""Tagging: pieces come onto the rack, each with a code of its own.

Knows codes, what is handed on from the last piece, and that a form sent twice
tags once. Knows nothing of screens; the typed line is `typed_line`'s.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.errors import Mendable
from inventory.pieces import Offcut
from inventory.services.typed_line import NotALine, describe_line, read_line
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord, StoredPhoto

__all__ = [
    "CodeTaken", "NewPiece", "NotALine", "describe_line", "last_tagged", "read_line", "recent_locations",
    "recent_species", "same_again", "tag", "tag_all",
]  # fmt: skip


class CodeTaken(Mendable):
    """The code is on another piece, or was."""


@dataclass(frozen=True)
class NewPiece:
    """A piece to be tagged. `code` is that of a blank tag or of a list brought in; None draws a fresh one.

    `offcut.tag` is not looked at; without `offcut.tagged_on` the day is today.
    """

    offcut: Offcut
    code: str | None = None
    photos: tuple[StoredPhoto, ...] = ()
    label_wanted: bool = True


def tag(
    shop: Shop, offcut: Offcut, *, photos: Sequence[StoredPhoto] = (), code: str | None = None, form_token: str = ""
) -> OffcutRecord:
    """Puts one piece on the rack with a code, its label wanted, and the first line of its history.

    `code` is the seven characters from a blank tag (or a list brought in), None
    for a fresh one. A form sent twice with the same `form_token` tags once: the
    second call answers with the piece of the first. Raises NotACode, CodeTaken.
    """
    raise NotImplementedError


def tag_all(shop: Shop, pieces: Sequence[NewPiece], *, form_token: str = "") -> tuple[OffcutRecord, ...]:
    """As `tag`, many at once: all or none. Raises NotACode, CodeTaken."""
    raise NotImplementedError


def same_again(shop: Shop, code: str, *, copies: int = 1, form_token: str = "") -> tuple[OffcutRecord, ...]:
    """Tags `copies` more pieces like the one with this code, each with a code of its own; photos are not handed on.

    For like pieces under ONE tag, use `offcut.count`. Raises NoSuchPiece, NotAnOffcut (copies).
    """
    raise NotImplementedError


def last_tagged(shop: Shop) -> OffcutRecord | None:
    """The piece that a person tagged last (not one that came back from a cut), which hands on all but its sizes."""
    raise NotImplementedError


def recent_species(shop: Shop, most: int = 8) -> tuple[str, ...]:
    """Species for big buttons, latest used first, each once, as typed last."""
    raise NotImplementedError


def recent_locations(shop: Shop, most: int = 8) -> tuple[str, ...]:
    """Locations for big buttons, latest used first, each once, as typed last."""
    raise NotImplementedError
