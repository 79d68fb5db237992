"""Stripes of exact width: strips resawn in edge grain, or narrow rips in face grain (cutting model, section 7).

What an alternative adds is a number of strips here, not a width. Sizes in nanometers, volumes in whole mm³.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting import edge_grain, face_grain
from inventory.cutting.alternatives import (
    CutAlternatives,
    GlueUpSpec,
    KeptLeftovers,
    Misfits,
    PartialAlternatives,
    crosscut_count,
    planed_away,
)
from inventory.cutting.cuts import Cut
from inventory.cutting.edge_grain import figures_of, kept_after_rips, rips_and_leftovers, strips_across
from inventory.cutting.marking_out import MarkedPiece, mark_face_grain
from inventory.cutting.offcut_arrays import IntArray, RackArrays


@dataclass(frozen=True)
class EdgeStripe:
    """A stripe of `strips` leaves, each `width` wide, in edge grain."""

    width: Length
    strips: int

    def capacities(self, arrays: RackArrays, glue_up: GlueUpSpec) -> IntArray:
        """The most leaves that each offcut can give."""
        across = strips_across(arrays, glue_up) * crosscut_count(arrays, glue_up)
        most: IntArray = across * leaves_per_strip(arrays.clean, self.width, glue_up.allowances)
        return most

    def alternatives(self, arrays: RackArrays, glue_up: GlueUpSpec) -> CutAlternatives:
        """Every number of leaves that each offcut can give, up to the strips of the stripe."""
        row, take = _numbered_rows(np.minimum(self.capacities(arrays, glue_up), self.strips))
        some = arrays.rows(row)
        ripped = -(-take // np.maximum(leaves_per_strip(some.clean, self.width, glue_up.allowances), 1))
        across = strips_across(arrays, glue_up)[row]
        lengths_cut, kept = kept_after_rips(
            some, ripped, across, glue_up, glue_up.rough_thickness, glue_up.allowances.edge_jointing
        )
        return _alternatives(row, take, some, lengths_cut, kept, glue_up)

    def partial_alternatives(self, arrays: RackArrays, glue_up: GlueUpSpec) -> PartialAlternatives | None:
        """None: a stripe has strips of one width."""
        return None

    def misfits(self, arrays: RackArrays, glue_up: GlueUpSpec) -> Misfits:
        """By how much each offcut misses giving one leaf."""
        return Misfits(
            short=np.maximum(glue_up.strip_length - arrays.length, 0),
            narrow=np.maximum(glue_up.rough_thickness + glue_up.allowances.edge_jointing - arrays.width, 0),
            thin=np.maximum(self.width - arrays.clean, 0),
        )

    def cuts(self, offcut: Offcut, piece: int, take: int, part: Length | None, glue_up: GlueUpSpec) -> tuple[Cut, ...]:
        """How `take` leaves come out of one piece."""
        a = glue_up.allowances
        clean = np.array([a.clean_thickness(offcut)], dtype=np.int64)
        ripped = -(-take // int(leaves_per_strip(clean, self.width, a)[0]))
        across = (offcut.width - a.edge_jointing + a.rip_kerf) // (glue_up.rough_thickness + a.rip_kerf)
        rips, left = rips_and_leftovers(offcut, ripped, across, glue_up, glue_up.rough_thickness, a.edge_jointing)
        return (
            Cut(
                offcut=offcut,
                piece=piece,
                lengths_cut=len(rips),
                rips=rips,
                strip_width=glue_up.rough_thickness,
                adds=Length(take * self.width),
                **figures_of(offcut, left, len(rips), int(clean[0]), glue_up),
                leftovers=left,
                leaves=take,
            ),
        )

    def mark(self, cuts: tuple[Cut, ...], glue_up: GlueUpSpec) -> MarkedPiece:
        """Where these cuts are on their piece."""
        return edge_grain.mark(cuts, glue_up)

    def ripped_width(self, cut: Cut, glue_up: GlueUpSpec) -> Length | None:
        """The fence setting for this cut."""
        return edge_grain.ripped_width(cut, glue_up)


@dataclass(frozen=True)
class FaceStripe:
    """A stripe of `strips` narrow rips, each `width` wide once jointed, in face grain."""

    width: Length
    strips: int

    def capacities(self, arrays: RackArrays, glue_up: GlueUpSpec) -> IntArray:
        """The most narrow rips that each offcut can give."""
        serves = arrays.clean >= glue_up.rough_thickness
        most: IntArray = np.where(serves, self._rips_across(arrays, glue_up) * crosscut_count(arrays, glue_up), 0)
        return most

    def alternatives(self, arrays: RackArrays, glue_up: GlueUpSpec) -> CutAlternatives:
        """Every number of narrow rips that each offcut can give, up to the strips of the stripe."""
        row, take = _numbered_rows(np.minimum(self.capacities(arrays, glue_up), self.strips))
        some = arrays.rows(row)
        ripped = self.width + 2 * glue_up.allowances.edge_jointing
        lengths_cut, kept = kept_after_rips(some, take, self._rips_across(some, glue_up), glue_up, ripped, 0)
        return _alternatives(row, take, some, lengths_cut, kept, glue_up)

    def partial_alternatives(self, arrays: RackArrays, glue_up: GlueUpSpec) -> PartialAlternatives | None:
        """None: a stripe has strips of one width."""
        return None

    def misfits(self, arrays: RackArrays, glue_up: GlueUpSpec) -> Misfits:
        """By how much each offcut misses giving one narrow rip."""
        return Misfits(
            short=np.maximum(glue_up.strip_length - arrays.length, 0),
            narrow=np.maximum(self.width + 2 * glue_up.allowances.edge_jointing - arrays.width, 0),
            thin=np.maximum(glue_up.rough_thickness - arrays.clean, 0),
        )

    def cuts(self, offcut: Offcut, piece: int, take: int, part: Length | None, glue_up: GlueUpSpec) -> tuple[Cut, ...]:
        """How `take` narrow rips come out of one piece."""
        a = glue_up.allowances
        ripped = self.width + 2 * a.edge_jointing
        across = (offcut.width + a.rip_kerf) // (ripped + a.rip_kerf)
        rips, left = rips_and_leftovers(offcut, take, across, glue_up, ripped, 0)
        figures = figures_of(offcut, left, len(rips), a.clean_thickness(offcut), glue_up)
        adds = Length(take * self.width)
        return (Cut(offcut, piece, len(rips), rips, self.width, adds, leftovers=left, **figures),)

    def mark(self, cuts: tuple[Cut, ...], glue_up: GlueUpSpec) -> MarkedPiece:
        """Where these cuts are on their piece."""
        return mark_face_grain(cuts, glue_up, self.width)

    def ripped_width(self, cut: Cut, glue_up: GlueUpSpec) -> Length | None:
        """The fence setting for this cut; None where a length is left as wide as it is."""
        return face_grain.ripped_width(cut, glue_up)

    def _rips_across(self, arrays: RackArrays, glue_up: GlueUpSpec) -> IntArray:
        a = glue_up.allowances
        rips: IntArray = (arrays.width + a.rip_kerf) // (self.width + 2 * a.edge_jointing + a.rip_kerf)
        return rips


def leaves_per_strip(clean: IntArray, leaf: Length, allowances: Allowances) -> IntArray:
    """`z`: the leaves that one ripped strip gives; 1 where it is only planed down, 0 where it is too thin."""
    a = allowances
    resawn = (clean + a.resaw_kerf) // (leaf + a.leaf_clean + a.resaw_kerf)
    leaves: IntArray = np.where(clean >= leaf, np.maximum(resawn, 1), 0)
    return leaves


def _numbered_rows(usable: IntArray) -> tuple[IntArray, IntArray]:
    """By alternative its row, and how much it takes: 1 up to what is usable of each row."""
    row = np.repeat(np.arange(len(usable)), usable)
    return row, np.arange(len(row)) - np.repeat(np.cumsum(usable) - usable, usable) + 1


def _alternatives(
    row: IntArray, take: IntArray, some: RackArrays, lengths_cut: IntArray, kept: KeptLeftovers, glue_up: GlueUpSpec
) -> CutAlternatives:
    milling = planed_away(some, lengths_cut, some.clean, glue_up)
    return CutAlternatives(row, take, take, kept.costs_of(some, milling, glue_up.allowances))
