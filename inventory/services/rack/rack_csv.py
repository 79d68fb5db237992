"""The rack as CSV (contract, "Rack CSV"): RFC 4180, UTF-8, one row a tag.

Sizes are Length.

A spreadsheet would take a text that begins with = + - @, a tab or a line end for a formula. It is written with an
apostrophe before it, which spreadsheets use to mark text, and read without. A text that already has apostrophes before
such a sign gets one more, so that each text reads back as itself.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import BinaryIO, TypeVar

from inventory.core.errors import UserError
from inventory.core.lengths import Length, Unit, exact_text, read_length
from inventory.core.offcuts import Face, InvalidOffcut, Mark, Offcut, moisture_text, read_face, read_mark, read_moisture
from inventory.core.whole_numbers import read_integer

COLUMNS = (
    "tag", "species", "length", "width", "thickness", "face_a", "face_b", "count", "location", "tagged_on", "notes",
)  # fmt: skip
CARRIED = ("marks", "moisture", "moisture_on", "batch")
"""Columns of what pieces carry; each is written only where some piece has it."""
FORMER = "former_tags"
"""A column more where tags were replaced: the codes that a piece had before, separated by spaces."""
SEEN = "seen_on"
"""A column more where pieces were looked after since they were tagged: the day on which each was."""
_KNOWN = (*COLUMNS, *CARRIED, FORMER, SEEN)

REQUIRED = ("length", "width", "thickness")

_FORMULA = re.compile(r"'*[=+\-@\t\r\n]")
Value = TypeVar("Value")


class InvalidRackFile(UserError):
    """A file that is not a rack CSV."""


@dataclass(frozen=True)
class RowFault:
    """What is wrong in one row; `line` counts from 1 as a text editor does."""

    line: int
    reason: str


class BadRows(UserError):
    """Rows that can't be taken; `faults` are all of them, in the order of the file."""

    def __init__(self, faults: Sequence[RowFault]) -> None:
        self.faults = tuple(faults)
        lines = len({fault.line for fault in faults})
        first = self.faults[0]
        rows = "1 row is" if lines == 1 else f"{lines} rows are"
        super().__init__(f"Nothing was taken in: {rows} not right. Line {first.line}: {first.reason}")


@dataclass(frozen=True)
class ReadRow:
    """One row, and the line in which it begins. `offcut.tag` is what `read_tag` made of the cell, `former` likewise."""

    line: int
    offcut: Offcut
    former: tuple[str, ...] = ()
    seen_on: date | None = None


@dataclass(frozen=True)
class ReadRack:
    """All rows of a file, and warnings."""

    rows: tuple[ReadRow, ...]
    warnings: tuple[str, ...]


def read_rows(file: bytes | BinaryIO, unit: Unit, read_tag: Callable[[str], str]) -> ReadRack:
    """Reads a whole file; a bare number is in `unit`.

    `read_tag` turns a typed tag into the one to keep, or raises UserError. Raises
    InvalidRackFile where the file as a whole can't be read and BadRows with every fault
    of every row; a tag that stands twice is one.
    """
    records = _records(_text(file if isinstance(file, bytes) else file.read()))
    header_line, header = next(records, (1, []))
    names, warnings = _read_header(header, header_line)
    rows: list[ReadRow] = []
    faults: list[RowFault] = []
    lines_of_tags: dict[str, int] = {}
    for line, cells in records:
        row, reasons = _read_row(line, cells, names, unit, read_tag)
        if row is not None:
            rows.append(row)
            for tag in filter(None, (row.offcut.tag, *row.former)):
                before = lines_of_tags.setdefault(tag, 0)
                if before == line:
                    reasons.append(f"{FORMER}: {tag} stands twice in this row. Keep it once.")
                elif before:
                    reasons.append(f"tag: {tag} stands in line {before} too. Keep it in one row.")
                else:
                    lines_of_tags[tag] = line
        faults.extend(RowFault(line, reason) for reason in reasons)
    if faults:
        raise BadRows(faults)
    return ReadRack(tuple(rows), tuple(warnings))


def write_rows(
    offcuts: Iterable[Offcut],
    unit: Unit,
    former: Mapping[str, Sequence[str]] | None = None,
    seen: Mapping[str, date] | None = None,
) -> bytes:
    """A file of these offcuts, without a byte order mark, lines ended by CRLF.

    Every length carries its unit, so that it reads back exactly in any shop.
    `former` are the codes that pieces had before, `seen` the days on which they
    were looked after, both by their tag; without any the column is left out, and
    so is one of CARRIED.
    """
    offcuts = list(offcuts)
    carried = [name for name in CARRIED if any(getattr(offcut, name) for offcut in offcuts)]
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow((*COLUMNS, *carried, *([FORMER] if former else []), *([SEEN] if seen else [])))
    for offcut in offcuts:
        writer.writerow(
            [
                offcut.tag,
                _escape(offcut.species),
                *(exact_text(size, unit) for size in (offcut.length, offcut.width, offcut.thickness)),
                offcut.face_a.value,
                offcut.face_b.value,
                offcut.count,
                _escape(offcut.location),
                offcut.tagged_on.isoformat() if offcut.tagged_on else "",
                _escape(offcut.notes),
                *(_carried_text(offcut, name) for name in carried),
                *([" ".join(former.get(offcut.tag, ()))] if former else []),
                *([seen[offcut.tag].isoformat() if offcut.tag in seen else ""] if seen else []),
            ]
        )
    return out.getvalue().encode("utf-8")


def _carried_text(offcut: Offcut, name: str) -> str:
    match name:
        case "marks":
            return ";".join(mark.value for mark in offcut.marks)
        case "moisture":
            return "" if offcut.moisture is None else moisture_text(offcut.moisture)
        case "moisture_on":
            return "" if offcut.moisture_on is None else offcut.moisture_on.isoformat()
        case _:
            return _escape(offcut.batch)


