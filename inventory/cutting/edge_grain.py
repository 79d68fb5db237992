"""Edge grain: strips turned on edge, all of one width (cutting model, section 4).

Sizes in nanometers, volumes in whole mm³.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from inventory.core.lengths import Length, area_mm2, volume_mm3
from inventory.core.offcuts import Offcut
from inventory.cutting.alternatives import (
    CutAlternatives,
    GlueUpSpec,
    KeptLeftovers,
    Misfits,
    PartialAlternatives,
    concatenate,
    crosscut_count,
    kept_leftovers,
    planed_away,
)
from inventory.cutting.cuts import Cut, Leftover
from inventory.cutting.marking_out import MarkedPiece, mark_edge_grain
from inventory.cutting.offcut_arrays import IntArray, RackArrays

CHUNK_ROWS = 2_000
"""The arrays of so many offcuts fit a processor's cache, which halves the time."""


def strips_across(arrays: RackArrays, glue_up: GlueUpSpec) -> IntArray:
    """`n`: how many strips can be ripped across one length of each offcut."""
    a = glue_up.allowances
    room = arrays.width - a.edge_jointing + a.rip_kerf
    strips: IntArray = np.maximum(room // (glue_up.rough_thickness + a.rip_kerf), 0)
    return strips


def capacities(arrays: RackArrays, glue_up: GlueUpSpec) -> IntArray:
    """The most that each offcut can add to the width, 0 where it can't serve."""
    serves = (arrays.clean >= glue_up.allowances.thinnest_lamination) & (arrays.clean > 0)
    most: IntArray = np.where(
        serves, strips_across(arrays, glue_up) * crosscut_count(arrays, glue_up) * np.maximum(arrays.clean, 0), 0
    )
    return most


def alternatives(arrays: RackArrays, glue_up: GlueUpSpec) -> CutAlternatives:
    """Every number of strips that each offcut can give, up to what the glue-up can use.

    More strips than fill the glue-up alone are left out: loss and milling area never
    fall with another strip, so such an alternative is dominated.
    """
    firsts = range(0, max(len(arrays), 1), CHUNK_ROWS)
    return concatenate(
        [_alternatives(arrays.rows(slice(first, first + CHUNK_ROWS)), first, glue_up) for first in firsts]
    )


def _alternatives(arrays: RackArrays, first: int, glue_up: GlueUpSpec) -> CutAlternatives:
    """The alternatives of a chunk whose rows are numbered from `first`."""
    a = glue_up.allowances
    across = strips_across(arrays, glue_up)
    most = capacities(arrays, glue_up) // np.maximum(arrays.clean, 1)
    usable = np.minimum(most, -(-glue_up.target // np.maximum(arrays.clean, 1)))
    row = np.repeat(np.arange(len(arrays)), usable)
    take = np.arange(len(row)) - np.repeat(np.cumsum(usable) - usable, usable) + 1
    each = arrays.rows(row)
    lengths_cut, kept = kept_after_rips(each, take, across[row], glue_up, glue_up.rough_thickness, a.edge_jointing)
    return CutAlternatives(
        row=row + first,
        take=take,
        adds=take * each.clean,
        costs=kept.costs_of(each, planed_away(each, lengths_cut, each.clean, glue_up), a),
    )


def kept_after_rips(
    arrays: RackArrays, strips: IntArray, across: IntArray, glue_up: GlueUpSpec, ripped: int, jointing: int
) -> tuple[IntArray, KeptLeftovers]:
    """Lengths crosscut for so many strips `ripped` wide, `across` from each length, and what is then kept.

    One row of the arrays per alternative. `jointing` comes off one edge of each length first.
    """
    a = glue_up.allowances
    lengths_cut = -(-strips // across)
    last = strips - (lengths_cut - 1) * across
    pitch = ripped + a.rip_kerf
    strip = np.broadcast_to(np.int64(glue_up.strip_length), len(arrays))
    left = arrays.length - lengths_cut * (glue_up.strip_length + a.crosscut_kerf)
    room, thickness = arrays.width - jointing, arrays.thickness
    kept = kept_leftovers(left, arrays.width, thickness, a) + kept_leftovers(strip, room - last * pitch, thickness, a)
    more = np.flatnonzero(lengths_cut > 1)
    beside_all = kept_leftovers(strip[more], room[more] - across[more] * pitch, thickness[more], a)
    kept.add_at(more, lengths_cut[more] - 1, beside_all)
    return lengths_cut, kept


def partial_alternatives(arrays: RackArrays, glue_up: GlueUpSpec) -> PartialAlternatives | None:
    """None: in edge grain all strips are of one width."""
    return None


def misfits(arrays: RackArrays, glue_up: GlueUpSpec) -> Misfits:
    """By how much each offcut misses giving a single strip."""
    a = glue_up.allowances
    return Misfits(
        short=np.maximum(glue_up.strip_length - arrays.length, 0),
        narrow=np.maximum(glue_up.rough_thickness + a.edge_jointing - arrays.width, 0),
        thin=np.maximum(max(a.thinnest_lamination, 1) - arrays.clean, 0),
    )


def cuts(offcut: Offcut, piece: int, take: int, part: Length | None, glue_up: GlueUpSpec) -> tuple[Cut, ...]:
    """How `take` strips come out of one piece, with its leftovers and loss."""
    a = glue_up.allowances
    across = (offcut.width - a.edge_jointing + a.rip_kerf) // (glue_up.rough_thickness + a.rip_kerf)
    rips, left = rips_and_leftovers(offcut, take, across, glue_up, glue_up.rough_thickness, a.edge_jointing)
    clean = a.clean_thickness(offcut)
    return (
        Cut(
            offcut=offcut,
            piece=piece,
            lengths_cut=len(rips),
            rips=rips,
            strip_width=glue_up.rough_thickness,
            adds=Length(take * clean),
            **figures_of(offcut, left, len(rips), clean, glue_up),
            leftovers=left,
        ),
    )


def rips_and_leftovers(
    offcut: Offcut, strips: int, across: int, glue_up: GlueUpSpec, ripped: int, jointing: int
) -> tuple[tuple[int, ...], tuple[Leftover, ...]]:
    """How many strips `ripped` wide come from each length, and what is left of the piece."""
    a = glue_up.allowances
    strip = glue_up.strip_length
    lengths_cut = -(-strips // across)
    rips = (across,) * (lengths_cut - 1) + (strips - (lengths_cut - 1) * across,)
    sizes: list[tuple[int, int]] = [(offcut.length - lengths_cut * (strip + a.crosscut_kerf), offcut.width)]
    sizes += [(strip, offcut.width - jointing - many * (ripped + a.rip_kerf)) for many in rips]
    return rips, leftovers(sizes, offcut, glue_up)


def leftovers(sizes: list[tuple[int, int]], offcut: Offcut, glue_up: GlueUpSpec) -> tuple[Leftover, ...]:
    """The leftovers of these lengths and widths, where positive, kept or not."""
    return tuple(
        Leftover(
            Length(length),
            Length(width),
            offcut.thickness,
            glue_up.allowances.keeps(length, width, offcut.thickness),
        )
        for length, width in sizes
        if length > 0 and width > 0
    )


def figures_of(
    offcut: Offcut, left: tuple[Leftover, ...], lengths_cut: int, used: int, glue_up: GlueUpSpec
) -> dict[str, Any]:
    """The figures of a cut of one piece of which `used` of the thickness is used (section 9)."""
    a, strip = glue_up.allowances, glue_up.strip_length
    size = offcut.length, offcut.width, offcut.thickness
    kept = [(each.length, each.width, each.thickness) for each in left if each.kept]
    return {
        "loss": volume_mm3(*size) - sum(volume_mm3(*each) for each in kept),
        "worth_lost": a.worth(*size) - sum(a.worth(*each) for each in kept),
        "milling": lengths_cut * volume_mm3(strip, offcut.width, offcut.thickness - used),
        "milling_area": area_mm2(lengths_cut * strip, offcut.width * offcut.unsurfaced_faces),
    }


def mark(cuts: tuple[Cut, ...], glue_up: GlueUpSpec) -> MarkedPiece:
    """Where these cuts are on their piece."""
    return mark_edge_grain(cuts, glue_up)


def ripped_width(cut: Cut, glue_up: GlueUpSpec) -> Length | None:
    """The fence setting for this cut."""
    return cut.strip_width
