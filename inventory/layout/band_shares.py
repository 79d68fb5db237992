"""The strips of one pool or stripe, shared among its bands (cutting model, section 7).

Method: each band in turn gets the strips whose sum is nearest to its width; then strips are moved and exchanged while
that brings two bands nearer. A pool's surplus width is spread evenly over its bands. With two bands and not too many
different sums the result is optimal; beyond that it is a heuristic. Sums of squares are compared as whole numbers.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from inventory.core.lengths import Length
from inventory.layout.positions import Appearance, Strip

MAX_SUMS = 400
"""The most sums of strips that are kept for one band; beyond, sums that are close together count as one."""
MAX_EXCHANGE_SIZE = 64
"""Bands times different strips up to which exchanges between bands are tried."""

Bands = list[list[Strip]]
Counts = dict[Appearance, int]


def share_by_width(strips: Sequence[Strip], widths: Sequence[Length], pairs: Sequence[tuple[int, int]] = ()) -> Bands:
    """Strips of a pool for each of its bands, each as near to its width as whole strips allow.

    `pairs` are bands opposite each other: they get strips that look alike, where the widths come no less near for it.
    """
    have = Counter(strip.appearance for strip in strips)
    shared = _closest_counts(have, _targets(have, widths))
    opposite = _mirrored(have, widths, pairs)
    if opposite is not None and _deviation(opposite, _targets(have, widths)) <= _deviation(
        shared, _targets(have, widths)
    ):
        shared = opposite
    return _deal(strips, shared)


def share_by_count(strips: Sequence[Strip], counts: Sequence[int]) -> tuple[Bands, list[Strip]]:
    """The strips of a stripe for each of its bands, and those that no band needs."""
    wanted = sum(counts)
    used = sorted(strips, key=lambda strip: (strip.strip_class, strip.nth))
    used, spare = used[:wanted], used[wanted:]
    if not used:
        return [[] for _ in counts], spare
    return _deal(used, [{used[0].appearance: count} for count in counts]), spare


def _targets(have: Mapping[Appearance, int], widths: Sequence[Length]) -> list[int]:
    """What each band should sum to, times the number of bands: its width and an even part of the surplus."""
    over = sum(-appearance[0] * count for appearance, count in have.items()) - sum(widths)
    return [width * len(widths) + over for width in widths]


def _sum(counts: Mapping[Appearance, int]) -> int:
    return sum(-appearance[0] * count for appearance, count in counts.items())


def _deviation(shared: Sequence[Counts], targets: Sequence[int]) -> tuple[int, int]:
    """How many bands have no strip, and how far the bands are from their targets."""
    empty = sum(not sum(counts.values()) for counts in shared)
    return empty, sum(
        (_sum(counts) * len(targets) - target_sum) ** 2 for counts, target_sum in zip(shared, targets, strict=True)
    )


def _closest_counts(have: Mapping[Appearance, int], targets: Sequence[int]) -> list[Counts]:
    """Counts for each band; every band has a strip where there are enough."""
    left = dict(have)
    shared: list[Counts] = []
    for place, target_sum in enumerate(targets):
        if place == len(targets) - 1:
            chosen = dict(left)
        else:
            # Later bands make up for what earlier ones got too much or too little of.
            still = sum(targets[place:])
            drift = (_sum(left) * len(targets) - still) // (len(targets) - place)
            chosen = _closest_sum(left, (target_sum + drift) / len(targets))
        for appearance, count in chosen.items():
            left[appearance] -= count
        shared.append(chosen)
    _fill_empty(shared)
    if len(targets) * len(have) <= MAX_EXCHANGE_SIZE:
        _improve_by_exchange(shared, targets)
    return shared


SumChain = tuple[Appearance, int, "SumChain"] | None


def _closest_sum(have: Mapping[Appearance, int], target_sum: float) -> Counts:
    """The counts whose sum is nearest to the target; the smaller of two equally near."""
    sums: dict[int, SumChain] = {0: None}
    widest = max((-appearance[0] for appearance, count in have.items() if count), default=0)
    for appearance, count in sorted(have.items()):
        for total, chain in list(sums.items()):
            for used in range(1, count + 1):
                reached = total - appearance[0] * used
                if reached > target_sum + widest:
                    break
                sums.setdefault(reached, (appearance, used, chain))
        if len(sums) > MAX_SUMS:
            sums = _prune_sums(sums)
    chain = sums[min(sums, key=lambda total: (abs(total - target_sum), total))]
    counts: Counts = {}
    while chain is not None:
        appearance, used, chain = chain
        counts[appearance] = used
    return counts


def _prune_sums(sums: Mapping[int, SumChain]) -> dict[int, SumChain]:
    """Of sums that are close together, the smallest."""
    step = max(sums) // MAX_SUMS + 1
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
                appearance = max(appearance for appearance, count in richest.items() if count)
                richest[appearance] -= 1
                counts[appearance] = 1


def _improve_by_exchange(shared: list[Counts], targets: Sequence[int]) -> None:
    """Moves or exchanges single strips while that brings the bands nearer to their targets."""
    better = True
    while better:
        better = False
        for one in range(len(shared)):
            for other in range(one + 1, len(shared)):
                better |= _best_exchange(shared[one], shared[other], targets[one], targets[other], len(targets))


def _best_exchange(one: Counts, other: Counts, target_sum: int, other_target: int, scale: int) -> bool:
    """The best single move or exchange between two bands; whether there was one."""
    here, there = _sum(one) * scale - target_sum, _sum(other) * scale - other_target
    best, change = here**2 + there**2, None
    for give, get in _moves(one, other):
        moved = ((-get[0] if get else 0) + (give[0] if give else 0)) * scale
        deviation = (here + moved) ** 2 + (there - moved) ** 2
        if deviation < best:
            best, change = deviation, (give, get)
    if change is None:
        return False
    give, get = change
    for appearance, source, target in ((give, one, other), (get, other, one)):
        if appearance is not None:
            source[appearance] -= 1
            target[appearance] = target.get(appearance, 0) + 1
    return True


def _moves(one: Counts, other: Counts) -> Iterator[tuple[Appearance | None, Appearance | None]]:
    """What one band may give the other and get for it; neither is left without a strip."""
    ours = [appearance for appearance, count in one.items() if count]
    theirs = [appearance for appearance, count in other.items() if count]
    yield from ((give, get) for give in ours for get in theirs if give != get)
    if sum(one.values()) > 1:
        yield from ((give, None) for give in ours)
    if sum(other.values()) > 1:
        yield from ((None, get) for get in theirs)


def _mirrored(
    have: Mapping[Appearance, int], widths: Sequence[Length], pairs: Sequence[tuple[int, int]]
) -> list[Counts] | None:
    """Counts where bands opposite each other get like strips; None where that can't be."""
    paired = {band for pair in pairs for band in pair}
    middle = [band for band in range(len(widths)) if band not in paired]
    odd = {appearance: 1 for appearance, count in have.items() if count % 2}
    if not pairs or len(middle) > 1 or (odd and not middle):
        return None
    targets = _targets(have, widths)
    halves = {appearance: count // 2 for appearance, count in have.items()}
    half_targets = [targets[left] for left, _ in pairs]
    if middle:
        half_targets.append((targets[middle[0]] - _sum(odd) * len(widths)) // 2)
    # `_closest_counts` takes its targets times the number of bands.
    parts = len(half_targets)
    half = _closest_counts(halves, [target_sum * parts // len(widths) for target_sum in half_targets])
    shared: list[Counts] = [{} for _ in widths]
    for (left, right), counts in zip(pairs, half, strict=False):
        shared[left], shared[right] = dict(counts), dict(counts)
    if middle:
        shared[middle[0]] = {
            appearance: 2 * half[-1].get(appearance, 0) + odd.get(appearance, 0) for appearance in have
        }
    return shared


def _deal(strips: Sequence[Strip], shared: Sequence[Counts]) -> Bands:
    """The strips themselves, by the counts of their appearances; each piece goes to as many bands as possible."""
    bands: Bands = [[] for _ in shared]
    for appearance in sorted({strip.appearance for strip in strips}):
        here = [strip for strip in strips if strip.appearance == appearance]
        many = Counter(strip.source for strip in here)
        here.sort(key=lambda strip: (-many[strip.source], strip.source, strip.nth))
        wanted = [counts.get(appearance, 0) for counts in shared]
        left = list(wanted)
        given: Counter[tuple[object, int]] = Counter()
        for strip in here:
            band = min(
                (band for band in range(len(bands)) if left[band]),
                key=lambda band: (given[strip.source, band] / wanted[band], -left[band] / wanted[band], band),
            )
            bands[band].append(strip)
            left[band] -= 1
            given[strip.source, band] += 1
    return bands
