"""The typed line: `4 of ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 2 # note`, read and written.

[N of] [species] LENGTH x WIDTH x THICKNESS [unit] [face [face]] [@ location] [# notes]

A species or location that would be misread goes in double quotes, a quote in it doubled. A # right before a digit is
part of a name (`@ bin #3`).
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from inventory.core.errors import UserError
from inventory.core.lengths import InvalidLength, Length, Unit, exact_text, read_length
from inventory.core.offcuts import MAX_NOTE_LENGTH, Face, InvalidOffcut, Offcut, read_face
from inventory.settings import Settings

MAX_LINE_LENGTH = MAX_NOTE_LENGTH + 500
SIZES = ("length", "width", "thickness")

_COUNT = re.compile(r"([0-9]+)\s+of(?!\S)\s*", re.IGNORECASE)
_QUOTED = re.compile(r'"((?:[^"]|"")*)"')
_NOTES = re.compile(r"(?<!\S)#(?![0-9])")
_BETWEEN = re.compile(r"(?:[x×*]|by)(?=\s*[-+.,]?(?:\d|[¼-¾⅐-⅞]))", re.IGNORECASE)
_LETTERS_OR_MARKS = re.compile(r"[a-z\"'″”“′’‘]", re.IGNORECASE)
_LAST_UNIT = re.compile(r"(?:[a-z]+\.?|''|[\"'″”“′’‘])\s*$", re.IGNORECASE)


class InvalidTypedLine(UserError):
    """A typed line that can't be read; `what` is the part that is wrong (`species`, `length`, `count`, … or `line`)."""

    def __init__(self, message: str, what: str = "line") -> None:
        super().__init__(message)
        self.what = what


@dataclass(frozen=True)
class _Parts:
    """The line taken apart. None where a part was left out."""

    count: int
    species: str
    sizes: str
    location: str | None
    notes: str


def read_line(line: str, settings: Settings, *, last: Offcut | None = None) -> Offcut:
    """Reads one offcut from a typed line; the result has no tag and no day.

    A bare number is in the unit written after the last size, else in the shop's.
    One face word is for both faces, two are face a and face b. What the line
    leaves out of species, faces and location is taken from `last`, else empty and
    rough; count and notes are never carried over. `@` alone clears the location.
    Raises InvalidTypedLine, whose `what` names the part.

    >>> read_line("ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 2", Settings()).location
    'wall 2'
    """
    parts = _split_line(line, settings.unit)
    words, sizes = _sizes(parts.sizes, settings.unit)
    face_a, face_b = _faces(words) or (last.faces if last else (Face.ROUGH, Face.ROUGH))
    try:
        return Offcut(
            *sizes,
            species=parts.species or (last.species if last else ""),
            face_a=face_a,
            face_b=face_b,
            count=parts.count,
            location=(last.location if last else "") if parts.location is None else parts.location,
            notes=parts.notes,
        )
    except InvalidOffcut as error:
        raise InvalidTypedLine(str(error), error.what) from None


def _example(unit: Unit) -> str:
    sizes = "23 1/2 x 3 1/4 x 13/16" if unit is Unit.INCH else "597 x 83 x 21"
    return f"Type it as: ash {sizes} rough @ wall 2"


def _split_line(line: str, unit: Unit) -> _Parts:
    rest = line.strip()
    if not rest:
        raise InvalidTypedLine(f"Nothing was typed. {_example(unit)}")
    if len(rest) > MAX_LINE_LENGTH:
        raise InvalidTypedLine(f"The line is longer than {MAX_LINE_LENGTH} letters. Shorten its notes.", "notes")
    count = 1
    counted = _COUNT.match(rest)
    if counted:
        count, rest = int(counted[1][:9]), rest[counted.end() :]
    species, rest = _quoted(rest, "species") if rest.startswith('"') else ("", rest)
    head, location, notes = _tail(rest)
    words = head.split()
    named = next((place for place, word in enumerate(words) if _starts_with_number(word)), len(words))
    if species and named:
        raise InvalidTypedLine(f'"{words[0]}" stands between the species and the length. {_example(unit)}', "species")
    return _Parts(count, species or " ".join(words[:named]), " ".join(words[named:]), location, notes)


def _quoted(text: str, what: str) -> tuple[str, str]:
    """The text in the quotes that `text` begins with, and the rest."""
    found = _QUOTED.match(text)
    if found is None:
        raise InvalidTypedLine(
            f'The {what} begins with a quotation mark that is not closed. Type another " after it.', what
        )
    return " ".join(found[1].replace('""', '"').split()), text[found.end() :]


def _tail(rest: str) -> tuple[str, str | None, str]:
    """The line before the location, the location, the notes."""
    notes_at = _NOTES.search(rest)
    head, at, place = rest.partition("@")
    if not at or (notes_at and notes_at.start() < len(head)):
        return (
            (rest, None, "") if notes_at is None else (rest[: notes_at.start()], None, rest[notes_at.end() :].strip())
        )
    place = place.lstrip()
    if place.startswith('"'):
        location, after = _quoted(place, "location")
        if after.strip() and not after.lstrip().startswith("#"):
            raise InvalidTypedLine(f'"{after.strip()[:40]}" stands after the location. Put # before notes.', "location")
        return head, location, after.strip().removeprefix("#").strip()
    location, notes = _without_notes(place)
    return head, " ".join(location.split()), notes


