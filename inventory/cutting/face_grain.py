"""Face-grain glue-ups: what one offcut gives, and the closing strip (cutting model, section 5).

Knows equal rips, jointing of every edge and the one strip of free width. Knows
nothing of which offcut is best: that is `inventory.fill`. Sizes in nanometres;
volumes whole mm³.
"""

from __future__ import annotations

import numpy as np

from inventory.core.lengths import Length
from inventory.core.offcuts import Allowances, Offcut
from inventory.cutting.alternatives import Closings, GlueUp, Misfits, Offers, kept_volumes, lengths_in
from inventory.cutting.cuts import Cut
from inventory.cutting.edge_grain import dirty_of, loss_of, remainders
from inventory.cutting.offcut_arrays import Columns, Ints, box_volumes, face_areas


def strips_of_a_length(width: Ints, allowances: Allowances) -> Ints:
    """`k`: the fewest equal strips of one length that are not wider than allowed."""
    a = allowances
    # (W − (k−1)·kerf − 2k·jointing)/k ≤ most  ⟺  W + kerf ≤ k·(most + kerf + 2·jointing)
    strips: Ints = np.maximum(-(-(width + a.rip_kerf) // (a.max_strip_width + a.rip_kerf + 2 * a.edge_jointing)), 1)
    return strips


def length_adds(columns: Columns, glue_up: GlueUp) -> Ints:
    """`g`: what one length adds to the width; 0 where its strips would be too narrow or it is too thin."""
    a = glue_up.allowances
    k = strips_of_a_length(columns.width, a)
    adds = columns.width - (k - 1) * a.rip_kerf - 2 * k * a.edge_jointing
    serves = (columns.clean >= glue_up.rough_thickness) & (adds >= k * a.min_strip_width)
    whole: Ints = np.where(serves, adds, 0)
    return whole


def capacities(columns: Columns, glue_up: GlueUp) -> Ints:
    """The most that each offcut can add to the width, 0 where it can't serve."""
    most: Ints = length_adds(columns, glue_up) * lengths_in(columns, glue_up)
    return most


def offers(columns: Columns, glue_up: GlueUp) -> Offers:
    """Every number of whole lengths that each offcut can give, up to what the glue-up can use."""
    adds = length_adds(columns, glue_up)
    usable = np.where(adds > 0, np.minimum(lengths_in(columns, glue_up), -(-glue_up.target // np.maximum(adds, 1))), 0)
    row = np.repeat(np.arange(len(columns)), usable)
    take = np.arange(len(row)) - np.repeat(np.cumsum(usable) - usable, usable) + 1
    kept = _kept_of_the_length(columns, row, take, glue_up)
    return Offers(
        row=row,
        take=take,
        adds=take * adds[row],
        loss=box_volumes(columns.length[row], columns.width[row], columns.thickness[row]) - kept,
        dirty=face_areas(take * glue_up.strip_length, columns.width[row], columns.unsurfaced_faces[row]),
    )


def _kept_of_the_length(columns: Columns, row: Ints, lengths_cut: Ints, glue_up: GlueUp) -> Ints:
    a = glue_up.allowances
    left = columns.length[row] - lengths_cut * (glue_up.strip_length + a.crosscut_kerf)
    return kept_volumes(left, columns.width[row], columns.thickness[row], a)


def closings(columns: Columns, glue_up: GlueUp) -> Closings | None:
    """Every way in which each offcut can give the closing strip, beside whole lengths."""
    a = glue_up.allowances
    adds = length_adds(columns, glue_up)
    most = np.minimum(adds, a.max_strip_width)
    fits = (adds > 0) & (most >= a.min_strip_width)
    usable = np.where(fits, np.minimum(lengths_in(columns, glue_up), 1 + glue_up.target // np.maximum(adds, 1)), 0)
    row = np.repeat(np.arange(len(columns)), usable)
    take = np.arange(len(row)) - np.repeat(np.cumsum(usable) - usable, usable)
    # The strip is no wider than what its own piece leaves open, so that width times price stays in 64 bits.
    missing = glue_up.target - take * adds[row]
    wanted = missing >= a.min_strip_width
    row, take, missing = row[wanted], take[wanted], missing[wanted]
    if not len(row):
        return None
    before = box_volumes(columns.length[row], columns.width[row], columns.thickness[row]) - _kept_of_the_length(
        columns, row, take + 1, glue_up
    )
    room = columns.width[row] - 2 * a.edge_jointing - a.rip_kerf
    thickness = columns.thickness[row]

    def loss_at(index: Ints, widths: Ints) -> Ints:
        strip = np.broadcast_to(np.int64(glue_up.strip_length), len(index))
        losses: Ints = before[index] - kept_volumes(strip, room[index] - widths, thickness[index], a)
        return losses

    return Closings(
        row=row,
        take=take,
        adds=take * adds[row],
        least=np.full(len(row), a.min_strip_width, dtype=np.int64),
        most=np.minimum(most[row], missing),
        bend=room - max(a.keep_width, 1),
        dirty=face_areas((take + 1) * glue_up.strip_length, columns.width[row], columns.unsurfaced_faces[row]),
        loss_at=loss_at,
    )


def misfits(columns: Columns, glue_up: GlueUp) -> Misfits:
    """By how much each offcut misses giving a single length."""
    a = glue_up.allowances
    k = strips_of_a_length(columns.width, a)
    adds = columns.width - (k - 1) * a.rip_kerf - 2 * k * a.edge_jointing
    return Misfits(
        short=np.maximum(glue_up.strip_length - columns.length, 0),
        narrow=np.maximum(k * a.min_strip_width - adds, 0),
        thin=np.maximum(glue_up.rough_thickness - columns.clean, 0),
    )


def cuts(offcut: Offcut, piece: int, take: int, closing: Length | None, glue_up: GlueUp) -> tuple[Cut, ...]:
    """How `take` whole lengths, and the closing strip where one is asked, come out of one piece."""
    a = glue_up.allowances
    strip = glue_up.strip_length
    k = max(-(-(offcut.width + a.rip_kerf) // (a.max_strip_width + a.rip_kerf + 2 * a.edge_jointing)), 1)
    adds = offcut.width - (k - 1) * a.rip_kerf - 2 * k * a.edge_jointing
    lengths_cut = take + (closing is not None)
    sizes: list[tuple[int, int]] = [(offcut.length - lengths_cut * (strip + a.crosscut_kerf), offcut.width)]
    if closing is not None:
        sizes.append((strip, offcut.width - (closing + 2 * a.edge_jointing) - a.rip_kerf))
    left = remainders(sizes, offcut, glue_up)
    loss, dirty = loss_of(offcut, left), dirty_of(offcut, lengths_cut, glue_up)
    told: list[Cut] = []
    if take:
        alone = closing is None
        told.append(
            Cut(
                offcut=offcut,
                piece=piece,
                lengths_cut=take,
                rips=(k,) * take,
                strip_width=Length(adds // k),
                adds=Length(take * adds),
                loss=loss if alone else 0,
                dirty=dirty if alone else 0,
                remainders=left if alone else (),
            )
        )
    if closing is not None:
        told.append(Cut(offcut, piece, 1, (1,), closing, closing, loss, dirty, left, closing=True))
    return tuple(told)
