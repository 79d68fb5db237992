"""Strips shared out among several glue-ups, so that each is filled.

Knows widths and counts, and nothing of where strips come from. Method: one glue-up
after another takes the widest strip at hand and, to complete it, the strips whose sum
passes the target by least. All sums that some strips can have are the bits of one large
number, so that a strip more is one shift. Then a few filled glue-ups are taken apart, over and
over, and filled anew from their strips and those left over; what is left over grows until
it fills another. A greedy hand: what it finds is right, what it does not find may
still exist. It asks no chance: the same question gets the same answer. Widths in
nanometres.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from functools import reduce
from math import gcd
from typing import NamedTuple

GRID_STEPS = 1 << 14
"""Sums are looked up in so many steps to the target; whether a glue-up is filled is then reckoned in nanometres."""
MAX_EXACT_STEPS = 1 << 15
"""Where all widths are whole multiples of a step, and the target has no more steps than this, sums are exact."""
SAMPLE_SIZE = 40
"""So many strips are looked at to fill one glue-up; a few more or less make no difference."""
CLOSE_SUMS = 8
"""So many of the least sums are tried where steps and nanometres disagree."""
DESTROY_SIZES = (2, 3, 4)
TRIES = 3000
"""So many times glue-ups are taken apart before sharing out is given up."""

Strips = list[int]
"""Strips by the place of their width in the list of widths, one entry a strip."""


class _Filled(NamedTuple):
    target: int
    strips: Strips


class PseudoRandom:
    """Numbers that jump about evenly and are the same every time (a linear congruence).

    Multiplier and addend as in D. Knuth's MMIX (from memory); any full period would do.
    """

    def __init__(self) -> None:
        self._state = 1

    def below(self, bound: int) -> int:
        """The next number, from 0 to `bound` − 1."""
        self._state = (self._state * 6364136223846793005 + 1442695040888963407) % (1 << 64)
        return (self._state >> 33) % bound

    def mixed(self, strips: Strips, first: int) -> tuple[Strips, Strips]:
        """`first` of the strips in mixed order, and all others."""
        mixed = list(strips)
        for place in range(min(first, len(mixed))):
            other = place + self.below(len(mixed) - place)
            mixed[place], mixed[other] = mixed[other], mixed[place]
        return mixed[:first], mixed[first:]


class BinCovering:
    """Strips on their way into glue-ups: those filled, the targets still open, the strips left over.

    Open targets are filled in their order. With `repeat_last`, another glue-up with the last
    target is opened whenever all are filled, until `enough` are. `initial` are strips for the first of them
    that are known to fill one; they must be there.
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
        """Takes filled glue-ups apart so many times, until `enough` are filled; whether another was filled."""
        before = len(self.filled)
        for _ in range(tries):
            if not self.open or not self.filled or (enough is not None and len(self.filled) >= enough):
                break
            self._destroy_and_repair()
        return len(self.filled) > before

    def _fill_open(self) -> None:
        """Fills open glue-ups while strips left over fill them."""
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
        """Fills a few glue-ups anew; kept where no less is then left over."""
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
        anew: list[_Filled] = []
        for each in chosen:
            target = self.filled[each].target
            strips = self._tightest_subset(candidates, target, widest=random.below(10) < 7)
            if strips is None:
                return
            anew.append(_Filled(target, strips))
            candidates = _without(candidates, strips)
        after = sum(self.widths[place] for place in candidates)
        if after < before:
            return
        for each, filled in zip(chosen, anew, strict=True):
            self.filled[each] = filled
        self.left = (
            sorted(candidates + far, key=lambda place: -self.widths[place]) if after > before else candidates + far
        )
        self.over += after - before
        if self.over >= self.open[0]:
            self.left.sort(key=lambda place: -self.widths[place])
            self._fill_open()

    def _tightest_subset(self, candidates: Strips, target: int, *, widest: bool) -> Strips | None:
        """Strips at hand whose sum passes the target by least, the widest among them if asked; None if none do.

        Of equal sums, that of the strips that come first when the hand is mixed.
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
        # What passes the target needs no further strip, so no sum matters that is twice as wide.
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
    """The strips that make the sum: `known` holds, before each strip, the sums that those before it can have."""
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
    """The widths and the target in steps of a common measure, or rounded to the nearest of FINE steps.

    A strip that fills the glue-up alone needs no more steps than the target.
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
    # Taken apart or not, a glue-up keeps its place among the filled ones.
    return [share for _, share in sorted(zip(order, covering.shares, strict=True))]
