"""Offcuts, the condition of their faces and what else they carry (cutting model, section 2).

All sizes are Length (whole nanometers). Moisture is percent of the oven-dry weight, an exact Fraction.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import Enum
from fractions import Fraction
from functools import lru_cache

from inventory.core.errors import UserError
from inventory.core.lengths import Length, millimeters

MAX_LENGTH = millimeters("10000")
MAX_WIDTH = millimeters("900")
"""Larger pieces are not offcuts; up to these sizes every volume is calculated in 64 bits."""

MAX_BUNDLE_COUNT = 999
MAX_NAME_LENGTH = 60
MAX_NOTE_LENGTH = 2000
MAX_MOISTURE = 200
"""Percent; a limit against slips of the keys. Green wood may hold more water than wood, so 100 is none."""
SORT_DIGITS = 10
"""Numbers in a location are put in order up to so many digits."""


class InvalidOffcut(UserError):
    """An invalid description of an offcut; `what` names the value that is wrong."""

    def __init__(self, message: str, what: str = "") -> None:
        super().__init__(message)
        self.what = what


class Face(Enum):
    """The condition of one face: what must come off it before it can be glued."""

    ROUGH = "rough"
    PLANED = "planed"
    FINISHED = "finished"


class Mark(Enum):
    """What sizes cannot say of a piece, in the order in which marks are shown."""

    KEEP = "keep"
    DAMP = "damp"
    METAL = "metal"
    LIVE_EDGE = "live edge"
    CRACK = "crack"
    KNOTS = "knots"
    PAINT_GRADE = "paint grade"
    OILY = "oily"


MARKS = tuple(Mark)


class State(Enum):
    """The state of an offcut. Nothing is ever deleted."""

    ON_RACK = "on the rack"
    ON_HOLD = "set aside"
    USED_UP = "used up"
    GONE = "let go"


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
    """Reads `rough`, `planed` or `finished`; raises InvalidOffcut."""
    try:
        return Face(text.strip().lower())
    except ValueError:
        raise InvalidOffcut(
            f'"{text.strip()}" is no condition of a face. Type rough, planed or finished.', "face"
        ) from None


def read_mark(text: str) -> Mark:
    """Reads the word of a mark; raises InvalidOffcut.

    >>> read_mark(" Live  Edge ")
    <Mark.LIVE_EDGE: 'live edge'>
    """
    try:
        return Mark(" ".join(text.split()).casefold())
    except ValueError:
        raise InvalidOffcut(
            f'"{text.strip()[:40]}" is no mark. Choose from {", ".join(mark.value for mark in Mark)}.', "marks"
        ) from None


def marks_text(marks: Iterable[Mark]) -> str:
    """The words of marks, in their order.

    >>> marks_text([Mark.METAL, Mark.OILY])
    'metal, oily'
    """
    return ", ".join(mark.value for mark in marks)


def read_moisture(text: str) -> Fraction:
    """Reads a moisture content in percent, with or without `%`; raises InvalidOffcut.

    >>> read_moisture("8,5 %")
    Fraction(17, 2)
    """
    typed = re.fullmatch(r"([0-9]{1,4}(?:[.,][0-9]{1,6})?)\s*%?", text.strip())
    if typed is None:
        raise InvalidOffcut(f'"{text.strip()[:40]}" is no moisture content. Type a percentage such as 8.5.', "moisture")
    return Fraction(typed[1].replace(",", "."))


def moisture_text(moisture: Fraction) -> str:
    """A moisture content without its sign.

    >>> moisture_text(Fraction(17, 2)), moisture_text(Fraction(12))
    ('8.5', '12')
    """
    return f"{float(moisture):.1f}".removesuffix(".0")


@dataclass(frozen=True)
class Offcut:
    """One piece on the rack, or a bundle of `count` like pieces under one tag.

    `length` runs along the grain, `width` across it, `thickness` through the
    faces; all sound, usable sizes as measured. `marks` are sorted, each once;
    `moisture` is percent to one decimal, read on the day `moisture_on`; `batch` is
    a short word for "same tree, same purchase". Raises InvalidOffcut where a size
    is 0 or beyond 10 m × 900 mm × 900 mm, the count is not 1 to 999, or the
    moisture is not in range.
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
    marks: tuple[Mark, ...] = ()
    moisture: Fraction | None = None
    moisture_on: date | None = None
    batch: str = ""

    def __post_init__(self) -> None:
        for name, most in (("length", MAX_LENGTH), ("width", MAX_WIDTH), ("thickness", MAX_WIDTH)):
            size = getattr(self, name)
            if size <= 0:
                raise InvalidOffcut(f"The {name} is 0. Type the {name} as measured.", name)
            if size > most:
                raise InvalidOffcut(
                    f"The {name} is over {most // 1_000_000} mm: too much for an offcut. Check the unit.", name
                )
        if not 1 <= self.count <= MAX_BUNDLE_COUNT:
            raise InvalidOffcut(f"A tag stands for 1 to {MAX_BUNDLE_COUNT} like pieces, not {self.count}.", "count")
        for name, longest in _LONGEST.items():
            if len(getattr(self, name)) > longest:
                raise InvalidOffcut(f"The {name} is longer than {longest} letters. Shorten it.", name)
        if self.marks:
            object.__setattr__(self, "marks", tuple(mark for mark in MARKS if mark in self.marks))
        if self.moisture is not None:
            _check_moisture(self.moisture)
        elif self.moisture_on is not None:
            raise InvalidOffcut(
                f"The moisture was read on {self.moisture_on}, but its percentage is missing. Type it, or leave the "
                "day empty.",
                "moisture",
            )

    @property
    def faces(self) -> tuple[Face, Face]:
        return (self.face_a, self.face_b)

    @property
    def unsurfaced_faces(self) -> int:
        """How many of the two faces are not planed."""
        return sum(face is not Face.PLANED for face in self.faces)


def carried_texts(offcut: Offcut) -> tuple[str, ...]:
    """Marks, moisture and batch of a piece, one text for each that it has.

    >>> carried_texts(Offcut(Length(1), Length(1), Length(1), marks=(Mark.DAMP, Mark.KNOTS), moisture=Fraction(18)))
    ('damp, knots', '18 % moisture')
    """
    moisture = "" if offcut.moisture is None else f"{moisture_text(offcut.moisture)} % moisture"
    if offcut.moisture_on is not None:
        moisture += f" on {offcut.moisture_on}"
    batch = f"batch {offcut.batch}" if offcut.batch else ""
    return tuple(filter(None, (marks_text(offcut.marks), moisture, batch)))


_LONGEST = {
    "species": MAX_NAME_LENGTH,
    "location": MAX_NAME_LENGTH,
    "notes": MAX_NOTE_LENGTH,
    "batch": MAX_NAME_LENGTH,
}


def _check_moisture(moisture: Fraction) -> None:
    if not 0 < moisture <= MAX_MOISTURE:
        raise InvalidOffcut(
            f"{float(moisture):g} % is no moisture content of wood: it is over 0 and at most {MAX_MOISTURE}. "
            "Read the meter again.",
            "moisture",
        )
    if (moisture * 10).denominator != 1:
        raise InvalidOffcut(
            f"{float(moisture):g} % is finer than a moisture meter reads. Type it with one decimal, such as "
            f"{moisture_text(moisture)}.",
            "moisture",
        )
