"""Offcuts as columns, so that a whole rack is reckoned at once.

Knows how sizes and volumes are held in 64-bit integers without losing a
nanometre. Knows nothing of boards. One row stands for one tag; `count` says how
many like pieces it has. Sizes in nanometres, volumes whole mm³, areas whole mm².
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from inventory.core.offcuts import Allowances, Face, Offcut

IntArray = NDArray[np.int64]

_GIGA = 1_000_000_000


@dataclass(frozen=True)
class RackArrays:
    """The rack as arrays of equal length, one row a tag."""

    length: IntArray
    width: IntArray
    thickness: IntArray
    clean: IntArray
    """`t`: thickness less what comes off the two faces; may be 0 or less."""
    unsurfaced_faces: IntArray
    days: IntArray
    """Whole days on the rack, 0 where the day is unknown or lies ahead."""
    count: IntArray

    def rows(self, index: NDArray[np.intp] | NDArray[np.bool_] | slice) -> RackArrays:
        """Some of the rows."""
        return RackArrays(
            self.length[index],
            self.width[index],
            self.thickness[index],
            self.clean[index],
            self.unsurfaced_faces[index],
            self.days[index],
            self.count[index],
        )

    def __len__(self) -> int:
        return len(self.length)


def arrays_of(offcuts: Sequence[Offcut], allowances: Allowances, on: date) -> RackArrays:
    """The columns of these offcuts, in their order; `on` is the day from which days are counted."""
    off = {face: int(allowances.off(face)) for face in Face}
    dirty = {face: int(face is not Face.PLANED) for face in Face}
    table = np.array(
        [
            (
                each.length,
                each.width,
                each.thickness,
                each.thickness - off[each.face_a] - off[each.face_b],
                dirty[each.face_a] + dirty[each.face_b],
                0 if each.tagged_on is None else max((on - each.tagged_on).days, 0),
                each.count,
            )
            for each in offcuts
        ],
        dtype=np.int64,
    ).reshape(-1, 7)
    return RackArrays(*(np.ascontiguousarray(table[:, each]) for each in range(7)))


def box_volumes(length: IntArray, width: IntArray, thickness: IntArray) -> IntArray:
    """Whole mm³ of each box, rounded down, 0 where a size is 0 or less.

    Exact for sizes up to 10 m × 900 mm × 900 mm: length·width fits 63 bits and is
    split in two, so that the product of three never has to.
    """
    length, width, thickness = np.maximum(length, 0), np.maximum(width, 0), np.maximum(thickness, 0)
    area = length * width
    high = area // _GIGA  # and not divmod, which takes several times as long by a constant
    volumes: IntArray = (high * thickness + (area - high * _GIGA) * thickness // _GIGA) // _GIGA
    return volumes


def face_areas(length: IntArray, width: IntArray, faces: IntArray) -> IntArray:
    """Whole mm² of `faces` faces of length × width, rounded down together."""
    area = length * width
    whole = area // (1000 * _GIGA)
    areas: IntArray = whole * faces + (area - whole * (1000 * _GIGA)) * faces // (1000 * _GIGA)
    return areas
