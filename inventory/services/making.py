"""Making a board: set aside, cut, finished, abandoned, and the way back.

Knows what each step does to the pieces. What to pick and how to cut, as a
sheet, is `cut_sheet`'s. Every call carries the version that the page showed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.errors import Mendable
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest
from inventory.measures import Length
from inventory.pieces import Face
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, BoardState, BoardSummary


class NoSuchBoard(Mendable):
    """No board has this number."""


class NotThisStep(Mendable):
    """A step that does not follow from where the board stands."""


class NotARemainder(Mendable):
    """A confirmed remainder that can't be; `cut` and `remainder` say which, `what` names the value."""

    def __init__(self, message: str, cut: int, remainder: int, what: str) -> None:
        super().__init__(message)
        self.cut = cut
        self.remainder = remainder
        self.what = what


@dataclass(frozen=True)
class ProposedRemainder:
    """What the plan says is left: `fill.cuts[cut].remainders[remainder]`, with what the parent hands on."""

    cut: int
    remainder: int
    parent: str
    species: str
    length: Length
    width: Length
    thickness: Length
    face_a: Face
    face_b: Face
    keep: bool
    location: str


@dataclass(frozen=True)
class ConfirmedRemainder:
    """What was really left, as measured; sizes matter only where it is kept. Faces None are the parent's."""

    cut: int
    remainder: int
    length: Length
    width: Length
    thickness: Length
    keep: bool
    location: str
    face_a: Face | None = None
    face_b: Face | None = None
    notes: str = ""


def set_aside(shop: Shop, request: BoardRequest, fill: Fill, name: str = "", *, form_token: str = "") -> BoardRecord:
    """Sets the offcuts of a fill aside for a board; an empty name becomes its finished sizes.

    Raises Conflict where an offcut is gone, changed, or not free in the number
    that the fill takes; then nothing is set aside. A form sent twice with the
    same `form_token` answers with the board of the first.
    """
    raise NotImplementedError


def board(shop: Shop, number: int) -> BoardRecord:
    """One board. Raises NoSuchBoard."""
    raise NotImplementedError


def boards(shop: Shop, state: BoardState | None = None) -> tuple[BoardSummary, ...]:
    """All boards, or those in one state; latest change first."""
    raise NotImplementedError


def proposed_remainders(shop: Shop, number: int) -> tuple[ProposedRemainder, ...]:
    """What the plan leaves of each offcut, in the order of the cuts, to be confirmed. Raises NoSuchBoard."""
    raise NotImplementedError


def cut(shop: Shop, number: int, version: int, confirmed: Sequence[ConfirmedRemainder]) -> BoardRecord:
    """Says that the board's offcuts are cut; what is kept comes back as new tags with labels wanted.

    A remainder of the plan that is not in `confirmed` is not kept. Raises
    NoSuchBoard, Conflict, NotThisStep, NotARemainder.
    """
    raise NotImplementedError


def finish(shop: Shop, number: int, version: int) -> BoardRecord:
    """Says that the board is finished. Raises NoSuchBoard, Conflict, NotThisStep."""
    raise NotImplementedError


def abandon(shop: Shop, number: int, version: int) -> BoardRecord:
    """Puts all offcuts of a board back that is set aside and not cut. Raises as `finish`."""
    raise NotImplementedError


def undo(shop: Shop, number: int, version: int) -> BoardRecord:
    """Takes the last step back: finished → cut → set aside → abandoned, and abandoned → set aside again.

    A cut can be undone while none of the pieces that came back was changed or
    used; they become let go. Raises Conflict with the piece that stands in the way.
    """
    raise NotImplementedError


def rename(shop: Shop, number: int, version: int, name: str) -> BoardRecord:
    """Gives the board another name. Raises as `finish`, NotThisStep where the name is too long."""
    raise NotImplementedError
