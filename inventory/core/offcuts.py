"""Offcuts, the condition of their faces, and the shop's allowances (cutting model, sections 2 and 3).

All sizes are Length (whole nanometers).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from datetime import date
from enum import Enum
from functools import lru_cache

from inventory.core.errors import UserError
from inventory.core.lengths import Length, Unit, inches, millimeters, read_length

MAX_LENGTH = millimeters("10000")
MAX_WIDTH = millimeters("900")
"""Larger pieces are not offcuts; up to these sizes every volume is calculated in 64 bits."""

MAX_BUNDLE_COUNT = 999
MAX_NAME_LENGTH = 60
MAX_NOTE_LENGTH = 2000
SORT_DIGITS = 10
"""Numbers in a location are put in order up to so many digits."""


class NotAnOffcut(UserError):
    """A description that can be no offcut; `what` names the value that is wrong."""

    def __init__(self, message: str, what: str = "") -> None:
        super().__init__(message)
        self.what = what


class NotAnAllowance(UserError):
    """An allowance that is unknown or cannot be; `what` names it."""

    def __init__(self, message: str, what: str = "") -> None:
        super().__init__(message)
        self.what = what


class Face(Enum):
    """The condition of one face: what must come off it before it can be glued."""

    ROUGH = "rough"
    PLANED = "planed"
    FINISHED = "finished"


class State(Enum):
    """Where an offcut stands in its life. Nothing is ever deleted."""

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


# common practice, no source: every default below (cutting model, section 3)
@dataclass(frozen=True)
class Allowances:
    """What a shop takes off, loses to the blade and keeps: cutting model, section 3."""

    rip_kerf: Length = field(default=inches("1/8"), metadata={"meaning": "lost to each rip"})
    crosscut_kerf: Length = field(default=inches("1/8"), metadata={"meaning": "lost to each crosscut"})
    resaw_kerf: Length = field(default=inches("1/16"), metadata={"meaning": "lost to each resaw on the band saw"})
    rough_face: Length = field(default=inches("1/16"), metadata={"meaning": "taken off a rough face to make it flat"})
    finished_face: Length = field(
        default=inches("1/32"), metadata={"meaning": "taken off a finished face to reach bare wood"}
    )
    planed_face: Length = field(default=Length(0), metadata={"meaning": "taken off a planed face"})
    edge_jointing: Length = field(
        default=inches("1/32"), metadata={"meaning": "taken off an edge to make it straight and square"}
    )
    leaf_clean: Length = field(default=inches("1/32"), metadata={"meaning": "taken off a resawn leaf"})
    flattening: Length = field(
        default=inches("1/8"), metadata={"meaning": "both faces together, planed off the board after the glue-up"}
    )
    end_trim: Length = field(
        default=inches("1"), metadata={"meaning": "extra length of every strip, trimmed after the glue-up"}
    )
    side_trim: Length = field(
        default=inches("1/8"), metadata={"meaning": "extra width of the glue-up, jointed off the two outer edges"}
    )
    keep_length: Length = field(default=inches("6"), metadata={"meaning": "shortest remainder that is kept"})
    keep_width: Length = field(default=inches("3/4"), metadata={"meaning": "narrowest remainder that is kept"})
    keep_thickness: Length = field(default=inches("1/4"), metadata={"meaning": "thinnest remainder that is kept"})
    max_strip_width: Length = field(
        default=inches("4"), metadata={"meaning": "widest strip of a face-grain glue-up (wider ones cup)"}
    )
    min_strip_width: Length = field(
        default=inches("3/4"), metadata={"meaning": "narrowest strip of a face-grain glue-up"}
    )
    thinnest_lamination: Length = field(
        default=inches("1/4"), metadata={"meaning": "thinnest strip of an edge-grain glue-up, accents aside"}
    )

    def __post_init__(self) -> None:
        for name in ALLOWANCE_NAMES:
            size = getattr(self, name)
            if not 0 <= size <= MAX_ALLOWANCE:
                raise NotAnAllowance(f"{name} must lie between 0 and 1000 mm. Check the unit.", name)
        for name in ("max_strip_width", "min_strip_width"):
            if getattr(self, name) == 0:
                raise NotAnAllowance(f"{name} can't be 0. Type the width of a strip.", name)
        if self.min_strip_width > self.max_strip_width:
            raise NotAnAllowance(
                "min_strip_width is wider than max_strip_width: no strip could be ripped. Make it narrower.",
                "min_strip_width",
            )

    def off(self, face: Face) -> Length:
        """What comes off one face of this condition."""
        match face:
            case Face.ROUGH:
                return self.rough_face
            case Face.PLANED:
                return self.planed_face
            case Face.FINISHED:
                return self.finished_face

    def clean_thickness(self, offcut: Offcut) -> Length:
        """`t` of section 3: what is left between two clean faces; may be 0 or less."""
        return Length(offcut.thickness - self.off(offcut.face_a) - self.off(offcut.face_b))

    def keeps(self, length: int, width: int, thickness: int) -> bool:
        """Whether a leftover of these sizes goes back on the rack."""
        return (
            min(length, width, thickness) > 0
            and length >= self.keep_length
            and width >= self.keep_width
            and thickness >= self.keep_thickness
        )

    def with_value(self, name: str, size: Length) -> Allowances:
        """These allowances with one of them changed, by the model's name."""
        if name not in ALLOWANCE_NAMES:
            raise NotAnAllowance(f'"{name}" is no allowance of the cutting model.', name)
        return replace(self, **{name: size})

    def changed(self, typed: Mapping[str, str], unit: Unit) -> Allowances:
        """These allowances with some of them typed again, by the model's names.

        Raises NotAnAllowance for an unknown name and NotALength for a value that
        is none.
        """
        for name in typed:
            if name not in ALLOWANCE_NAMES:
                raise NotAnAllowance(
                    f'"{name}" is no allowance of the cutting model. Known are: {", ".join(ALLOWANCE_NAMES)}.', name
                )
        return replace(self, **{name: read_length(text, unit) for name, text in typed.items()})


MAX_ALLOWANCE = millimeters("1000")
ALLOWANCE_NAMES = tuple(each.name for each in fields(Allowances))
ALLOWANCE_MEANINGS = {each.name: str(each.metadata["meaning"]) for each in fields(Allowances)}