def _without_notes(text: str) -> tuple[str, str]:
    notes_at = _NOTES.search(text)
    return (text, "") if notes_at is None else (text[: notes_at.start()], text[notes_at.end() :].strip())


def _starts_with_number(word: str) -> bool:
    plain = word.lstrip("-+.,")
    return bool(plain) and unicodedata.numeric(plain[0], None) is not None


def _sizes(text: str, unit: Unit) -> tuple[list[str], tuple[Length, Length, Length]]:
    """The words after the sizes, and the three sizes."""
    typed = [part.strip() for part in _BETWEEN.split(text)] if text else []
    if len(typed) != 3:
        there = f"{len(typed)} size{'s' if len(typed) > 1 else ''}" if typed else "no size"
        raise InvalidTypedLine(f"The line has {there}; it needs length, width and thickness. {_example(unit)}", "line")
    words = typed[2].split()
    place = next((place for place, word in enumerate(words) if _is_a_word(word, unit)), len(words))
    typed[2] = " ".join(words[:place])
    last_unit = "" if _is_bare(typed[2]) else _unit_at_the_end(typed[2])
    length, width, thickness = (_size(name, size, last_unit, unit) for name, size in zip(SIZES, typed, strict=True))
    return words[place:], (length, width, thickness)


def _is_a_word(word: str, unit: Unit) -> bool:
    """Whether this is neither a number nor a unit."""
    if not word[0].isalpha():
        return False
    try:
        read_length(f"1 {word}", unit)
    except InvalidLength:
        return True
    return False


def _is_bare(size: str) -> bool:
    return _LETTERS_OR_MARKS.search(size) is None


def _unit_at_the_end(size: str) -> str:
    found = _LAST_UNIT.search(size)
    return found[0].strip() if found else ""


def _size(name: str, typed: str, last_unit: str, unit: Unit) -> Length:
    if last_unit and _is_bare(typed):
        fraction = "/" in unicodedata.normalize("NFKC", typed).replace("⁄", "/")
        if fraction and last_unit.lower()[0] in "mc":
            raise InvalidTypedLine(
                f'{name}: "{typed}" has no unit, and the last size is in {last_unit}. Write the unit after each size.',
                name,
            )
        typed = f"{typed} {last_unit}"
    try:
        return read_length(typed, unit)
    except InvalidLength as error:
        raise InvalidTypedLine(f"{name}: {error}", name) from None


def _faces(words: list[str]) -> tuple[Face, Face] | None:
    if not words:
        return None
    if len(words) > 2:
        raise InvalidTypedLine(
            f'"{" ".join(words)[:60]}" stands after the sizes, where there is room for two faces. '
            "Put @ before the location and # before notes.",
            "face",
        )
    try:
        faces = [read_face(word) for word in words]
    except InvalidOffcut as error:
        raise InvalidTypedLine(f"{error} Put @ before the location and # before notes.", "face") from None
    return faces[0], faces[-1]


def describe_line(offcut: Offcut, unit: Unit) -> str:
    """The line that reads back as this offcut, in `unit` where that holds the sizes exactly.

    Left out are the tag, the day, and an empty species, location or note.

    >>> describe_line(read_line("4 of ash 23½×3¼×⅞ planed rough", Settings()), Unit.INCH)
    '4 of ash 23 1/2 x 3 1/4 x 7/8 in planed rough'
    """
    parts = [f"{offcut.count} of"] if offcut.count > 1 else []
    if offcut.species:
        parts.append(_named(offcut.species, is_plain=all(_is_plain(word) for word in offcut.species.split())))
    parts.append(_written_sizes(offcut, unit))
    parts.append(offcut.face_a.value)
    if offcut.face_b is not offcut.face_a:
        parts.append(offcut.face_b.value)
    if offcut.location:
        parts.append(
            f"@ {_named(offcut.location, is_plain='#' not in offcut.location and offcut.location[0] != chr(34))}"
        )
    if offcut.notes:
        parts.append(f"# {offcut.notes}")
    return " ".join(parts)


def _is_plain(word: str) -> bool:
    """Whether a word of a species is read as one without quotes."""
    return not _starts_with_number(word) and not any(mark in word for mark in '@#"')


def _named(name: str, *, is_plain: bool) -> str:
    return name if is_plain else '"' + name.replace('"', '""') + '"'


def _written_sizes(offcut: Offcut, unit: Unit) -> str:
    written = [exact_text(size, unit) for size in (offcut.length, offcut.width, offcut.thickness)]
    ending = f" {unit.value}"
    if all(text.endswith(ending) for text in written):
        return " x ".join(text.removesuffix(ending) for text in written) + ending
    return " x ".join(written)
