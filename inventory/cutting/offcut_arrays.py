"""Offcuts as arrays, so that a whole rack is computed at once; exact volumes and areas in 64-bit integers.

Sizes in nanometers, volumes in whole mm³, areas in whole mm².
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]

_GIGA = 1_000_000_000


@dataclass(frozen=True)
class RackArrays:
    """The rack as arrays of equal length, one row per tag; `RackTable.arrays` makes them.

    `count` is the number of identical pieces under the tag.
    """

    length: IntArray
    width: IntArray
    thickness: IntArray
    clean: IntArray
    """`t`: thickness less what comes off the two faces; may be 0 or less."""
    unsurfaced_faces: IntArray
    days: IntArray
    """Whole days on the rack, 0 where the day is unknown or in the future."""
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


def box_volumes(length: IntArray, width: IntArray, thickness: IntArray) -> IntArray:
    """Whole mm³ of each box, rounded down, 0 where a size is 0 or less.

    Exact for sizes up to 10 m × 900 mm × 900 mm: length·width fits 63 bits and is
    split in two, so that the product of three never has to.
    """
    length, width, thickness = np.maximum(length, 0), np.maximum(width, 0), np.maximum(thickness, 0)
    area = length * width
    high = area // _GIGA  # not divmod: by a constant it takes several times as long
    volumes: IntArray = (high * thickness + (area - high * _GIGA) * thickness // _GIGA) // _GIGA
    return volumes


def face_areas(length: IntArray, width: IntArray, faces: IntArray) -> IntArray:
    """Whole mm² of `faces` faces of length × width, rounded down together."""
    area = length * width
    whole = area // (1000 * _GIGA)
    areas: IntArray = whole * faces + (area - whole * (1000 * _GIGA)) * faces // (1000 * _GIGA)
    return areas
