"""The rack as a table of numbers, one row per tag, which makes its offcuts only where they are asked for.

Sizes in nanometers, days as ordinals of `datetime.date`, 0 where unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from inventory.core.allowances import Allowances
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.offcut_arrays import IntArray, RackArrays

FACES = tuple(Face)
"""The code of a face in the table is its index here."""


@dataclass(frozen=True)
class RackTable:
    """Columns of equal length. `species` holds indices into `names`; `offcuts(rows)` makes the offcuts of rows."""

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
        """The rows of the accepted species."""
        accepted = np.array([accepts(name) for name in self.names], dtype=np.bool_)
        return np.flatnonzero(accepted[self.species]) if len(self.names) else np.zeros(0, dtype=np.intp)

    def all_offcuts(self) -> list[Offcut]:
        """Every offcut of the table, in order."""
        return self.offcuts(np.arange(len(self)))

    def arrays(self, allowances: Allowances, on: date) -> RackArrays:
        """The arrays that cutting computes with; `on` is the day up to which days on the rack count."""
        off = np.array([allowances.off(face) for face in FACES], dtype=np.int64)
        dirty = np.array([face is not Face.PLANED for face in FACES], dtype=np.int64)
        days = np.where(self.tagged_day > 0, np.maximum(on.toordinal() - self.tagged_day, 0), 0)
        clean = self.thickness - off[self.face_a] - off[self.face_b]
        unsurfaced_faces = dirty[self.face_a] + dirty[self.face_b]
        return RackArrays(self.length, self.width, self.thickness, clean, unsurfaced_faces, days, self.count)


def build_table(offcuts: Sequence[Offcut]) -> RackTable:
    """The table of these offcuts, in their order."""
    names: dict[str, int] = {}
    code = FACES.index  # faster than a dictionary, which would hash the name of every face
    rows = [
        (
            each.length,
            each.width,
            each.thickness,
            code(each.face_a),
            code(each.face_b),
            names.setdefault(each.species, len(names)),
            0 if each.tagged_on is None else each.tagged_on.toordinal(),
            each.count,
        )
        for each in offcuts
    ]
    columns = np.ascontiguousarray(np.array(rows, dtype=np.int64).reshape(-1, 8).T)
    length, width, thickness, face_a, face_b, species, tagged_day, count = columns

    def offcuts_of(wanted: IntArray) -> list[Offcut]:
        return [offcuts[row] for row in wanted.tolist()]

    return RackTable(length, width, thickness, face_a, face_b, species, tagged_day, count, tuple(names), offcuts_of)
