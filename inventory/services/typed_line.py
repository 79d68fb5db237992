"""The typed line: `4 of ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 2 # note`, read and written.

Knows the order of its parts and what the last piece hands on. Knows nothing of
the database.

    [N of] [species] LENGTH x WIDTH x THICKNESS [unit] [face [face]] [@ location] [# notes]
"""

from __future__ import annotations

from inventory.errors import Mendable
from inventory.measures import Unit
from inventory.pieces import Offcut
from inventory.settings import Settings


class NotALine(Mendable):
    """A typed line that can't be read; `what` is the part that is wrong (`species`, `length`, `count`, … or `line`)."""

    def __init__(self, message: str, what: str = "line") -> None:
        super().__init__(message)
        self.what = what


def read_line(line: str, settings: Settings, *, last: Offcut | None = None) -> Offcut:
    """Reads one offcut from a typed line; the result has no tag and no day.

    A bare number is in the shop's unit, or in the unit written after the last
    size. One face word is for both faces, two are face a and face b. What the
    line leaves out of species, faces and location is taken from `last`, else
    empty and rough; count and notes are never carried over. `@` alone clears the
    location. Raises NotALine, whose `what` names the part.
    """
    raise NotImplementedError


def describe_line(offcut: Offcut, unit: Unit) -> str:
    """The line that reads back as this offcut, in `unit` where that holds the sizes exactly."""
    raise NotImplementedError
