"""The alternatives of offcuts for a glue-up, as arrays; a fill uses at most one alternative of a piece.

Sizes in nanometers, volumes in whole mm³, areas in whole mm².
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property

import numpy as np

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length
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
    """Alternatives of many offcuts, `row` ascending: taking `take` adds `adds` at the cost of `loss`."""

    row: IntArray
    take: IntArray
    adds: IntArray
    loss: IntArray
    milling_area: IntArray

    def __len__(self) -> int:
        return len(self.row)


def concatenate(parts: Sequence[CutAlternatives]) -> CutAlternatives:
    """The alternatives of parts of a rack, one after another."""
    if len(parts) == 1:
        return parts[0]
    return CutAlternatives(
        *(np.concatenate([getattr(part, name) for part in parts]) for name in CutAlternatives.__dataclass_fields__)
    )


@dataclass(frozen=True)
class PartialAlternatives:
    """Alternatives with one closing strip of any width (cutting model, section 5).

    Row `row` gives `take` whole lengths, which add `adds`, and one strip of any
    width from `least` to `most`. `loss_at(index, widths)` is the loss of the piece, never
    less for a wider strip: linear, rounded up to whole mm³, up to the width `jump_at`, and
    linear again after a jump there.
    """

    row: IntArray
    take: IntArray
    adds: IntArray
    least: IntArray
    most: IntArray
    jump_at: IntArray
    milling_area: IntArray
    loss_at: Callable[[IntArray, IntArray], IntArray]

    def __len__(self) -> int:
        return len(self.row)

    @cached_property
    def breakpoints(self) -> tuple[tuple[IntArray, IntArray], ...]:
        """Widths and their losses; linear from the first to the second and from the third to the last."""
        every = np.arange(len(self))
        least, most = self.least, self.most
        before, beyond = np.clip(self.jump_at, least, most), np.clip(self.jump_at + 1, least, most)
        return tuple((width, self.loss_at(every, width)) for width in (least, before, beyond, most))


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


def kept_volumes(length: IntArray, width: IntArray, thickness: IntArray, allowances: Allowances) -> IntArray:
    """The volumes of the leftovers that are kept, 0 for the others."""
    large = (width >= max(allowances.keep_width, 1)) & (length >= max(allowances.keep_length, 1))
    large &= thickness >= allowances.keep_thickness
    kept = np.flatnonzero(large)
    volumes = np.zeros(len(length), dtype=np.int64)
    volumes[kept] = box_volumes(length[kept], width[kept], thickness[kept])
    return volumes
