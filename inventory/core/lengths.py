"""Exact lengths: how they are typed, calculated with and shown (cutting model, section 1).

A Length is a whole number of nanometers; areas in the model are whole mm², volumes whole mm³. No float takes part.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import NewType

from inventory.core.errors import UserError

Length = NewType("Length", int)
"""A length in whole nanometers."""

NM_PER_MM = 1_000_000
# The international inch is 25.4 mm exactly (NIST Special Publication 811, Appendix B.6; from memory).
NM_PER_INCH = 25_400_000
NM_PER_FOOT = 12 * NM_PER_INCH
NM3_PER_MM3 = NM_PER_MM**3
NM2_PER_MM2 = NM_PER_MM**2

CUBIC_INCHES_PER_BOARD_FOOT = 144
"""1 board foot = 144 in³: nominal 1 in × 12 in × 12 in (cutting model, section 1)."""

MAX_LENGTH_NM = Length(100_000 * NM_PER_MM)
"""Nothing in a shop is measured above 100 m; a longer entry is a slip of the finger."""


class InvalidLength(UserError):
    """A typed length that cannot be read; the message says why and what to type."""


class Unit(Enum):
    """What a bare number means in this shop."""

    INCH = "in"
    MILLIMETER = "mm"


class Nearest(Enum):
    """How finely lengths are shown. Stored lengths stay exact."""

    SIXTEENTH = "1/16 in"
    THIRTY_SECOND = "1/32 in"
    SIXTY_FOURTH = "1/64 in"
    TENTH_MM = "0.1 mm"

    @property
    def step(self) -> Length:
        """The shown step, in nanometers."""
        match self:
            case Nearest.SIXTEENTH:
                return Length(NM_PER_INCH // 16)
            case Nearest.THIRTY_SECOND:
                return Length(NM_PER_INCH // 32)
            case Nearest.SIXTY_FOURTH:
                return Length(NM_PER_INCH // 64)
            case Nearest.TENTH_MM:
                return Length(NM_PER_MM // 10)

    @property
    def unit(self) -> Unit:
        """The unit in which this step is shown."""
        return Unit.MILLIMETER if self is Nearest.TENTH_MM else Unit.INCH


ROUNDED_MARK = "≈"
"""Stands before a shown length that the display rounded."""

_UNIT_NM = {
    "mm": NM_PER_MM,
    "cm": 10 * NM_PER_MM,
    "m": 1000 * NM_PER_MM,
    "in": NM_PER_INCH,
    "ft": NM_PER_FOOT,
}
_UNIT_WORDS = {
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
    "cm": "cm", "centimetre": "cm", "centimetres": "cm", "centimeter": "cm", "centimeters": "cm",
    "m": "m", "metre": "m", "metres": "m", "meter": "m", "meters": "m",
    "in": "in", "in.": "in", "inch": "in", "inches": "in", '"': "in",
    "ft": "ft", "ft.": "ft", "foot": "ft", "feet": "ft", "'": "ft",
}  # fmt: skip
_PART = re.compile(
    r"\s*(?P<number>\d+(?:\s+|\s*-\s*)\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d+[.,]\d+|[.,]\d+|\d+)"
    r"\s*(?P<unit>[a-z]+\.?|\"|')?\s*-?"
)
_THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3}")
"""What one hand writes for thousands and another for thousandths."""
_MARKS = str.maketrans(
    {"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "⁄": "/", "∕": "/", "‐": "-", "‑": "-", "–": "-"}
)


def _plain(text: str) -> str:
    """Fraction glyphs, primes and spaces as the keys that everybody has."""
    out: list[str] = []
    for character in text.replace("''", '"'):
        decomposed = unicodedata.normalize("NFKC", character)
        if len(character) == 1 and "⁄" in decomposed:
            out.append(" " + decomposed + " ")
        else:
            out.append(decomposed if character.isdecimal() else character)
    return " ".join("".join(out).translate(_MARKS).split()).lower()


def _examples(unit: Unit) -> str:
    if unit is Unit.INCH:
        return "Type 23 1/2, 23.5 in or 597 mm."
    return "Type 597, 59.7 cm or 23 1/2 in."


def _number(typed: str, text: str, unit: Unit) -> Fraction:
    whole, slash, below = typed.partition("/")
    if not slash:
        return Fraction(typed.replace(",", "."))
    if int(below) == 0:
        raise InvalidLength(f'"{text}" is not a length: the fraction has 0 below the line. {_examples(unit)}')
    words = whole.replace("-", " ").split()
    value = Fraction(int(words[-1]), int(below))
    return value + int(words[0]) if len(words) == 2 else value


def read_length(text: str, unit: Unit) -> Length:
    """Reads one length as people type it.

    A number without a unit is in `unit`; a unit that is typed wins. Feet and
    inches may be joined (`1' 11 1/2"`). Units: the result is whole nanometers.
    Raises InvalidLength, with the sentence to show, where the text is no length,
    is finer than a nanometer (1/3 in), negative, or above 100 m.

    >>> read_length("23 1/2", Unit.INCH) == read_length("1' 11½″", Unit.MILLIMETER) == 596_900_000
    True
    >>> read_length("59.7 cm", Unit.INCH)
    597000000
    """
    shown = text.strip()
    if not shown:
        raise InvalidLength(f"The size is missing. {_examples(unit)}")
    if len(shown) > 60:
        raise InvalidLength(f'"{shown[:20]}…" is too long for a length. {_examples(unit)}')
    plain = _plain(shown)
    if plain.startswith(("-", "+")):
        raise InvalidLength(f'"{shown}" is not a length: it begins with a sign. {_examples(unit)}')
    parts: list[tuple[Fraction, str | None, bool]] = []
    place = 0
    while place < len(plain):
        found = _PART.match(plain, place)
        if found is None or found.end() == place or len(parts) == 2:
            raise InvalidLength(f'"{shown}" is not a length. {_examples(unit)}')
        word = found["unit"]
        if word is not None and word not in _UNIT_WORDS:
            raise InvalidLength(f'"{shown}" is not a length: "{word}" is no unit known here. {_examples(unit)}')
        if _THOUSANDS.fullmatch(found["number"]) and _UNIT_WORDS.get(word or unit.value) in ("mm", "in"):
            either, other = found["number"].replace(",", "."), found["number"].replace(",", "")
            raise InvalidLength(f'"{shown}" could be {either} or {other}. Type it without a comma.')
        parts.append(
            (
                _number(found["number"], shown, unit),
                None if word is None else _UNIT_WORDS[word],
                "/" in found["number"],
            )
        )
        place = found.end()
    if plain.endswith("-"):
        raise InvalidLength(f'"{shown}" is not a length: it ends with a hyphen. {_examples(unit)}')
    return _whole_nanometres(parts, shown, unit)


def unit_of(text: str, unit: Unit) -> Unit:
    """The unit in which a readable length was typed, that of its last part; `unit` where it names none.

    >>> unit_of("45 cm", Unit.INCH), unit_of("1' 11 1/2", Unit.MILLIMETER), unit_of("450", Unit.MILLIMETER)
    (<Unit.MILLIMETER: 'mm'>, <Unit.INCH: 'in'>, <Unit.MILLIMETER: 'mm'>)
    """
    words = [found["unit"] for found in _PART.finditer(_plain(text.strip())) if found["unit"] in _UNIT_WORDS]
    if not words:
        return unit
    return Unit.INCH if _UNIT_WORDS[words[-1]] in ("in", "ft") else Unit.MILLIMETER


def _whole_nanometres(parts: list[tuple[Fraction, str | None, bool]], shown: str, unit: Unit) -> Length:
    if len(parts) == 2:
        (feet, first_unit, _), (inches_part, second_unit, _) = parts
        if first_unit != "ft" or second_unit not in (None, "in"):
            raise InvalidLength(f'"{shown}" is not one length. {_examples(unit)}')
        nanometres = feet * NM_PER_FOOT + inches_part * NM_PER_INCH
    else:
        [(value, typed_unit, has_fraction)] = parts
        if typed_unit is None and has_fraction and unit is Unit.MILLIMETER:
            raise InvalidLength(
                f'"{shown}" could be inches: this shop measures in millimetres and a fraction has no unit. '
                f"Type {shown} in, or the size in mm."
            )
        nanometres = value * _UNIT_NM[typed_unit or unit.value]
    if nanometres > MAX_LENGTH_NM:
        raise InvalidLength(f'"{shown}" is longer than 100 m. Check the unit. {_examples(unit)}')
    if nanometres.denominator != 1:
        raise InvalidLength(
            f'"{shown}" is finer than a millionth of a millimetre and can\'t be kept exactly. '
            "Type it in 64ths of an inch or in millimetres."
        )
    return Length(int(nanometres))


def inches(text: str) -> Length:
    """A length typed in inches, for constants.

    >>> inches("1/32")
    793750
    """
    return read_length(text, Unit.INCH)


def millimeters(text: str) -> Length:
    """A length typed in millimeters, for constants.

    >>> millimeters("0.01")
    10000
    """
    return read_length(text, Unit.MILLIMETER)


def mm_text(length: int) -> str:
    """The exact millimeters as a decimal string, as plans and scripts carry them.

    >>> mm_text(41_275_000), mm_text(300_000_000)
    ('41.275', '300')
    """
    sign = "-" if length < 0 else ""
    whole, rest = divmod(abs(length), NM_PER_MM)
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole}.{rest:06d}".rstrip("0")


def inch_text(length: int, parts: int = 64) -> str:
    """Whole inches and a fraction in lowest terms; `length` must be a multiple of 1/`parts` in.

    >>> inch_text(inches("23 1/2")), inch_text(inches("13/16")), inch_text(0)
    ('23 1/2', '13/16', '0')
    """
    value = Fraction(length * parts, NM_PER_INCH)
    if value.denominator != 1:
        raise ValueError(f"{length} nm is not a multiple of 1/{parts} in")
    whole, rest = divmod(Fraction(int(value), parts), 1)
    if not rest:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)


@dataclass(frozen=True)
class Display:
    """How this shop shows lengths: a unit and the nearest step."""

    nearest: Nearest = Nearest.SIXTEENTH

    @property
    def unit(self) -> Unit:
        return self.nearest.unit


def rounded_to(length: int, step: int) -> Length:
    """`length` to the nearest multiple of `step`, halves up."""
    return Length((2 * length + step) // (2 * step) * step)


def format_length(length: int, display: Display, *, with_unit: bool = True) -> str:
    """A length as the shop reads it; ≈ stands before it where the display rounds.

    >>> format_length(inches("23 1/2"), Display(Nearest.SIXTEENTH))
    '23 1/2 in'
    >>> format_length(millimeters("597"), Display(Nearest.SIXTEENTH))
    '≈23 1/2 in'
    """
    nearest = rounded_to(length, display.nearest.step)
    mark = "" if nearest == length else ROUNDED_MARK
    number = mm_text(nearest) if display.unit is Unit.MILLIMETER else inch_text(nearest)
    return f"{mark}{number} {display.unit.value}" if with_unit else f"{mark}{number}"


def format_length_down(length: int, display: Display) -> str:
    """As `format_length`, but never more than the true length: for "at most" answers."""
    step = display.nearest.step
    return format_length(length // step * step, display)


def exact_text(length: int, unit: Unit) -> str:
    """A text that reads back as exactly this length, with its unit; inches where 64ths hold it.

    >>> exact_text(millimeters("597"), Unit.INCH), exact_text(inches("3 1/4"), Unit.INCH)
    ('597 mm', '3 1/4 in')
    """
    if unit is Unit.INCH and (length * 64) % NM_PER_INCH == 0:
        return f"{inch_text(length)} in"
    return f"{mm_text(length)} mm"


def typed_text(length: int, unit: Unit) -> str:
    """As `exact_text`, but without the unit where the shop's own unit holds it: for form fields."""
    text = exact_text(length, unit)
    return text.removesuffix(f" {unit.value}")


def volume_mm3(length: int, width: int, thickness: int) -> int:
    """Whole cubic millimeters of one box, rounded down."""
    return length * width * thickness // NM3_PER_MM3


def area_mm2(length: int, width: int) -> int:
    """Whole square millimeters of one face, rounded down."""
    return length * width // NM2_PER_MM2


def board_feet(volume: int) -> Fraction:
    """Board feet in `volume` mm³, exact.

    >>> float(board_feet(2_359_737))  # a hair under one: 1 board foot is 2 359 737.216 mm³
    0.9999999084643839
    """
    return Fraction(volume * NM3_PER_MM3, CUBIC_INCHES_PER_BOARD_FOOT * NM_PER_INCH**3)


def format_volume(volume: int, unit: Unit) -> str:
    """`volume` mm³ in board feet or m³, to two or four places.

    >>> format_volume(23_597_372, Unit.INCH), format_volume(12_345_678, Unit.MILLIMETER)
    ('10.00 bd ft', '0.0123 m³')
    """
    if unit is Unit.INCH:
        return f"{float(board_feet(volume)):.2f} bd ft"
    return f"{volume / 1e9:.4f} m³"
