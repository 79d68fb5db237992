"""The free pieces of the rack as a table of numbers, read in one go.

Knows how rows become columns without an object each, so that a search can pass by
what it does not need. Knows nothing of boards. Sizes in nanometres.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import chain

import numpy as np
from sqlalchemy import Connection, func, select

from inventory.cutting.columns import Ints
from inventory.fill.table import FACES, RackTable
from inventory.pieces import Offcut, State
from inventory.storage.offcuts import RECORD_COLUMNS, record_of_row
from inventory.storage.tables import OFFCUTS

# date.toordinal counts from 1 January of the year 1, which is Julian day 1721425.5.
_FREE = f"""
WITH names AS (
    SELECT species_key, row_number() OVER (ORDER BY species_key) - 1 AS place
    FROM (SELECT DISTINCT species_key FROM offcuts)
)
SELECT offcuts.id, length_nm, width_nm, thickness_nm,
       {{face_a}}, {{face_b}}, names.place,
       CAST(julianday(tagged_on) - 1721424.5 AS INTEGER), pieces - set_aside
FROM offcuts JOIN names USING (species_key)
WHERE state = '{State.ON_RACK.value}'
ORDER BY offcuts.id
"""
_COLUMNS = 9
_AT_ONCE = 500


def _face(column: str) -> str:
    cases = " ".join(f"WHEN '{face.value}' THEN {place}" for place, face in enumerate(FACES))
    return f"CASE {column} {cases} END"


def free_pieces(connection: Connection) -> RackTable:
    """What is free on the rack. Offcuts made from the table have the free pieces as their count.

    The table reads from `connection` when offcuts are made, so use it while that is open.
    """
    rows = connection.exec_driver_sql(_FREE.format(face_a=_face("face_a"), face_b=_face("face_b"))).fetchall()
    numbers = np.fromiter(chain.from_iterable(rows), dtype=np.int64, count=len(rows) * _COLUMNS)
    ids, *columns = np.ascontiguousarray(numbers.reshape(-1, _COLUMNS).T)
    keys = connection.scalars(select(OFFCUTS.c.species_key).distinct().order_by(OFFCUTS.c.species_key))

    def offcuts(wanted: Ints) -> list[Offcut]:
        return _offcuts(connection, ids[wanted].tolist())

    length, width, thickness, face_a, face_b, species, tagged, count = columns
    return RackTable(length, width, thickness, face_a, face_b, species, tagged, count, tuple(keys), offcuts)


def pieces_set_aside(connection: Connection) -> int:
    """How many pieces lie on the rack for some board."""
    return int(connection.scalar(select(func.coalesce(func.sum(OFFCUTS.c.set_aside), 0))) or 0)


def _offcuts(connection: Connection, ids: list[int]) -> list[Offcut]:
    found: dict[int, Offcut] = {}
    for start in range(0, len(ids), _AT_ONCE):
        asked = OFFCUTS.c.id.in_(ids[start : start + _AT_ONCE])
        for row in connection.execute(RECORD_COLUMNS.where(asked)):
            record = record_of_row(row)
            found[record.id] = replace(record.offcut, count=record.free)
    return [found[each] for each in ids]
