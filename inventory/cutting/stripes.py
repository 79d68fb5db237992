"""Accents: a few strips of exact width, resawn from strips or ripped (cutting model, section 7).

Knows how leaves come out of a ripped strip in edge grain, and narrow rips in face
grain. Knows nothing of pools. `adds` counts accent strips here, not a width. Sizes
in nanometres; volumes whole mm³.
"""

from __future__ import annotations

import numpy as np

from inventory.core.lengths import Length
from inventory.core.offcuts import Allowances, Offcut
from inventory.cutting.alternatives import GlueUp, Misfits, Offers, lengths_in
from inventory.cutting.cuts import Cut
from inventory.cutting.edge_grain import dirty_of, kept_after_rips, loss_of, rips_and_remainders, strips_across
from inventory.cutting.offcut_arrays import Columns, Ints, box_volumes, face_areas


def leaves_in(clean: Ints, accent: Length, allowances: Allowances) -> Ints:
    """`z`: the leaves of this width that one ripped strip gives; one where it is just planed down, 0 if too thin."""
    a = allowances
    resawn = (clean + a.resaw_kerf) // (accent + a.leaf_clean + a.resaw_kerf)
    leaves: Ints = np.where(clean >= accent, np.maximum(resawn, 1), 0)
    return leaves


def edge_capacities(columns: Columns, glue_up: GlueUp, accent: Length) -> Ints:
    """The most accent strips that each offcut can give in edge grain."""
    across = strips_across(columns, glue_up) * lengths_in(columns, glue_up)
    most: Ints = across * leaves_in(columns.clean, accent, glue_up.allowances)
    return most


def edge_offers(columns: Columns, glue_up: GlueUp, accent: Length, strips: int) -> Offers:
    """Every number of leaves that each offcut can give, up to the accent's strips."""
    row, take = _choices(np.minimum(edge_capacities(columns, glue_up, accent), strips))
    some = columns.rows(row)
    ripped = -(-take // np.maximum(leaves_in(some.clean, accent, glue_up.allowances), 1))
    a = glue_up.allowances
    across = strips_across(columns, glue_up)[row]
    lengths_cut, kept = kept_after_rips(some, ripped, across, glue_up, glue_up.rough_thickness, a.edge_jointing)
    return _offers(row, take, some, lengths_cut, kept, glue_up)


def edge_cuts(offcut: Offcut, piece: int, take: int, glue_up: GlueUp, accent: Length) -> tuple[Cut, ...]:
    """How `take` leaves come out of one piece."""
    a = glue_up.allowances
    clean = np.array([a.clean_thickness(offcut)], dtype=np.int64)
    ripped = -(-take // int(leaves_in(clean, accent, a)[0]))
    across = (offcut.width - a.edge_jointing + a.rip_kerf) // (glue_up.rough_thickness + a.rip_kerf)
    rips, left = rips_and_remainders(offcut, ripped, across, glue_up, glue_up.rough_thickness, a.edge_jointing)
    return (
        Cut(
            offcut=offcut,
            piece=piece,
            lengths_cut=len(rips),
            rips=rips,
            strip_width=glue_up.rough_thickness,
            adds=Length(take * accent),
            loss=loss_of(offcut, left),
            dirty=dirty_of(offcut, len(rips), glue_up),
            remainders=left,
            leaves=take,
        ),
    )


def edge_misfits(columns: Columns, glue_up: GlueUp, accent: Length) -> Misfits:
    """By how much each offcut misses giving one leaf."""
    return Misfits(
        short=np.maximum(glue_up.strip_length - columns.length, 0),
        narrow=np.maximum(glue_up.rough_thickness + glue_up.allowances.edge_jointing - columns.width, 0),
        thin=np.maximum(accent - columns.clean, 0),
    )


def face_capacities(columns: Columns, glue_up: GlueUp, accent: Length) -> Ints:
    """The most accent strips that each offcut can give in face grain."""
    serves = columns.clean >= glue_up.rough_thickness
    most: Ints = np.where(serves, _narrow_rips(columns, glue_up, accent) * lengths_in(columns, glue_up), 0)
    return most


def _narrow_rips(columns: Columns, glue_up: GlueUp, accent: Length) -> Ints:
    a = glue_up.allowances
    rips: Ints = (columns.width + a.rip_kerf) // (accent + 2 * a.edge_jointing + a.rip_kerf)
    return rips


def face_offers(columns: Columns, glue_up: GlueUp, accent: Length, strips: int) -> Offers:
    """Every number of narrow rips that each offcut can give, up to the accent's strips."""
    row, take = _choices(np.minimum(face_capacities(columns, glue_up, accent), strips))
    some = columns.rows(row)
    ripped = accent + 2 * glue_up.allowances.edge_jointing
    lengths_cut, kept = kept_after_rips(some, take, _narrow_rips(some, glue_up, accent), glue_up, ripped, 0)
    return _offers(row, take, some, lengths_cut, kept, glue_up)


def face_cuts(offcut: Offcut, piece: int, take: int, glue_up: GlueUp, accent: Length) -> tuple[Cut, ...]:
    """How `take` narrow rips come out of one piece."""
    a = glue_up.allowances
    ripped = accent + 2 * a.edge_jointing
    across = (offcut.width + a.rip_kerf) // (ripped + a.rip_kerf)
    rips, left = rips_and_remainders(offcut, take, across, glue_up, ripped, 0)
    loss, dirty = loss_of(offcut, left), dirty_of(offcut, len(rips), glue_up)
    return (Cut(offcut, piece, len(rips), rips, accent, Length(take * accent), loss, dirty, left),)


def face_misfits(columns: Columns, glue_up: GlueUp, accent: Length) -> Misfits:
    """By how much each offcut misses giving one narrow rip."""
    return Misfits(
        short=np.maximum(glue_up.strip_length - columns.length, 0),
        narrow=np.maximum(accent + 2 * glue_up.allowances.edge_jointing - columns.width, 0),
        thin=np.maximum(glue_up.rough_thickness - columns.clean, 0),
    )


def _choices(usable: Ints) -> tuple[Ints, Ints]:
    """Rows and takes from 1 to what is usable of each row."""
    row = np.repeat(np.arange(len(usable)), usable)
    return row, np.arange(len(row)) - np.repeat(np.cumsum(usable) - usable, usable) + 1


def _offers(row: Ints, take: Ints, some: Columns, lengths_cut: Ints, kept: Ints, glue_up: GlueUp) -> Offers:
    return Offers(
        row=row,
        take=take,
        adds=take,
        loss=box_volumes(some.length, some.width, some.thickness) - kept,
        dirty=face_areas(lengths_cut * glue_up.strip_length, some.width, some.unsurfaced_faces),
    )
