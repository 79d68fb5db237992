"""Face grain: equal strips laid flat, and the one closing strip of any width (cutting model, section 5).

Sizes in nanometers, volumes in whole mm³.
"""

from __future__ import annotations

import numpy as np

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
from inventory.cutting.costs import CutCosts, worths_at_most
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
    """The alternatives in which each offcut gives the closing strip, beside whole lengths."""
    a = glue_up.allowances
    adds = width_per_length(arrays, glue_up)
    most = np.minimum(adds, a.max_strip_width)
    fits = (adds > 0) & (most >= a.min_strip_width)
    usable = np.where(fits, np.minimum(crosscut_count(arrays, glue_up), 1 + glue_up.target // np.maximum(adds, 1)), 0)
    row = np.repeat(np.arange(len(arrays)), usable)
    take = np.arange(len(row)) - np.repeat(np.cumsum(usable) - usable, usable)
    # The strip is no wider than what its piece leaves open, so that width times multiplier fits 64 bits.
    missing = glue_up.target - take * adds[row]
    wanted = missing > 0
    row, take, missing = row[wanted], take[wanted], missing[wanted]
    if not len(row):
        return None
    each = arrays.rows(row)
    milling = planed_away(each, take + 1, glue_up.rough_thickness, glue_up)
    before = _kept_of_length(each, take + 1, glue_up).costs_of(each, milling, a)
    room = each.width - 2 * a.edge_jointing - a.rip_kerf

    def costs_at(index: IntArray, widths: IntArray) -> CutCosts:
        strip = np.broadcast_to(np.int64(glue_up.strip_length), len(index))
        kept = kept_leftovers(strip, room[index] - widths, each.thickness[index], a)
        return CutCosts(before.loss[index] - kept.volume, before.worth_lost[index] - kept.worth, before.milling[index])

    def lower_costs_at(index: IntArray, widths: IntArray) -> CutCosts:
        """Without rounding a leftover's volume is linear in its width, and its worth convex up to `prime_width`."""
        exact = costs_at(index, widths)
        strip = np.broadcast_to(np.int64(glue_up.strip_length), len(index))
        left = strip, room[index] - widths, each.thickness[index]
        kept, most = is_kept(*left, a), before.worth_lost[index] - worths_at_most(*left, a)
        return CutCosts(exact.loss - kept, np.where(kept, most, exact.worth_lost), exact.milling)

    return PartialAlternatives(
        row=row,
        take=take,
        adds=take * adds[row],
        least=np.full(len(row), a.min_strip_width, dtype=np.int64),
        most=np.maximum(np.minimum(most[row], missing), a.min_strip_width),
        # Where even the narrowest kept leftover is wider than prime wood, its worth has no bend.
        bends=(
            room - max(a.prime_width, a.keep_width, 1),
            room - max(a.keep_width, 1),
            room - max(a.keep_width, 1) + 1,
        ),
        costs_at=costs_at,
        lower_costs_at=lower_costs_at,
    )


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


def cuts(offcut: Offcut, piece: int, take: int, closing: Length | None, glue_up: GlueUpSpec) -> tuple[Cut, ...]:
    """How `take` whole lengths, and the closing strip where one is asked, come out of one piece."""
    a = glue_up.allowances
    strip = glue_up.strip_length
    k = max(-(-(offcut.width + a.rip_kerf) // (a.max_strip_width + a.rip_kerf + 2 * a.edge_jointing)), 1)
    adds = offcut.width - (k - 1) * a.rip_kerf - 2 * k * a.edge_jointing
    lengths_cut = take + (closing is not None)
    sizes: list[tuple[int, int]] = [(offcut.length - lengths_cut * (strip + a.crosscut_kerf), offcut.width)]
    if closing is not None:
        sizes.append((strip, offcut.width - (closing + 2 * a.edge_jointing) - a.rip_kerf))
    left = leftovers(sizes, offcut, glue_up)
    figures = figures_of(offcut, left, lengths_cut, glue_up.rough_thickness, glue_up)
    cuts_made: list[Cut] = []
    if take:
        alone = closing is None
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
    if closing is not None:
        cuts_made.append(Cut(offcut, piece, 1, (1,), closing, closing, leftovers=left, closing=True, **figures))
    return tuple(cuts_made)


def mark(cuts: tuple[Cut, ...], glue_up: GlueUpSpec) -> MarkedPiece:
    """Where these cuts are on their piece."""
    return mark_face_grain(cuts, glue_up)


def ripped_width(cut: Cut, glue_up: GlueUpSpec) -> Length | None:
    """The fence setting for this cut; None where a length is left as wide as it is."""
    ripped = Length(cut.strip_width + 2 * glue_up.allowances.edge_jointing)
    return ripped if ripped < cut.offcut.width else None