def _text(content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InvalidRackFile(
            "The file is not text in UTF-8. Save the table as CSV in UTF-8 (not as a workbook) and try again."
        ) from None


def _records(text: str) -> Iterator[tuple[int, list[str]]]:
    """The records with the line in which each begins; empty ones are passed over."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader, None)
        except csv.Error as error:
            raise InvalidRackFile(
                f"Line {line} is not CSV: {_quote_fault(str(error))} "
                "Put quotes around the whole cell, and two for each one in it."
            ) from None
        if cells is None:
            return
        if any(cell.strip() for cell in cells):
            yield line, cells


def _quote_fault(error: str) -> str:
    if "end of data" in error:
        return "a quote is opened and never closed."
    if "limit" in error:
        return "a cell is longer than any note; perhaps a quote is never closed."
    return "a quote stands inside a cell that goes on after it."


def _read_header(header: Sequence[str], line: int) -> tuple[list[str | None], list[str]]:
    typed = [name.strip() for name in header]
    names: list[str | None] = [name.lower() if name.lower() in _KNOWN else None for name in typed]
    missing = [name for name in REQUIRED if name not in names]
    if missing:
        hint = f"The first line must name the columns: {','.join(COLUMNS)}"
        if len(header) == 1 and re.search(r"[;\t]", header[0]):
            hint = "Columns must be separated by commas, not by semicolons or tabs: save the table anew"
        raise InvalidRackFile(f"There is no column {' and no column '.join(missing)} in line {line}. {hint}.")
    for name in _KNOWN:
        if names.count(name) > 1:
            raise InvalidRackFile(f'The column "{name}" stands twice in line {line}. Keep one of them.')
    warnings = [
        f'The column "{name}" is not known here and was left out.'
        if name
        else f"Column {number} has no name and was left out."
        for number, (name, known) in enumerate(zip(typed, names, strict=True), 1)
        if known is None
    ]
    return names, warnings


class _CsvRow:
    """The cells of one row by their columns, and all that is wrong with them."""

    def __init__(self, cells: dict[str, str]) -> None:
        self._cells = cells
        self.reasons: list[str] = []

    def read(self, name: str, reader: Callable[[str], Value], default: Value) -> Value:
        """The value of a cell; `default` where it can't be read, and then one reason more."""
        try:
            return reader(self._cells.get(name, ""))
        except UserError as error:
            self.reasons.append(f"{name}: {error}")
            return default


def _read_row(
    line: int, cells: Sequence[str], names: Sequence[str | None], unit: Unit, read_tag: Callable[[str], str]
) -> tuple[ReadRow | None, list[str]]:
    """The row, or None and all that is wrong with it."""
    if len(cells) != len(names):
        return None, [f"The row has {len(cells)} cells, the first line {len(names)}. Check its commas and quotes."]
    row = _CsvRow({name: cell for name, cell in zip(names, cells, strict=True) if name is not None})
    length, width, thickness = (
        row.read(name, lambda text: read_length(text, unit), Length(1)) for name in ("length", "width", "thickness")
    )
    none: tuple[str, ...] = ()
    no_marks: tuple[Mark, ...] = ()
    former = row.read(FORMER, lambda text: tuple(read_tag(each) for each in text.split()), none)
    seen_on = row.read(SEEN, lambda text: _read_day(text, "where nobody looked"), None)
    try:
        offcut = Offcut(
            length=length,
            width=width,
            thickness=thickness,
            species=row.read("species", _read_name, ""),
            face_a=row.read("face_a", _read_face, Face.ROUGH),
            face_b=row.read("face_b", _read_face, Face.ROUGH),
            count=row.read("count", _read_count, 1),
            tag=row.read("tag", read_tag, ""),
            location=row.read("location", _read_name, ""),
            tagged_on=row.read("tagged_on", lambda text: _read_day(text, "for today"), None),
            notes=row.read("notes", _unescape, ""),
            marks=row.read("marks", _read_marks, no_marks),
            moisture=row.read("moisture", _read_moisture, None),
            moisture_on=row.read("moisture_on", lambda text: _read_day(text, "where none was read"), None),
            batch=row.read("batch", _read_name, ""),
        )
    except InvalidOffcut as error:
        return None, [*row.reasons, str(error)]
    return (None if row.reasons else ReadRow(line, offcut, former, seen_on)), row.reasons


def _read_name(text: str) -> str:
    """A species, location or batch: without space around it, in one line."""
    name = _unescape(text.strip())
    return " ".join(name.split()) if re.search(r"[\t\r\n\v\f]", name) else name


def _read_face(text: str) -> Face:
    return read_face(text) if text.strip() else Face.ROUGH


def _read_marks(text: str) -> tuple[Mark, ...]:
    return tuple(read_mark(word) for word in text.split(";") if word.strip())


def _read_moisture(text: str) -> Fraction | None:
    return read_moisture(text) if text.strip() else None


def _read_count(text: str) -> int:
    if not text.strip():
        return 1
    count = read_integer(text)
    if count is None:
        raise InvalidOffcut(f'"{text.strip()[:40]}" is no number of pieces. Type a whole number, or nothing for 1.')
    return count


def _read_day(text: str, empty: str) -> date | None:
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InvalidOffcut(f'"{text.strip()[:40]}" is no day. Type it as 2030-01-31, or nothing {empty}.') from None


def _escape(text: str) -> str:
    return f"'{text}" if _FORMULA.match(text) else text


def _unescape(text: str) -> str:
    return text[1:] if text.startswith("'") and _FORMULA.match(text) else text
