"""The free pieces of the rack as a table of numbers, read in one go.

Sizes in nanometers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import chain

import numpy as np
from sqlalchemy import Connection, func, select

from inventory.core.offcuts import Offcut, State, species_key
from inventory.cutting.offcut_arrays import IntArray
from inventory.cutting.rack_table import FACES, RESERVING_MARKS, RackTable
from inventory.storage.repositories.offcuts import RECORD_COLUMNS, record_of_row
from inventory.storage.tables import OFFCUTS

# Not indexed: by the index of states SQLite would read each row on its own, which takes twice the time.
# date.toordinal counts from 1 January of the year 1, which is Julian day 1721425.5.
_FREE = f"""
SELECT species_key, id, length_nm, width_nm, thickness_nm, {{face_a}}, {{face_b}},
       CAST(julianday(tagged_on) - 1721424.5 AS INTEGER), pieces - set_aside, {{reserved}}
FROM offcuts NOT INDEXED
WHERE state = '{State.ON_RACK.value}'
"""
_NUMBERS = 9
_AT_ONCE = 500


def _face(column: str) -> str:
    cases = " ".join(f"WHEN '{face.value}' THEN {place}" for place, face in enumerate(FACES))
    return f"CASE {column} {cases} END"


def _reserved() -> str:
    """Whether a mark keeps the piece back; nearly all pieces have none."""
    named = " OR ".join(f"""instr(marks, '"{mark.value}"') > 0""" for mark in RESERVING_MARKS)
    return f"marks != '[]' AND ({named})"


def free_pieces(connection: Connection) -> RackTable:
    """The free pieces of the rack. Offcuts made from the table have the number of free pieces as their count.

    The table reads from `connection` when offcuts are made, so use it while that is open.
    """
    # The driver's own cursor: SQLAlchemy's row objects would take as long again as reading.
    cursor = connection.connection.cursor()
    rows = cursor.execute(_FREE.format(face_a=_face("face_a"), face_b=_face("face_b"), reserved=_reserved())).fetchall()
    keys: dict[str, int] = {}
    species = np.fromiter((keys.setdefault(row[0], len(keys)) for row in rows), dtype=np.int64, count=len(rows))
    numbers = np.fromiter(chain.from_iterable(row[1:] for row in rows), dtype=np.int64, count=len(rows) * _NUMBERS)
    columns = np.ascontiguousarray(numbers.reshape(-1, _NUMBERS).T)
    ids, length, width, thickness, face_a, face_b, tagged, count, reserved = columns

    def offcuts(wanted: IntArray) -> list[Offcut]:
        return _offcuts(connection, ids[wanted].tolist())

    def rows_of_tags(tags: Sequence[str]) -> list[IntArray]:
        found = dict(connection.execute(select(OFFCUTS.c.code, OFFCUTS.c.id).where(OFFCUTS.c.code.in_(tags))).all())
        return [np.flatnonzero(ids == found.get(tag, 0)).astype(np.int64) for tag in tags]

    def rows_of_batch(batch: str) -> IntArray:
        found = connection.scalars(select(OFFCUTS.c.id).where(OFFCUTS.c.batch_key == species_key(batch))).all()
        return np.flatnonzero(np.isin(ids, found)).astype(np.int64)

    return RackTable(
        length,
        width,
        thickness,
        face_a,
        face_b,
        species,
        tagged,
        count,
        reserved.astype(np.bool_),
        np.zeros(len(rows), dtype=np.int64),
        tuple(keys),
        offcuts,
        rows_of_tags,
        rows_of_batch,
    )


def pieces_on_hold(connection: Connection) -> int:
    """How many pieces are on hold for boards."""
    return int(connection.scalar(select(func.coalesce(func.sum(OFFCUTS.c.set_aside), 0))) or 0)


def _offcuts(connection: Connection, ids: list[int]) -> list[Offcut]:
    found: dict[int, Offcut] = {}
    for start in range(0, len(ids), _AT_ONCE):
        asked = OFFCUTS.c.id.in_(ids[start : start + _AT_ONCE])
        for row in connection.execute(RECORD_COLUMNS.where(asked)):
            record = record_of_row(row)
            found[record.id] = replace(record.offcut, count=record.free)
    return [found[each] for each in ids]
