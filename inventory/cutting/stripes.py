"""Accents: a few strips of exact width, resawn from strips or ripped (cutting model, section 7).

Knows how leaves come out of a ripped strip in edge grain, and narrow rips in face
grain. Knows nothing of pools. `adds` counts accent strips here, not a width. Sizes
in nanometres; volumes whole mm³.
"""

from __future__ import annotations

import numpy as np

from inventory.core.lengths import Length
from inventory.core.offcuts import Allowances, Offcut
from inventory.cutting.alternatives import CutAlternatives, GlueUpSpec, Misfits, crosscut_count
from inventory.cutting.cuts import Cut
from inventory.cutting.edge_grain import kept_after_rips, loss_of, milling_area_of, rips_and_leftovers, strips_across
from inventory.cutting.offcut_arrays import IntArray, RackArrays, box_volumes, face_areas


def leaves_per_strip(clean: IntArray, stripe: Length, allowances: Allowances) -> IntArray:
    """`z`: the leaves of this width that one ripped strip gives; one where it is just planed down, 0 if too thin."""
    a = allowances
    resawn = (clean + a.resaw_kerf) // (stripe + a.leaf_clean + a.resaw_kerf)
    leaves: IntArray = np.where(clean >= stripe, np.maximum(resawn, 1), 0)
    return leaves


def edge_capacities(arrays: RackArrays, glue_up: GlueUpSpec, stripe: Length) -> IntArray:
    """The most accent strips that each offcut can give in edge grain."""
    across = strips_across(arrays, glue_up) * crosscut_count(arrays, glue_up)
    most: IntArray = across * leaves_per_strip(arrays.clean, stripe, glue_up.allowances)
    return most


def edge_alternatives(arrays: RackArrays, glue_up: GlueUpSpec, stripe: Length, strips: int) -> CutAlternatives:
    """Every number of leaves that each offcut can give, up to the accent's strips."""
    row, take = _numbered_rows(np.minimum(edge_capacities(arrays, glue_up, stripe), strips))
    some = arrays.rows(row)
    ripped = -(-take // np.maximum(leaves_per_strip(some.clean, stripe, glue_up.allowances), 1))
    a = glue_up.allowances
    across = strips_across(arrays, glue_up)[row]
    lengths_cut, kept = kept_after_rips(some, ripped, across, glue_up, glue_up.rough_thickness, a.edge_jointing)
    return _alternatives(row, take, some, lengths_cut, kept, glue_up)


def edge_cuts(offcut: Offcut, piece: int, take: int, glue_up: GlueUpSpec, stripe: Length) -> tuple[Cut, ...]:
    """How `take` leaves come out of one piece."""
    a = glue_up.allowances
    clean = np.array([a.clean_thickness(offcut)], dtype=np.int64)
    ripped = -(-take // int(leaves_per_strip(clean, stripe, a)[0]))
    across = (offcut.width - a.edge_jointing + a.rip_kerf) // (glue_up.rough_thickness + a.rip_kerf)
    rips, left = rips_and_leftovers(offcut, ripped, across, glue_up, glue_up.rough_thickness, a.edge_jointing)
    return (
        Cut(
            offcut=offcut,
            piece=piece,
            lengths_cut=len(rips),
            rips=rips,
            strip_width=glue_up.rough_thickness,
            adds=Length(take * stripe),
            loss=loss_of(offcut, left),
            milling_area=milling_area_of(offcut, len(rips), glue_up),
            leftovers=left,
            leaves=take,
        ),
    )


def edge_misfits(arrays: RackArrays, glue_up: GlueUpSpec, stripe: Length) -> Misfits:
    """By how much each offcut misses giving one leaf."""
    return Misfits(
        short=np.maximum(glue_up.strip_length - arrays.length, 0),
        narrow=np.maximum(glue_up.rough_thickness + glue_up.allowances.edge_jointing - arrays.width, 0),
        thin=np.maximum(stripe - arrays.clean, 0),
    )


def face_capacities(arrays: RackArrays, glue_up: GlueUpSpec, stripe: Length) -> IntArray:
    """The most accent strips that each offcut can give in face grain."""
    serves = arrays.clean >= glue_up.rough_thickness
    most: IntArray = np.where(serves, _narrow_rips(arrays, glue_up, stripe) * crosscut_count(arrays, glue_up), 0)
    return most


def _narrow_rips(arrays: RackArrays, glue_up: GlueUpSpec, stripe: Length) -> IntArray:
    a = glue_up.allowances
    rips: IntArray = (arrays.width + a.rip_kerf) // (stripe + 2 * a.edge_jointing + a.rip_kerf)
    return rips


def face_alternatives(arrays: RackArrays, glue_up: GlueUpSpec, stripe: Length, strips: int) -> CutAlternatives:
    """Every number of narrow rips that each offcut can give, up to the accent's strips."""
    row, take = _numbered_rows(np.minimum(face_capacities(arrays, glue_up, stripe), strips))
    some = arrays.rows(row)
    ripped = stripe + 2 * glue_up.allowances.edge_jointing
    lengths_cut, kept = kept_after_rips(some, take, _narrow_rips(some, glue_up, stripe), glue_up, ripped, 0)
    return _alternatives(row, take, some, lengths_cut, kept, glue_up)


def face_cuts(offcut: Offcut, piece: int, take: int, glue_up: GlueUpSpec, stripe: Length) -> tuple[Cut, ...]:
    """How `take` narrow rips come out of one piece."""
    a = glue_up.allowances
    ripped = stripe + 2 * a.edge_jointing
    across = (offcut.width + a.rip_kerf) // (ripped + a.rip_kerf)
    rips, left = rips_and_leftovers(offcut, take, across, glue_up, ripped, 0)
    loss, milling_area = loss_of(offcut, left), milling_area_of(offcut, len(rips), glue_up)
    return (Cut(offcut, piece, len(rips), rips, stripe, Length(take * stripe), loss, milling_area, left),)


def face_misfits(arrays: RackArrays, glue_up: GlueUpSpec, stripe: Length) -> Misfits:
    """By how much each offcut misses giving one narrow rip."""
    return Misfits(
        short=np.maximum(glue_up.strip_length - arrays.length, 0),
        narrow=np.maximum(stripe + 2 * glue_up.allowances.edge_jointing - arrays.width, 0),
        thin=np.maximum(glue_up.rough_thickness - arrays.clean, 0),
    )


def _numbered_rows(usable: IntArray) -> tuple[IntArray, IntArray]:
    """Rows and takes from 1 to what is usable of each row."""
    row = np.repeat(np.arange(len(usable)), usable)
    return row, np.arange(len(row)) - np.repeat(np.cumsum(usable) - usable, usable) + 1


def _alternatives(
    row: IntArray, take: IntArray, some: RackArrays, lengths_cut: IntArray, kept: IntArray, glue_up: GlueUpSpec
) -> CutAlternatives:
    return CutAlternatives(
        row=row,
        take=take,
        adds=take,
        loss=box_volumes(some.length, some.width, some.thickness) - kept,
        milling_area=face_areas(lengths_cut * glue_up.strip_length, some.width, some.unsurfaced_faces),
    )
