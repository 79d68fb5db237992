"""The strips of one pool or accent, shared out over its bands (cutting model, section 7).

Method: band after band gets the strips whose sum comes nearest to its width; then
strips are moved and exchanged while that brings two bands nearer. What a pool is wider
than its bands together is spread over them evenly. With two bands and not too many
different sums the nearest is found; beyond that it is near. Knows nothing of the order
within a band. Sums of squares are compared as whole numbers.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from inventory.core.lengths import Length
from inventory.layout.arrangement import Look, LooseStrip

MOST_SUMS = 400
"""So many sums of strips are followed for one band; beyond, those that lie close together count as one."""
MOST_EXCHANGES = 64
"""Bands times different strips up to which exchanges between bands are tried."""

Bands = list[list[LooseStrip]]
Counts = dict[Look, int]


def share_out(strips: Sequence[LooseStrip], widths: Sequence[Length], pairs: Sequence[tuple[int, int]] = ()) -> Bands:
    """Strips of a pool for each of its bands, each as near to its width as whole strips allow.

    `pairs` are bands that lie opposite each other: where it costs no nearness they get
    strips that look alike.
    """
    have = Counter(strip.look for strip in strips)
    shared = _nearest(have, _aims(have, widths))
    opposite = _mirrored(have, widths, pairs)
    if opposite is not None and _off(opposite, _aims(have, widths)) <= _off(shared, _aims(have, widths)):
        shared = opposite
    return _dealt(strips, shared)


def share_by_count(strips: Sequence[LooseStrip], counts: Sequence[int]) -> tuple[Bands, list[LooseStrip]]:
    """The strips of an accent for each of its bands, and those that no band needs."""
    wanted = sum(counts)
    used = sorted(strips, key=lambda strip: (strip.kind, strip.nth))
    used, spare = used[:wanted], used[wanted:]
    if not used:
        return [[] for _ in counts], spare
    return _dealt(used, [{used[0].look: count} for count in counts]), spare


def _aims(have: Mapping[Look, int], widths: Sequence[Length]) -> list[int]:
    """What each band should sum to, times the number of bands: its width and an even part of what is over."""
    over = sum(-look[0] * count for look, count in have.items()) - sum(widths)
    return [width * len(widths) + over for width in widths]


def _sum(counts: Mapping[Look, int]) -> int:
    return sum(-look[0] * count for look, count in counts.items())


def _off(shared: Sequence[Counts], aims: Sequence[int]) -> tuple[int, int]:
    """How many bands have no strip, and how far the bands are from their aims."""
    empty = sum(not sum(counts.values()) for counts in shared)
    return empty, sum((_sum(counts) * len(aims) - aim) ** 2 for counts, aim in zip(shared, aims, strict=True))


def _nearest(have: Mapping[Look, int], aims: Sequence[int]) -> list[Counts]:
    """Counts for each band; every band has a strip where there are enough."""
    left = dict(have)
    shared: list[Counts] = []
    for place, aim in enumerate(aims):
        if place == len(aims) - 1:
            chosen = dict(left)
        else:
            # What earlier bands got too much or too little of is made up for by the later ones.
            still = sum(aims[place:])
            drift = (_sum(left) * len(aims) - still) // (len(aims) - place)
            chosen = _nearest_sum(left, (aim + drift) / len(aims))
        for look, count in chosen.items():
            left[look] -= count
        shared.append(chosen)
    _fill_empty(shared)
    if len(aims) * len(have) <= MOST_EXCHANGES:
        _exchange(shared, aims)
    return shared


Chain = tuple[Look, int, "Chain"] | None


def _nearest_sum(have: Mapping[Look, int], aim: float) -> Counts:
    """The counts whose sum lies nearest to the aim; the smaller of two equally near."""
    sums: dict[int, Chain] = {0: None}
    widest = max((-look[0] for look, count in have.items() if count), default=0)
    for look, count in sorted(have.items()):
        for total, chain in list(sums.items()):
            for used in range(1, count + 1):
                reached = total - look[0] * used
                if reached > aim + widest:
                    break
                sums.setdefault(reached, (look, used, chain))
        if len(sums) > MOST_SUMS:
            sums = _thinned(sums)
    chain = sums[min(sums, key=lambda total: (abs(total - aim), total))]
    counts: Counts = {}
    while chain is not None:
        look, used, chain = chain
        counts[look] = used
    return counts


def _thinned(sums: Mapping[int, Chain]) -> dict[int, Chain]:
    """Of sums that lie close together, the smallest."""
    step = max(sums) // MOST_SUMS + 1
    kept: dict[int, int] = {}
    for total in sorted(sums):
        kept.setdefault(total // step, total)
    return {total: sums[total] for total in kept.values()}


def _fill_empty(shared: list[Counts]) -> None:
    """Gives the narrowest strip of the band with most strips to each band that has none."""
    for counts in shared:
        if not sum(counts.values()):
            richest = max(shared, key=lambda each: sum(each.values()))
            if sum(richest.values()) > 1:
                look = max(look for look, count in richest.items() if count)
                richest[look] -= 1
                counts[look] = 1


def _exchange(shared: list[Counts], aims: Sequence[int]) -> None:
    """Moves or exchanges single strips while that brings the bands nearer to their aims."""
    better = True
    while better:
        better = False
        for one in range(len(shared)):
            for other in range(one + 1, len(shared)):
                better |= _exchange_two(shared[one], shared[other], aims[one], aims[other], len(aims))


def _exchange_two(one: Counts, other: Counts, aim: int, other_aim: int, scale: int) -> bool:
    """The best single move or exchange between two bands; whether there was one."""
    here, there = _sum(one) * scale - aim, _sum(other) * scale - other_aim
    best, change = here**2 + there**2, None
    for give, get in _moves(one, other):
        moved = ((-get[0] if get else 0) + (give[0] if give else 0)) * scale
        off = (here + moved) ** 2 + (there - moved) ** 2
        if off < best:
            best, change = off, (give, get)
    if change is None:
        return False
    give, get = change
    for look, source, target in ((give, one, other), (get, other, one)):
        if look is not None:
            source[look] -= 1
            target[look] = target.get(look, 0) + 1
    return True


def _moves(one: Counts, other: Counts) -> Iterator[tuple[Look | None, Look | None]]:
    """What one band may give the other and get for it; neither is left without a strip."""
    ours = [look for look, count in one.items() if count]
    theirs = [look for look, count in other.items() if count]
    yield from ((give, get) for give in ours for get in theirs if give != get)
    if sum(one.values()) > 1:
        yield from ((give, None) for give in ours)
    if sum(other.values()) > 1:
        yield from ((None, get) for get in theirs)


def _mirrored(
    have: Mapping[Look, int], widths: Sequence[Length], pairs: Sequence[tuple[int, int]]
) -> list[Counts] | None:
    """Counts where bands that lie opposite each other get alike strips; None where that can't be."""
    paired = {band for pair in pairs for band in pair}
    middle = [band for band in range(len(widths)) if band not in paired]
    odd = {look: 1 for look, count in have.items() if count % 2}
    if not pairs or len(middle) > 1 or (odd and not middle):
        return None
    aims = _aims(have, widths)
    halves = {look: count // 2 for look, count in have.items()}
    half_aims = [aims[left] for left, _ in pairs]
    if middle:
        half_aims.append((aims[middle[0]] - _sum(odd) * len(widths)) // 2)
    # `_nearest` counts its aims in as many parts as there are bands.
    parts = len(half_aims)
    half = _nearest(halves, [aim * parts // len(widths) for aim in half_aims])
    shared: list[Counts] = [{} for _ in widths]
    for (left, right), counts in zip(pairs, half, strict=False):
        shared[left], shared[right] = dict(counts), dict(counts)
    if middle:
        shared[middle[0]] = {look: 2 * half[-1].get(look, 0) + odd.get(look, 0) for look in have}
    return shared


def _dealt(strips: Sequence[LooseStrip], shared: Sequence[Counts]) -> Bands:
    """The strips themselves, by the counts of their looks; each piece is dealt to as many bands as can be."""
    bands: Bands = [[] for _ in shared]
    for look in sorted({strip.look for strip in strips}):
        here = [strip for strip in strips if strip.look == look]
        many = Counter(strip.piece for strip in here)
        here.sort(key=lambda strip: (-many[strip.piece], strip.piece, strip.nth))
        wanted = [counts.get(look, 0) for counts in shared]
        left = list(wanted)
        given: Counter[tuple[object, int]] = Counter()
        for strip in here:
            band = min(
                (band for band in range(len(bands)) if left[band]),
                key=lambda band: (given[strip.piece, band] / wanted[band], -left[band] / wanted[band], band),
            )
            bands[band].append(strip)
            left[band] -= 1
            given[strip.piece, band] += 1
    return bands
