"""Bin covering: strips shared among glue-ups so that each reaches its target width.

Method: greedy construction, then destroy and repair (large neighborhood search; P. Shaw, CP98,
LNCS 1520, 1998; from memory). A glue-up takes the widest strip left and completes it with the strips
whose sum passes the target by least; all subset sums are the bits of one integer, so that one more
strip is one shift. Destroy and repair then refills a few glue-ups from their strips and those left over, and
keeps the result where no less is left over, until that fills another glue-up. A heuristic: what it
finds is feasible, what it does not find may still exist. Deterministic. Widths in nanometers.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from functools import reduce
from math import gcd
from typing import NamedTuple

GRID_STEPS = 1 << 14
"""Subset sums are kept in so many steps up to the target; whether a glue-up is filled is computed in nanometers."""
MAX_EXACT_STEPS = 1 << 15
"""Sums are exact where all widths are multiples of a step and the target has no more steps than this."""
SAMPLE_SIZE = 40
"""How many strips are considered to fill one glue-up; the result depends little on it."""
CLOSE_SUMS = 8
"""How many of the least sums are tried where steps and nanometers disagree."""
DESTROY_SIZES = (2, 3, 4)
TRIES = 3000
"""How often destroy and repair runs before sharing is given up."""

Strips = list[int]
"""Strips by the index of their width, one entry per strip."""


class _Filled(NamedTuple):
    target: int
    strips: Strips


class PseudoRandom:
    """A linear congruential generator with a fixed seed.

    Multiplier and addend as in D. Knuth's MMIX (from memory); any full period would do.
    """

    def __init__(self) -> None:
        self._state = 1

    def below(self, bound: int) -> int:
        """The next number, from 0 to `bound` − 1."""
        self._state = (self._state * 6364136223846793005 + 1442695040888963407) % (1 << 64)
        return (self._state >> 33) % bound

    def mixed(self, strips: Strips, first: int) -> tuple[Strips, Strips]:
        """`first` of the strips in random order, and all others."""
        mixed = list(strips)
        for place in range(min(first, len(mixed))):
            other = place + self.below(len(mixed) - place)
            mixed[place], mixed[other] = mixed[other], mixed[place]
        return mixed[:first], mixed[first:]


class BinCovering:
    """The state of a bin covering: the glue-ups filled, the targets still open, the strips left over.

    Open targets are filled in their order. With `repeat_last`, another glue-up of the last target is
    opened whenever all are filled, until `enough` are. `initial` are strips known to fill the first ones.
    """

    def __init__(
        self,
        widths: Sequence[int],
        counts: Sequence[int],
        targets: Iterable[int],
        *,
        repeat_last: bool = False,
        enough: int | None = None,
        initial: Iterable[Strips] = (),
    ) -> None:
        self.widths = tuple(widths)
        self.open = list(targets)
        self._endless = repeat_last
        self._enough = enough
        self.filled: list[_Filled] = []
        self.left: Strips = [place for place, many in enumerate(counts) for _ in range(many)]
        self.left.sort(key=lambda place: -self.widths[place])
        self.over = sum(self.widths[place] for place in self.left)
        self.random = PseudoRandom()
        self._steps = {target: _discretize(self.widths, target) for target in set(self.open)}
        for strips in initial:
            if self.open and sum(self.widths[place] for place in strips) >= self.open[0]:
                self._keep(strips, self.open[0])
        self._fill_open()

    @property
    def shares(self) -> list[list[int]]:
        """By filled glue-up, in the order of their targets: how many strips of each width it takes."""
        return [self._share(each.strips) for each in self.filled]

    def _share(self, strips: Strips) -> list[int]:
        count = Counter(strips)
        return [count[place] for place in range(len(self.widths))]

    def repair(self, tries: int, enough: int | None = None) -> bool:
        """Destroys and repairs up to `tries` times, until `enough` are filled; whether another was filled."""
        before = len(self.filled)
        for _ in range(tries):
            if not self.open or not self.filled or (enough is not None and len(self.filled) >= enough):
                break
            self._destroy_and_repair()
        return len(self.filled) > before

    def _fill_open(self) -> None:
        """Fills open glue-ups while the strips left over suffice."""
        while self.open and self.over >= self.open[0]:
            target = self.open[0]
            near, far = self.random.mixed(self.left[1:], SAMPLE_SIZE)
            strips = self._tightest_subset([self.left[0], *near], target, widest=True)
            if strips is None:
                strips = self._tightest_subset(self.left[:1] + near + far, target, widest=True)
            if strips is None:
                return
            self._keep(strips, target)

    def _keep(self, strips: Strips, target: int) -> None:
        self.filled.append(_Filled(target, strips))
        self.left = _without(self.left, strips)
        self.over -= sum(self.widths[place] for place in strips)
        self.open.pop(0)
        if self._endless and not self.open and (self._enough is None or len(self.filled) < self._enough):
            self.open.append(target)

    def _destroy_and_repair(self) -> None:
        """Refills a few glue-ups; kept where no less is then left over."""
        random = self.random
        many = min(DESTROY_SIZES[random.below(len(DESTROY_SIZES))], len(self.filled))
        order = list(range(len(self.filled)))
        for place in range(many):
            other = place + random.below(len(order) - place)
            order[place], order[other] = order[other], order[place]
        chosen = order[:many]
        near, far = random.mixed(self.left, SAMPLE_SIZE - 10)
        candidates = near + [place for each in chosen for place in self.filled[each].strips]
        before = sum(self.widths[place] for place in near)
        refilled: list[_Filled] = []
        for each in chosen:
            target = self.filled[each].target
            strips = self._tightest_subset(candidates, target, widest=random.below(10) < 7)
            if strips is None:
                return
            refilled.append(_Filled(target, strips))
            candidates = _without(candidates, strips)
        after = sum(self.widths[place] for place in candidates)
        if after < before:
            return
        for each, filled in zip(chosen, refilled, strict=True):
            self.filled[each] = filled
        self.left = (
            sorted(candidates + far, key=lambda place: -self.widths[place]) if after > before else candidates + far
        )
        self.over += after - before
        if self.over >= self.open[0]:
            self.left.sort(key=lambda place: -self.widths[place])
            self._fill_open()

    def _tightest_subset(self, candidates: Strips, target: int, *, widest: bool) -> Strips | None:
        """The candidates whose sum passes the target by least, with the widest of them if asked; None if none do.

        Of equal sums, that of the strips that come first in random order.
        """
        steps, goal, exact = self._steps[target]
        mixed, _ = self.random.mixed(candidates, len(candidates))
        first: Strips = []
        if widest:
            first = [max(mixed, key=self.widths.__getitem__)]
            mixed.remove(first[0])
            if self.widths[first[0]] >= target:
                return first
        sums = 1 << sum(steps[place] for place in first)
        known = []
        # No strip counts for more than the target, so the subset that reaches it first stays within twice the target.
        enough = (1 << 2 * goal + 1) - 1
        for place in mixed:
            known.append(sums)
            sums |= sums << steps[place] & enough
            if sums >> goal & 1:
                break
        at = goal if exact else max(goal - 2, 0)
        for _ in range(CLOSE_SUMS):
            rest = sums >> at
            if not rest:
                return None
            at += (rest & -rest).bit_length() - 1
            strips = first + _subset_with_sum(mixed[: len(known)], known, steps, at)
            if sum(self.widths[place] for place in strips) >= target:
                return strips
            at += 1
        return None


def _subset_with_sum(strips: Strips, known: Sequence[int], steps: Sequence[int], at: int) -> Strips:
    """The strips that make the sum; `known` holds, for each strip, the sums of those before it."""
    taken = []
    for place, sums in zip(reversed(strips), reversed(known), strict=True):
        if not sums >> at & 1:
            taken.append(place)
            at -= steps[place]
    return taken


class _Grid(NamedTuple):
    widths: tuple[int, ...]
    goal: int
    exact: bool


def _discretize(widths: Sequence[int], target: int) -> _Grid:
    """The widths and the target in steps of their common divisor, or rounded to one of `GRID_STEPS`.

    A strip wider than the target counts as wide as it.
    """
    common = reduce(gcd, widths, target)
    if target // common <= MAX_EXACT_STEPS:
        return _Grid(tuple(min(width, target) // common for width in widths), target // common, True)
    return _Grid(
        tuple((2 * min(width, target) * GRID_STEPS + target) // (2 * target) for width in widths), GRID_STEPS, False
    )


def _without(strips: Strips, taken: Strips) -> Strips:
    """The strips that are left, in their order."""
    gone = Counter(taken)
    left = []
    for place in strips:
        if gone[place]:
            gone[place] -= 1
        else:
            left.append(place)
    return left


def cover_bins(
    widths: Sequence[int], counts: Sequence[int], targets: Sequence[int], tries: int = TRIES
) -> list[list[int]] | None:
    """By glue-up: how many strips of each width it takes, so that each reaches its target; None if not found."""
    if sum(width * many for width, many in zip(widths, counts, strict=True)) < sum(targets):
        return None
    order = sorted(range(len(targets)), key=lambda place: -targets[place])
    covering = BinCovering(widths, counts, [targets[place] for place in order])
    covering.repair(tries)
    if covering.open:
        return None
    # Repaired or not, a glue-up keeps its index among the filled ones.
    return [share for _, share in sorted(zip(order, covering.shares, strict=True))]
