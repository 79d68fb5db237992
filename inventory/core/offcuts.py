"""Offcuts and the condition of their faces (cutting model, section 2).

All sizes are Length (whole nanometers).
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import date
from enum import Enum
from functools import lru_cache

from inventory.core.errors import UserError
from inventory.core.lengths import Length, millimeters

MAX_LENGTH = millimeters("10000")
MAX_WIDTH = millimeters("900")
"""Larger pieces are not offcuts; up to these sizes every volume is calculated in 64 bits."""

MAX_BUNDLE_COUNT = 999
MAX_NAME_LENGTH = 60
MAX_NOTE_LENGTH = 2000
SORT_DIGITS = 10
"""Numbers in a location are put in order up to so many digits."""


class NotAnOffcut(UserError):
    """An invalid description of an offcut; `what` names the value that is wrong."""

    def __init__(self, message: str, what: str = "") -> None:
        super().__init__(message)
        self.what = what


class Face(Enum):
    """The condition of one face: what must come off it before it can be glued."""

    ROUGH = "rough"
    PLANED = "planed"
    FINISHED = "finished"


class State(Enum):
    """The state of an offcut. Nothing is ever deleted."""

    ON_RACK = "on the rack"
    ON_HOLD = "set aside"
    USED_UP = "used up"
    LET_GO = "let go"


def species_key(name: str) -> str:
    """The form in which two spellings of a species are the same: "White  Oak" is "white oak".

    >>> species_key("  White   OAK ")
    'white oak'
    """
    return " ".join(unicodedata.normalize("NFC", name).split()).casefold()


@lru_cache(maxsize=4096)
def location_key(location: str) -> str:
    """The form in which two spellings of a location are the same, and by which locations are put in order.

    >>> sorted(["Wall 10", "wall  2"], key=location_key)
    ['wall  2', 'Wall 10']
    """
    plain = " ".join(unicodedata.normalize("NFC", location).split()).casefold()
    return re.sub(r"[0-9]+", lambda digits: digits.group().lstrip("0").zfill(SORT_DIGITS), plain)


def read_face(text: str) -> Face:
    """Reads `rough`, `planed` or `finished`; raises NotAnOffcut."""
    try:
        return Face(text.strip().lower())
    except ValueError:
        raise NotAnOffcut(
            f'"{text.strip()}" is no condition of a face. Type rough, planed or finished.', "face"
        ) from None


@dataclass(frozen=True)
class Offcut:
    """One piece on the rack, or a bundle of `count` like pieces under one tag.

    `length` runs along the grain, `width` across it, `thickness` through the
    faces; all sound, usable sizes as measured. Raises NotAnOffcut where a size
    is 0 or beyond 10 m × 900 mm × 900 mm, or the count is not 1 to 999.
    """

    length: Length
    width: Length
    thickness: Length
    species: str = ""
    face_a: Face = Face.ROUGH
    face_b: Face = Face.ROUGH
    count: int = 1
    tag: str = ""
    location: str = ""
    tagged_on: date | None = None
    notes: str = ""

    def __post_init__(self) -> None:
        for name, most in (("length", MAX_LENGTH), ("width", MAX_WIDTH), ("thickness", MAX_WIDTH)):
            size = getattr(self, name)
            if size <= 0:
                raise NotAnOffcut(f"The {name} is 0. Type the {name} as measured.", name)
            if size > most:
                raise NotAnOffcut(
                    f"The {name} is over {most // 1_000_000} mm: too much for an offcut. Check the unit.", name
                )
        if not 1 <= self.count <= MAX_BUNDLE_COUNT:
            raise NotAnOffcut(f"A tag stands for 1 to {MAX_BUNDLE_COUNT} like pieces, not {self.count}.", "count")
        for name, longest in (("species", MAX_NAME_LENGTH), ("location", MAX_NAME_LENGTH), ("notes", MAX_NOTE_LENGTH)):
            if len(getattr(self, name)) > longest:
                raise NotAnOffcut(f"The {name} is longer than {longest} letters. Shorten it.", name)

    @property
    def faces(self) -> tuple[Face, Face]:
        return (self.face_a, self.face_b)

    @property
    def unsurfaced_faces(self) -> int:
        """How many of the two faces are not planed."""
        return sum(face is not Face.PLANED for face in self.faces)
