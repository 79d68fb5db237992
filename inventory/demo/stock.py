"""Reads the demo shop's pieces from `rack.csv`. `days_ago` counts back from the day on which the demo is made."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date, timedelta
from importlib.resources import files

from inventory.core.lengths import Unit, read_length
from inventory.core.offcuts import Offcut, read_face, read_mark, read_moisture
from inventory.demo.photo import Coat


@dataclass(frozen=True)
class DemoPiece:
    """One line of the table: a piece or a bundle, the day it was tagged and the coat on a finished face."""

    offcut: Offcut
    days_ago: int
    coat: Coat
    typed_length: str

    @property
    def name(self) -> tuple[str, str]:
        """Species and length as typed, by which the story names the piece; each is unique."""
        return (self.offcut.species, self.typed_length)

    def tagged_on(self, today: date) -> date:
        return today - timedelta(days=self.days_ago)


def read_pieces() -> tuple[DemoPiece, ...]:
    """All lines of the table, oldest first."""
    table = files("inventory.demo").joinpath("rack.csv").read_text(encoding="utf-8")
    return tuple(_read_piece(row) for row in csv.DictReader(table.splitlines()))


def _read_piece(row: dict[str, str]) -> DemoPiece:
    length, width, thickness = (read_length(row[name], Unit.INCH) for name in ("length", "width", "thickness"))
    offcut = Offcut(
        length,
        width,
        thickness,
        species=row["species"],
        face_a=read_face(row["face_a"]),
        face_b=read_face(row["face_b"]),
        count=int(row["count"]),
        location=row["location"],
        notes=row["notes"],
        marks=tuple(read_mark(word) for word in row["marks"].split(";") if word),
        moisture=read_moisture(row["moisture"]) if row["moisture"] else None,
        batch=row["batch"],
    )
    return DemoPiece(offcut, int(row["days_ago"]), Coat(row["coat"]) if row["coat"] else Coat.VARNISH, row["length"])
