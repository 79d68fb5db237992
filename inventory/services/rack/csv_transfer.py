"""Import and export of the rack as CSV (`rack_csv`).

An export holds the pieces that are in the shop, on the rack or on hold, each tag with all its like pieces. Pieces that
are gone are history; a backup has them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import BinaryIO

from inventory.core.codes import read_code, read_tag
from inventory.core.lengths import Unit
from inventory.core.offcuts import MAX_NAME_LENGTH, Offcut
from inventory.services.rack import queries, retagging, tagging
from inventory.services.rack.rack_csv import SEEN, BadRows, InvalidRackFile, ReadRow, RowFault, read_rows, write_rows
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord
from inventory.storage.repositories.codes import piece_codes

__all__ = ["BadRows", "ImportedRack", "InvalidRackFile", "RowFault", "export_file", "import_file", "read_rack"]


@dataclass(frozen=True)
class ImportedRack:
    """The imported pieces, in the order of the file, and warnings."""

    records: tuple[OffcutRecord, ...]
    warnings: tuple[str, ...]


def import_file(shop: Shop, file: bytes | BinaryIO) -> ImportedRack:
    """Tags every row of a rack CSV, or none.

    A row with a tag keeps it and counts as labelled; it must be a valid code that
    no piece ever had here. A row without gets a fresh code, its label wanted. A
    row without a day was tagged today. Raises InvalidRackFile, or BadRows with every
    fault; then nothing is stored.
    """
    read = read_rows(file, shop.settings().unit, _read_code)
    pieces = [
        tagging.NewPiece(
            row.offcut,
            code=row.offcut.tag or None,
            label_wanted=not row.offcut.tag,
            former=row.former,
            seen_on=row.seen_on,
        )
        for row in read.rows
    ]
    now = shop.now()
    with shop.writing() as connection:
        # In the same transaction: a phone may give a code or replace a tag at any moment.
        codes = piece_codes(connection)
        faults = [fault for row in read.rows for fault in _shop_faults(row, codes, now.date())]
        if faults:
            raise BadRows(faults)
        return ImportedRack(tagging.tag_in_transaction(shop, connection, pieces, now), read.warnings)


def export_file(shop: Shop) -> tuple[bytes, int]:
    """The rack as CSV, oldest piece first, and how many tags are in it."""
    records = queries.all_pieces(shop, queries.StatusFilter.HERE)
    before = retagging.former_by_code(shop, records)
    seen = {each.code: each.last_checked_at.date() for each in records if each.last_checked_at is not None}
    return write_rows((record.offcut for record in records), shop.settings().unit, before, seen), len(records)


def read_rack(file: bytes | BinaryIO, unit: Unit) -> tuple[list[Offcut], tuple[str, ...]]:
    """The offcuts of a rack CSV and the warnings, without a shop; a bare number is in `unit`.

    Any text may be a tag here; a row without one is named after its line (`line 7`),
    so that a plan can name it. Raises InvalidRackFile and BadRows.
    """
    read = read_rows(file, unit, _read_any_tag)
    tags = {row.offcut.tag for row in read.rows}
    faults = [
        RowFault(row.line, f'tag: the row has none and "line {row.line}" is another row\'s. Give it a tag.')
        for row in read.rows
        if not row.offcut.tag and f"line {row.line}" in tags
    ]
    if faults:
        raise BadRows(faults)
    return [replace(row.offcut, tag=row.offcut.tag or f"line {row.line}") for row in read.rows], read.warnings


def _shop_faults(row: ReadRow, codes: frozenset[str], today: date) -> list[RowFault]:
    faults = []
    if row.offcut.tag in codes:
        faults.append(
            RowFault(row.line, f"tag: {row.offcut.tag} was given before. Leave the cell empty for a fresh one.")
        )
    faults += [
        RowFault(row.line, f"former_tags: {code} belongs to a piece that is here. Leave it out.")
        for code in row.former
        if code in codes
    ]
    faults += [
        RowFault(row.line, f"{name}: {day} is yet to come. Check the year.")
        for name, day in _days(row)
        if day is not None and day > today
    ]
    return faults


def _days(row: ReadRow) -> tuple[tuple[str, date | None], ...]:
    return (("tagged_on", row.offcut.tagged_on), ("moisture_on", row.offcut.moisture_on), (SEEN, row.seen_on))


def _read_code(text: str) -> str:
    return read_code(text) if text.strip() else ""


def _read_any_tag(text: str) -> str:
    """A code in its usual form, anything else as it is."""
    tag = read_tag(text)
    return _read_code(tag) if len(tag) > MAX_NAME_LENGTH else tag
