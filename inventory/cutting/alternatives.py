"""The alternatives of offcuts for a glue-up, as arrays; a fill uses at most one alternative of a piece.

Sizes in nanometers, volumes in whole mm³, areas in whole mm².
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length
from inventory.cutting.costs import CutCosts, worths
from inventory.cutting.offcut_arrays import IntArray, RackArrays, box_volumes


@dataclass(frozen=True)
class GlueUpSpec:
    """What a glue-up requires of its strips: ℓ, s and w* of the cutting model, section 3."""

    strip_length: Length
    rough_thickness: Length
    target: Length
    allowances: Allowances


def glue_up_spec(length: Length, width: Length, thickness: Length, allowances: Allowances) -> GlueUpSpec:
    """The glue-up from which a board of these finished sizes is made."""
    return GlueUpSpec(
        strip_length=Length(length + allowances.end_trim),
        rough_thickness=Length(thickness + allowances.flattening),
        target=Length(width + allowances.side_trim),
        allowances=allowances,
    )


@dataclass(frozen=True)
class CutAlternatives:
    """Alternatives of many offcuts, `row` ascending: taking `take` adds `adds` at these costs."""

    row: IntArray
    take: IntArray
    adds: IntArray
    costs: CutCosts

    def __len__(self) -> int:
        return len(self.row)


def concatenate(parts: Sequence[CutAlternatives]) -> CutAlternatives:
    """The alternatives of parts of a rack, one after another."""
    if len(parts) == 1:
        return parts[0]
    figures = [part.costs for part in parts]
    return CutAlternatives(
        np.concatenate([part.row for part in parts]),
        np.concatenate([part.take for part in parts]),
        np.concatenate([part.adds for part in parts]),
        CutCosts(
            *(np.concatenate([getattr(each, name) for each in figures]) for name in CutCosts.__dataclass_fields__)
        ),
    )


@dataclass(frozen=True)
class PartialAlternatives:
    """Alternatives with a part of a length, of any width (cutting model, section 5).

    Row `row` gives `take` whole lengths, which add `adds`, and a part of a length of any
    width from `least` to `most`. `costs_at(index, widths)` are the costs of the piece, never
    less for a wider part. Between neighboring widths of `bends` they are nowhere below the straight
    line between the lower bounds that `lower_costs_at(widths)` gives for both.
    """

    row: IntArray
    take: IntArray
    adds: IntArray
    least: IntArray
    most: IntArray
    bends: tuple[IntArray, ...]
    costs_at: Callable[[IntArray, IntArray], CutCosts]
    lower_costs_at: Callable[[IntArray], CutCosts]

    def __len__(self) -> int:
        return len(self.row)

    @cached_property
    def max_costs(self) -> CutCosts:
        """The costs with the widest part."""
        return self.costs_at(np.arange(len(self)), self.most)

    @cached_property
    def breakpoints(self) -> tuple[tuple[IntArray, CutCosts], ...]:
        """The narrowest and the widest part and the bends, in any order, with lower bounds of their costs."""
        inner = [np.clip(bend, self.least, self.most) for bend in self.bends]
        widths = (self.least, *inner, self.most)
        return tuple((width, self.lower_costs_at(width)) for width in widths)


class Misfit(Enum):
    """Why an offcut can give no strip; the values are the contract's words."""

    SHORT = "too short"
    NARROW = "too narrow"
    THIN = "too thin"


@dataclass(frozen=True)
class Misfits:
    """By row: by how much it is too short, too narrow, too thin (0 where it fits)."""

    short: IntArray
    narrow: IntArray
    thin: IntArray


def crosscut_count(arrays: RackArrays, glue_up: GlueUpSpec) -> IntArray:
    """`m`: how many lengths ℓ can be crosscut from each offcut."""
    kerf = glue_up.allowances.crosscut_kerf
    lengths: IntArray = (arrays.length + kerf) // (glue_up.strip_length + kerf)
    return lengths


@dataclass(frozen=True)
class KeptLeftovers:
    """The volume in mm³ and the worth of the leftovers that are kept, by row; 0 where none is."""

    volume: IntArray
    worth: IntArray

    def __add__(self, other: KeptLeftovers) -> KeptLeftovers:
        return KeptLeftovers(self.volume + other.volume, self.worth + other.worth)

    def add_at(self, rows: IntArray, many: IntArray, others: KeptLeftovers) -> None:
        """Adds `many` times the others to some of the rows."""
        self.volume[rows] += many * others.volume
        self.worth[rows] += many * others.worth

    def costs_of(self, arrays: RackArrays, milling: IntArray, allowances: Allowances) -> CutCosts:
        """The costs of cuts that leave these leftovers of these offcuts, row by row."""
        size = arrays.length, arrays.width, arrays.thickness
        return CutCosts(box_volumes(*size) - self.volume, worths(*size, allowances) - self.worth, milling)


def is_kept(length: IntArray, width: IntArray, thickness: IntArray, allowances: Allowances) -> NDArray[np.bool_]:
    """Whether leftovers of these sizes go back on the rack."""
    large: NDArray[np.bool_] = (width >= max(allowances.keep_width, 1)) & (length >= max(allowances.keep_length, 1))
    return large & (thickness >= allowances.keep_thickness)


def kept_leftovers(length: IntArray, width: IntArray, thickness: IntArray, allowances: Allowances) -> KeptLeftovers:
    """What is kept of leftovers of these sizes, one of each row."""
    rows = np.flatnonzero(is_kept(length, width, thickness, allowances))
    volume, worth = np.zeros(len(length), dtype=np.int64), np.zeros(len(length), dtype=np.int64)
    size = length[rows], width[rows], thickness[rows]
    volume[rows] = box_volumes(*size)
    worth[rows] = worths(*size, allowances)
    return KeptLeftovers(volume, worth)


def planed_away(arrays: RackArrays, lengths_cut: IntArray, used: IntArray | int, glue_up: GlueUpSpec) -> IntArray:
    """`milling` of section 9: what so many crosscut lengths lose of their thickness, mm³, each rounded down."""
    strip = np.broadcast_to(np.int64(glue_up.strip_length), len(arrays))
    volumes: IntArray = lengths_cut * box_volumes(strip, arrays.width, arrays.thickness - used)
    return volumes
