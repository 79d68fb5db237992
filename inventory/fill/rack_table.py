"""The rack as a table of numbers, whose offcuts are only made where they are needed.

Knows how offcuts stand as rows. Knows nothing of boards. Sizes in nanometres, days
as ordinals of `datetime.date`, 0 where unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from inventory.core.offcuts import Allowances, Face, Offcut
from inventory.cutting.offcut_arrays import Columns, Ints

FACES = tuple(Face)
"""A face's code in the table is its place here."""


@dataclass(frozen=True)
class RackTable:
    """One row a tag. `species` holds places in `names`; `offcuts(rows)` makes the offcuts of rows."""

    length: Ints
    width: Ints
    thickness: Ints
    face_a: Ints
    face_b: Ints
    species: Ints
    tagged: Ints
    count: Ints
    names: tuple[str, ...]
    offcuts: Callable[[Ints], list[Offcut]]

    def __len__(self) -> int:
        return len(self.length)

    def at(self, rows: Ints) -> RackTable:
        """Some of the rows."""
        return RackTable(
            self.length[rows],
            self.width[rows],
            self.thickness[rows],
            self.face_a[rows],
            self.face_b[rows],
            self.species[rows],
            self.tagged[rows],
            self.count[rows],
            self.names,
            lambda wanted: self.offcuts(rows[wanted]),
        )

    def of_species(self, takes: Callable[[str], bool]) -> NDArray[np.intp]:
        """The rows whose species is taken."""
        taken = np.array([takes(name) for name in self.names], dtype=np.bool_)
        return np.flatnonzero(taken[self.species]) if len(self.names) else np.zeros(0, dtype=np.intp)

    def all_offcuts(self) -> list[Offcut]:
        """Every offcut of the table, in order."""
        return self.offcuts(np.arange(len(self)))

    def columns(self, allowances: Allowances, on: date) -> Columns:
        """The columns that cutting reckons with; `on` is the day from which days are counted."""
        off = np.array([allowances.off(face) for face in FACES], dtype=np.int64)
        dirty = np.array([face is not Face.PLANED for face in FACES], dtype=np.int64)
        days = np.where(self.tagged > 0, np.maximum(on.toordinal() - self.tagged, 0), 0)
        clean = self.thickness - off[self.face_a] - off[self.face_b]
        unsurfaced_faces = dirty[self.face_a] + dirty[self.face_b]
        return Columns(self.length, self.width, self.thickness, clean, unsurfaced_faces, days, self.count)


def table_of(offcuts: Sequence[Offcut]) -> RackTable:
    """The table of these offcuts, in their order."""
    names: dict[str, int] = {}
    rows = np.array(rows_of(offcuts, names), dtype=np.int64).reshape(-1, NUMBERS)
    return table_of_rows(np.ascontiguousarray(rows.T), names, lambda wanted: [offcuts[row] for row in wanted.tolist()])


NUMBERS = 8
"""So many numbers stand for an offcut."""
COUNT = 7
"""The place of the count among them."""


def rows_of(offcuts: Sequence[Offcut], names: dict[str, int]) -> list[tuple[int, ...]]:
    """The numbers of these offcuts; species that are new are added to `names`."""
    place = FACES.index  # quicker than a dictionary, which would hash the name of every face
    return [
        (
            each.length,
            each.width,
            each.thickness,
            place(each.face_a),
            place(each.face_b),
            names.setdefault(each.species, len(names)),
            0 if each.tagged_on is None else each.tagged_on.toordinal(),
            each.count,
        )
        for each in offcuts
    ]


def table_of_rows(columns: Ints, names: Iterable[str], offcuts: Callable[[Ints], list[Offcut]]) -> RackTable:
    """The table of these numbers, a column of `rows_of` a row."""
    length, width, thickness, face_a, face_b, species, tagged, count = columns
    return RackTable(length, width, thickness, face_a, face_b, species, tagged, count, tuple(names), offcuts)
