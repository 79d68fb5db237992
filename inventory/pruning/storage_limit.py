"""The storage limit: a volume, a number of pieces, or a running length of shelf by location.

On a shelf pieces are on edge side by side like books, so that each takes its thickness (common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from inventory.core.errors import UserError
from inventory.core.lengths import (
    CUBIC_INCHES_PER_BOARD_FOOT,
    NM3_PER_MM3,
    NM_PER_INCH,
    InvalidLength,
    Length,
    Unit,
    read_length,
    volume_mm3,
)
from inventory.core.offcuts import Offcut, location_key
from inventory.core.whole_numbers import read_integer


class InvalidLimit(UserError):
    """A storage limit that can't be read; `what` names the value."""

    def __init__(self, message: str, what: str = "") -> None:
        super().__init__(message)
        self.what = what


@dataclass(frozen=True)
class StorageLimit:
    """Exactly one of these is set: whole mm³, pieces, or the length of shelf by location."""

    volume: int | None = None
    pieces: int | None = None
    shelves: Mapping[str, Length] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if (self.volume is not None) + (self.pieces is not None) + bool(self.shelves) != 1:
            raise InvalidLimit(
                "Give the storage limit in one way: as a volume, as a number of pieces, or as lengths of shelf.",
                "storage_limit",
            )

    def parts(self) -> tuple[LimitPart, ...]:
        """The parts that must each be met."""
        if self.volume is not None:
            return (LimitPart(None, self.volume),)
        if self.pieces is not None:
            return (LimitPart(None, self.pieces),)
        return tuple(LimitPart(location, length) for location, length in self.shelves.items())

    def space_of(self, offcut: Offcut) -> int:
        """How much of the limit one piece takes."""
        if self.volume is not None:
            return max(volume_mm3(offcut.length, offcut.width, offcut.thickness), 1)
        return 1 if self.pieces is not None else offcut.thickness

    def space_used(self, rack: Sequence[Offcut]) -> int:
        """How much of the limit a rack takes; on shelves, of all parts together."""
        return sum(
            self.space_of(each) * each.count for each in rack if any(part.contains(each) for part in self.parts())
        )


@dataclass(frozen=True)
class LimitPart:
    """A part of the limit in its own unit; `location` is None where it is for all of the rack."""

    location: str | None
    limit: int

    def contains(self, offcut: Offcut) -> bool:
        """Whether this part of the limit applies to a piece."""
        return self.location is None or location_key(offcut.location) == location_key(self.location)


_BOARD_FOOT = Fraction(CUBIC_INCHES_PER_BOARD_FOOT * NM_PER_INCH**3, NM3_PER_MM3)
_UNITS = {
    "bd ft": _BOARD_FOOT,
    "board feet": _BOARD_FOOT,
    "m3": Fraction(10**9),
    "m³": Fraction(10**9),
    "l": Fraction(10**6),
}


def read_volume(text: str, unit: Unit, whole: int) -> int:
    """Whole mm³ of a volume as typed: in board feet, m³ or litres, or in per cent of `whole`. Raises InvalidLimit.

    A bare number is in board feet in an inch shop, else in m³.

    >>> read_volume("60 %", Unit.INCH, 1000), read_volume("0,02", Unit.MILLIMETER, 0), read_volume("20 l", Unit.INCH, 0)
    (600, 20000000, 20000000)
    """
    typed = re.fullmatch(r"(\d{1,9}(?:[.,]\d{1,6})?)\s*(%|bd ft|board feet|m3|m³|l)?", text.strip().lower())
    if typed is None:
        raise InvalidLimit(
            f'"{text.strip()[:40]}" is no volume. Type one such as 40 bd ft, 0.1 m³, or 60 % of what is there.',
            "volume",
        )
    number = Fraction(typed[1].replace(",", "."))
    if typed[2] == "%":
        if number > 100:
            raise InvalidLimit("More than 100 % of what is there can't be kept. Type 100 % or less.", "volume")
        return int(number * whole / 100)
    return int(number * _UNITS[typed[2] or ("bd ft" if unit is Unit.INCH else "m3")])


def read_pieces(text: str) -> int:
    """A number of pieces as typed. Raises InvalidLimit."""
    pieces = read_integer(text)
    if pieces is None:
        raise InvalidLimit(
            f'"{text.strip()[:40]}" is no number of pieces. Type how many may stay, such as 80.', "pieces"
        )
    return pieces


def read_shelves(typed: Mapping[str, str], unit: Unit) -> dict[str, Length]:
    """Running lengths of shelf by location, empty answers left out. Raises InvalidLimit."""
    found: dict[str, Length] = {}
    for location, text in typed.items():
        if text.strip():
            before = next((each for each in found if location_key(each) == location_key(location)), None)
            if before is not None:
                raise InvalidLimit(f'"{before}" and "{location}" are one location. Give its shelf once.', "shelves")
            try:
                found[location] = read_length(text, unit)
            except InvalidLength as error:
                raise InvalidLimit(f"{location}: {error}", "shelves") from None
    if not found:
        raise InvalidLimit("No length of shelf is typed. Type one beside at least one location.", "shelves")
    return found
