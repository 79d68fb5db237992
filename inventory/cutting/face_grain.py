"""Face grain: whole lengths and a part of one, laid flat (cutting model, section 5).

Sizes in nanometers, volumes in whole mm³.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting.alternatives import (
    CutAlternatives,
    GlueUpSpec,
    KeptLeftovers,
    Misfits,
    PartialAlternatives,
    crosscut_count,
    is_kept,
    kept_leftovers,
    planed_away,
)
from inventory.cutting.costs import CutCosts, volumes_at_most, worths_at_most
from inventory.cutting.cuts import Cut
from inventory.cutting.edge_grain import figures_of, leftovers
from inventory.cutting.marking_out import MarkedPiece, mark_face_grain
from inventory.cutting.offcut_arrays import IntArray, RackArrays


def strips_per_length(width: IntArray, allowances: Allowances) -> IntArray:
    """`k`: the fewest equal strips of one length that are not wider than allowed."""
    a = allowances
    # (W − (k−1)·kerf − 2k·jointing)/k ≤ most  ⟺  W + kerf ≤ k·(most + kerf + 2·jointing)
    strips: IntArray = np.maximum(-(-(width + a.rip_kerf) // (a.max_strip_width + a.rip_kerf + 2 * a.edge_jointing)), 1)
    return strips


def part_of_length(widths: IntArray, allowances: Allowances) -> tuple[IntArray, IntArray]:
    """`k` strips and the width `d` of the narrowest part of a length that is at least so wide.

    Equal strips are not too wide, and where that would make them too narrow, the part is wider.
    """
    strips: IntArray = np.maximum(-(-widths // allowances.max_strip_width), 1)
    return strips, np.maximum(widths, strips * allowances.min_strip_width)


def width_per_length(arrays: RackArrays, glue_up: GlueUpSpec) -> IntArray:
    """`g`: what one length adds to the width; 0 where its strips would be too narrow or it is too thin."""
    a = glue_up.allowances
    k = strips_per_length(arrays.width, a)
    adds = arrays.width - (k - 1) * a.rip_kerf - 2 * k * a.edge_jointing
    serves = (arrays.clean >= glue_up.rough_thickness) & (adds >= k * a.min_strip_width)
    whole: IntArray = np.where(serves, adds, 0)
    return whole


def capacities(arrays: RackArrays, glue_up: GlueUpSpec) -> IntArray:
    """The most that each offcut can add to the width, 0 where it can't serve."""
    most: IntArray = width_per_length(arrays, glue_up) * crosscut_count(arrays, glue_up)
    return most


