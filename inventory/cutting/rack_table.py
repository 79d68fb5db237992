"""The rack as a table of numbers, one row per tag, which makes its offcuts only where they are asked for.

Sizes in nanometers, days as ordinals of `datetime.date`, 0 where unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from inventory.core.allowances import Allowances
from inventory.core.codes import tag_key
from inventory.core.offcuts import Face, Mark, Offcut, species_key
from inventory.cutting.bands import Demand
from inventory.cutting.offcut_arrays import IntArray, RackArrays

FACES = tuple(Face)
"""The code of a face in the table is its index here."""
RESERVING_MARKS = (Mark.KEEP, Mark.DAMP)
"""A piece with one of these marks is taken only where a request names it (cutting model, section 2)."""

BoolArray = NDArray[np.bool_]

_NO_ROWS: IntArray = np.zeros(0, dtype=np.int64)


@dataclass(frozen=True)
class RackTable:
    """Columns of equal length.

    `species` holds indices into `names`; `reserved` is true where a mark keeps the piece back; `required` says which
    tag of a request's `with` names the row, counted from 1, 0 for none. `offcuts(rows)` makes the offcuts of rows;
    `rows_of_tags(tags)` finds the rows of each tag, `rows_of_batch(batch)` those of a batch.
    """

    length: IntArray
    width: IntArray
    thickness: IntArray
    face_a: IntArray
    face_b: IntArray
    species: IntArray
    tagged_day: IntArray
    count: IntArray
    reserved: BoolArray
    required: IntArray
    names: tuple[str, ...]
    offcuts: Callable[[IntArray], list[Offcut]]
    rows_of_tags: Callable[[Sequence[str]], list[IntArray]] = lambda tags: [_NO_ROWS for _ in tags]
    rows_of_batch: Callable[[str], IntArray] = lambda batch: _NO_ROWS

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
            self.reserved[rows],
            self.required[rows],
            self.names,
            lambda wanted: self.offcuts(rows[wanted]),
            lambda tags: [np.flatnonzero(np.isin(rows, found)) for found in self.rows_of_tags(tags)],
            lambda batch: np.flatnonzero(np.isin(rows, self.rows_of_batch(batch))),
        )

    def rows_for(self, demand: Demand) -> IntArray:
        """The rows whose species may serve the demand."""
        return rows_for(demand, self.names, self.species, self.required)

    def without_pieces(self, taken: Mapping[str, int]) -> RackTable:
        """The table with so many pieces fewer under each of these tags."""
        count = self.count.copy()
        for rows, pieces in zip(self.rows_of_tags(tuple(taken)), taken.values(), strict=True):
            count[rows] -= pieces
        return replace(self, count=count).select(np.flatnonzero(count > 0).astype(np.int64))

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


def rows_for(demand: Demand, names: Sequence[str], species: IntArray, required: IntArray) -> IntArray:
    """The rows whose species may serve the demand; any species includes what a request's `with` names.

    `species` are by row indices into `names`, `required` as in `RackTable`.
    """
    if not len(names):
        return np.zeros(0, dtype=np.int64)
    accepted = np.array([demand.accepts(name) for name in names], dtype=np.bool_)
    serves: BoolArray = accepted[species]
    return np.flatnonzero(serves if demand.species else serves | (required > 0)).astype(np.int64)


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
            bool(each.marks) and any(mark in each.marks for mark in RESERVING_MARKS),
        )
        for each in offcuts
    ]
    columns = np.ascontiguousarray(np.array(rows, dtype=np.int64).reshape(-1, 9).T)
    length, width, thickness, face_a, face_b, species, tagged_day, count, reserved = columns

    def offcuts_of(wanted: IntArray) -> list[Offcut]:
        return [offcuts[row] for row in wanted.tolist()]

    def rows_of_tags(tags: Sequence[str]) -> list[IntArray]:
        if not tags:
            return []
        if not tags:
            return []
        # Of two names that are spelled alike, such as L1 and 11, the one that stands there letter for letter.
        exact = _rows_by(each.tag for each in offcuts)
        alike = {} if exact.keys() >= set(tags) else _rows_by(tag_key(each.tag) for each in offcuts)
        return [np.array(exact.get(tag) or alike.get(tag_key(tag), []), dtype=np.int64) for tag in tags]

    def rows_of_batch(batch: str) -> IntArray:
        key = species_key(batch)
        return np.flatnonzero([species_key(each.batch) == key for each in offcuts]).astype(np.int64)

    return RackTable(
        length,
        width,
        thickness,
        face_a,
        face_b,
        species,
        tagged_day,
        count,
        reserved.astype(np.bool_),
        np.zeros(len(offcuts), dtype=np.int64),
        tuple(names),
        offcuts_of,
        rows_of_tags,
        rows_of_batch,
    )


def _rows_by(keys: Iterable[str]) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for row, key in enumerate(keys):
        found.setdefault(key, []).append(row)
    return found
