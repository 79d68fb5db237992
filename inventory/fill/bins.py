"""Strips shared out among several glue-ups, so that each is filled.

Knows widths and counts, and nothing of where strips come from. Method: one glue-up
after another takes the widest strip left and, to complete it, the strips whose sum
passes the target by least (a list of partial sums, thinned where it grows long). A
greedy hand: what it finds is right, what it does not find may still exist. Widths
in nanometres.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inventory.fill.task import Ints

LONGEST_LIST = 2000
TIGHT_ENOUGH = 4000
"""A sum that passes the target by less than one part in so many ends the search for a tighter one."""


def shared_out(widths: Sequence[int], counts: Sequence[int], targets: Sequence[int]) -> list[list[int]] | None:
    """By glue-up: how many strips of each width it takes, so that each reaches its target; None if not found."""
    left = list(counts)
    shares: list[list[int]] = []
    order = sorted(range(len(targets)), key=lambda place: -targets[place])
    for place in order:
        spare = sum(w * c for w, c in zip(widths, left, strict=True)) - sum(
            targets[other] for other in order[len(shares) :]
        )
        taken = None if spare < 0 else _tightest(widths, left, targets[place])
        if taken is None:
            return None
        shares.append(taken)
        left = [have - used for have, used in zip(left, taken, strict=True)]
    return [share for _, share in sorted(zip(order, shares, strict=True))]


def most_filled(widths: Sequence[int], counts: Sequence[int], target: int) -> list[list[int]]:
    """The shares of as many glue-ups of one target as the greedy hand fills."""
    left = list(counts)
    shares: list[list[int]] = []
    while (taken := _tightest(widths, left, target)) is not None:
        shares.append(taken)
        left = [have - used for have, used in zip(left, taken, strict=True)]
    return shares


def _tightest(widths: Sequence[int], counts: Sequence[int], target: int) -> list[int] | None:
    """Strips with the widest one left among them, whose sum passes the target by least."""
    order = sorted((place for place, many in enumerate(counts) if many), key=lambda place: -widths[place])
    if sum(widths[place] * counts[place] for place in order) < target:
        return None
    widest = order[0]
    sums: Ints = np.array([widths[widest]], dtype=np.int64)
    back: list[tuple[int, Ints, Ints]] = []
    best = int(sums[0]) if sums[0] >= target else None
    for place in order:
        if best is not None and best - target <= target // TIGHT_ENOUGH:
            break
        many = counts[place] - (place == widest)
        open_sums = sums[sums < target]
        needed = min(many, -(-target // widths[place]))
        if not needed or not len(open_sums):
            continue
        grown = (sums[:, None] + widths[place] * np.arange(needed + 1)).ravel()
        used = np.tile(np.arange(needed + 1), len(sums))
        came = np.repeat(np.arange(len(sums)), needed + 1)
        # A sum past the target is only worth having if it is the least of those.
        keep = grown < target
        past = np.flatnonzero(~keep)
        if len(past):
            keep[past[np.argmin(grown[past])]] = True
        grown, first = np.unique(grown[keep], return_index=True)
        used, came = used[keep][first], came[keep][first]
        if len(grown) > LONGEST_LIST:
            thin = np.unique(np.linspace(0, len(grown) - 1, LONGEST_LIST).astype(np.int64))
            grown, used, came = grown[thin], used[thin], came[thin]
        back.append((place, used, came))
        sums = grown
        if sums[-1] >= target:
            best = int(sums[-1])
    if best is None:
        return None
    taken = [0] * len(widths)
    taken[widest] = 1
    at = int(np.searchsorted(sums, best))
    for place, used, came in reversed(back):
        taken[place] += int(used[at])
        at = int(came[at])
    return taken
