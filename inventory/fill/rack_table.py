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
from inventory.cutting.offcut_arrays import IntArray, RackArrays

FACES = tuple(Face)
"""A face's code in the table is its place here."""


@dataclass(frozen=True)
class RackTable:
    """One row a tag. `species` holds places in `names`; `offcuts(rows)` makes the offcuts of rows."""

    length: IntArray
    width: IntArray
    thickness: IntArray
    face_a: IntArray
    face_b: IntArray
    species: IntArray
    tagged_day: IntArray
    count: IntArray
    names: tuple[str, ...]
    offcuts: Callable[[IntArray], list[Offcut]]

    def __len__(self) -> int:
        return len(self.length)

    def select(self, rows: IntArray) -> RackTable:
        """Some of the rows."""
        return RackTable(
            self.length[rows],
            self.width[rows],
            self.thickness[rows],
            self.face_a[rows],
            self.face_b[rows],
            self.species[rows],
            self.tagged_day[rows],
            self.count[rows],
            self.names,
            lambda wanted: self.offcuts(rows[wanted]),
        )

    def rows_of_species(self, accepts: Callable[[str], bool]) -> NDArray[np.intp]:
        """The rows whose species is taken."""
        taken = np.array([accepts(name) for name in self.names], dtype=np.bool_)
        return np.flatnonzero(taken[self.species]) if len(self.names) else np.zeros(0, dtype=np.intp)

    def all_offcuts(self) -> list[Offcut]:
        """Every offcut of the table, in order."""
        return self.offcuts(np.arange(len(self)))

    def arrays(self, allowances: Allowances, on: date) -> RackArrays:
        """The columns that cutting reckons with; `on` is the day from which days are counted."""
        off = np.array([allowances.off(face) for face in FACES], dtype=np.int64)
        dirty = np.array([face is not Face.PLANED for face in FACES], dtype=np.int64)
        days = np.where(self.tagged_day > 0, np.maximum(on.toordinal() - self.tagged_day, 0), 0)
        clean = self.thickness - off[self.face_a] - off[self.face_b]
        unsurfaced_faces = dirty[self.face_a] + dirty[self.face_b]
        return RackArrays(self.length, self.width, self.thickness, clean, unsurfaced_faces, days, self.count)


def build_table(offcuts: Sequence[Offcut]) -> RackTable:
    """The table of these offcuts, in their order."""
    names: dict[str, int] = {}
    rows = np.array(table_rows(offcuts, names), dtype=np.int64).reshape(-1, COLUMN_COUNT)
    return table_from_rows(
        np.ascontiguousarray(rows.T), names, lambda wanted: [offcuts[row] for row in wanted.tolist()]
    )


COLUMN_COUNT = 8
"""So many numbers stand for an offcut."""
COUNT_COLUMN = 7
"""The place of the count among them."""


def table_rows(offcuts: Sequence[Offcut], names: dict[str, int]) -> list[tuple[int, ...]]:
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


def table_from_rows(arrays: IntArray, names: Iterable[str], offcuts: Callable[[IntArray], list[Offcut]]) -> RackTable:
    """The table of these numbers, a column of `table_rows` a row."""
    length, width, thickness, face_a, face_b, species, tagged_day, count = arrays
    return RackTable(length, width, thickness, face_a, face_b, species, tagged_day, count, tuple(names), offcuts)