def alternatives(arrays: RackArrays, glue_up: GlueUpSpec) -> CutAlternatives:
    """Every number of whole lengths that each offcut can give, up to what the glue-up can use."""
    adds = width_per_length(arrays, glue_up)
    usable = np.where(
        adds > 0, np.minimum(crosscut_count(arrays, glue_up), -(-glue_up.target // np.maximum(adds, 1))), 0
    )
    row = np.repeat(np.arange(len(arrays)), usable)
    take = np.arange(len(row)) - np.repeat(np.cumsum(usable) - usable, usable) + 1
    each = arrays.rows(row)
    milling = planed_away(each, take, glue_up.rough_thickness, glue_up)
    return CutAlternatives(
        row=row,
        take=take,
        adds=take * adds[row],
        costs=_kept_of_length(each, take, glue_up).costs_of(each, milling, glue_up.allowances),
    )


def _kept_of_length(arrays: RackArrays, lengths_cut: IntArray, glue_up: GlueUpSpec) -> KeptLeftovers:
    a = glue_up.allowances
    left = arrays.length - lengths_cut * (glue_up.strip_length + a.crosscut_kerf)
    return kept_leftovers(left, arrays.width, arrays.thickness, a)


def partial_alternatives(arrays: RackArrays, glue_up: GlueUpSpec) -> PartialAlternatives | None:
    """The alternatives in which each offcut gives a part of a length, beside whole lengths."""
    a = glue_up.allowances
    adds = width_per_length(arrays, glue_up)
    usable = np.where(
        adds > 0, np.minimum(crosscut_count(arrays, glue_up), 1 + glue_up.target // np.maximum(adds, 1)), 0
    )
    row = np.repeat(np.arange(len(arrays)), usable)
    take = np.arange(len(row)) - np.repeat(np.cumsum(usable) - usable, usable)
    missing = glue_up.target - take * adds[row]
    wanted = missing > 0
    row, take, missing = row[wanted], take[wanted], missing[wanted]
    if not len(row):
        return None
    each = arrays.rows(row)
    milling = planed_away(each, take + 1, glue_up.rough_thickness, glue_up)
    before = _kept_of_length(each, take + 1, glue_up).costs_of(each, milling, a)
    beside = _Beside(each, before, glue_up)
    return PartialAlternatives(
        row=row,
        take=take,
        adds=take * adds[row],
        least=np.full(len(row), a.min_strip_width, dtype=np.int64),
        # A part is no wider than what its piece leaves open, so that width times multiplier fits 64 bits.
        most=np.maximum(np.minimum(adds[row], missing), a.min_strip_width),
        bends=beside.bends(),
        costs_at=beside.costs_at,
        lower_costs_at=beside.lower_costs_at,
    )


class _Beside:
    """The costs of pieces by the width of a part of a length: what is beside it may go back on the rack.

    `before` are the costs without that leftover.
    """

    def __init__(self, arrays: RackArrays, before: CutCosts, glue_up: GlueUpSpec) -> None:
        self._arrays = arrays
        self._before = before
        self._strip_length = glue_up.strip_length
        self._allowances = a = glue_up.allowances
        self._lost_of_strip = 2 * a.edge_jointing + a.rip_kerf
        self._kept_up_to = self._width_that_leaves(np.int64(max(a.keep_width, 1)))

    def costs_at(self, index: IntArray, widths: IntArray) -> CutCosts:
        """The costs of the pieces at `index` with parts of these widths."""
        strips, widths = part_of_length(widths, self._allowances)
        room = self._arrays.width[index] - widths - strips * self._lost_of_strip
        strip = np.broadcast_to(np.int64(self._strip_length), len(index))
        kept = kept_leftovers(strip, room, self._arrays.thickness[index], self._allowances)
        before = self._before
        return CutCosts(before.loss[index] - kept.volume, before.worth_lost[index] - kept.worth, before.milling[index])

    def bends(self) -> tuple[IntArray, ...]:
        """Where the lower bounds bend or jump: neither side of a bend is convex in the width."""
        a = self._allowances
        # Where even the narrowest kept leftover is wider than prime wood, its worth has no bend.
        prime = self._width_that_leaves(np.int64(max(a.prime_width, a.keep_width, 1)))
        widest_strip = np.full(len(prime), a.max_strip_width, dtype=np.int64)
        return prime, self._kept_up_to, self._kept_up_to + 1, widest_strip

    def lower_costs_at(self, widths: IntArray) -> CutCosts:
        """Lower bounds of the costs of all pieces with parts of these widths.

        Strips are counted in fractions beyond the first. Then what is kept falls linearly with the width, its volume
        is linear and its worth convex in it up to `prime_width`.
        """
        # Bends are off by less than a nanometer of what is left, and by two where floats round.
        room = self._room(widths) + 4 * (1 + self._lost_of_strip / self._allowances.max_strip_width)
        strip = np.broadcast_to(np.int64(self._strip_length), len(widths))
        size = strip, np.ceil(room).astype(np.int64), self._arrays.thickness
        large = is_kept(strip, np.full(len(widths), max(self._allowances.keep_width, 1)), size[2], self._allowances)
        kept = (widths <= self._kept_up_to) & large & (size[1] > 0)
        before = self._before
        return CutCosts(
            before.loss - np.where(kept, volumes_at_most(*size), 0),
            before.worth_lost - np.where(kept, worths_at_most(*size, self._allowances), 0),
            before.milling,
        )

    def _room(self, widths: IntArray) -> NDArray[np.float64]:
        """What is left beside parts of these widths at most."""
        strips = np.maximum(widths / self._allowances.max_strip_width, 1.0)
        left: NDArray[np.float64] = self._arrays.width - widths - strips * self._lost_of_strip
        return left

    def _width_that_leaves(self, left: np.int64) -> IntArray:
        """How wide a part may be that leaves so much by `_room`; up to 2 nm more."""
        room, most = (self._arrays.width - left).astype(np.float64), self._allowances.max_strip_width
        widest = np.minimum(room - self._lost_of_strip, room * most / (most + self._lost_of_strip))
        up: IntArray = np.floor(widest).astype(np.int64) + 1
        return up


def misfits(arrays: RackArrays, glue_up: GlueUpSpec) -> Misfits:
    """By how much each offcut misses giving a single length."""
    a = glue_up.allowances
    k = strips_per_length(arrays.width, a)
    adds = arrays.width - (k - 1) * a.rip_kerf - 2 * k * a.edge_jointing
    return Misfits(
        short=np.maximum(glue_up.strip_length - arrays.length, 0),
        narrow=np.maximum(k * a.min_strip_width - adds, 0),
        thin=np.maximum(glue_up.rough_thickness - arrays.clean, 0),
    )


def cuts(offcut: Offcut, piece: int, take: int, part: Length | None, glue_up: GlueUpSpec) -> tuple[Cut, ...]:
    """How `take` whole lengths, and a part of one that is at least `part` wide, come out of one piece."""
    a = glue_up.allowances
    strip = glue_up.strip_length
    width = np.array([offcut.width], dtype=np.int64)
    k = int(strips_per_length(width, a)[0])
    adds = offcut.width - (k - 1) * a.rip_kerf - 2 * k * a.edge_jointing
    lengths_cut = take + (part is not None)
    sizes: list[tuple[int, int]] = [(offcut.length - lengths_cut * (strip + a.crosscut_kerf), offcut.width)]
    strips = of_part = 0
    if part is not None:
        strips, of_part = (int(each[0]) for each in part_of_length(np.array([part], dtype=np.int64), a))
        sizes.append((strip, offcut.width - of_part - strips * (2 * a.edge_jointing + a.rip_kerf)))
    left = leftovers(sizes, offcut, glue_up)
    figures = figures_of(offcut, left, lengths_cut, glue_up.rough_thickness, glue_up)
    cuts_made: list[Cut] = []
    if take:
        alone = part is None
        cuts_made.append(
            Cut(
                offcut=offcut,
                piece=piece,
                lengths_cut=take,
                rips=(k,) * take,
                strip_width=Length(adds // k),
                adds=Length(take * adds),
                **(figures if alone else dict.fromkeys(figures, 0)),
                leftovers=left if alone else (),
            )
        )
    if part is not None:
        cuts_made.append(
            Cut(
                offcut=offcut,
                piece=piece,
                lengths_cut=1,
                rips=(strips,),
                strip_width=Length(of_part // strips),
                adds=Length(of_part),
                **figures,
                leftovers=left,
                part=True,
            )
        )
    return tuple(cuts_made)


def mark(cuts: tuple[Cut, ...], glue_up: GlueUpSpec) -> MarkedPiece:
    """Where these cuts are on their piece."""
    return mark_face_grain(cuts, glue_up)


def ripped_width(cut: Cut, glue_up: GlueUpSpec) -> Length | None:
    """The fence setting for this cut; None where a length is left as wide as it is."""
    ripped = Length(cut.strip_width + 2 * glue_up.allowances.edge_jointing)
    return ripped if ripped < cut.offcut.width else None
