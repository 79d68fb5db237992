"""The prune list: which pieces to remove so that the rest meets the storage limit and loses the fewest boards.

Method: pieces are removed in the order of their probability to be cut within two years, divided by the square root of
the storage that they take; of those that were never cut, first the ones that serve the fewest usual boards. (By
probability alone too many large pieces stay; by probability per volume the few large ones that some boards need are
removed: tests/bench compares them.) Of like pieces, those that would be cut last are removed first. Pieces with the
mark `keep` and pinned pieces stay.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from math import sqrt

from inventory.core.lengths import volume_mm3
from inventory.core.offcuts import Mark, Offcut
from inventory.pruning.forecast import Chance, Forecast
from inventory.pruning.storage_limit import StorageLimit

PIN_DAYS = 365
"""So long a pinned piece is not proposed again."""


@dataclass(frozen=True)
class Removal:
    """`pieces` like ones of a tag are on the prune list.

    `chance` is the probability that the first of them is cut within two years; `similar_kept` counts the pieces
    that stay and serve the same usual boards, `serves` the usual boards that it can serve.
    """

    offcut: Offcut
    pieces: int
    chance: Chance
    serves: int
    similar_kept: int

    @property
    def volume(self) -> int:
        """The volume of these pieces, whole mm³."""
        return self.pieces * volume_mm3(self.offcut.length, self.offcut.width, self.offcut.thickness)


@dataclass(frozen=True)
class Advice:
    """The prune list, least needed first, and what stays.

    `fits` is False where pieces that must stay exceed the limit.
    """

    going: tuple[Removal, ...]
    kept: tuple[Offcut, ...]
    fits: bool


@dataclass(frozen=True)
class _Piece:
    offcut: Offcut
    unit: int
    space_of: int
    successes: int
    serves: int

    @property
    def order(self) -> tuple[float, int, int, str, int]:
        return (self.successes / sqrt(self.space_of), self.serves, -self.space_of, self.offcut.tag, -self.unit)


def must_stay(offcut: Offcut, pinned: Collection[str]) -> bool:
    """Whether a piece is never proposed: it has the mark `keep`, or its tag is pinned."""
    return Mark.KEEP in offcut.marks or offcut.tag in pinned


def advise(
    rack: Sequence[Offcut], forecast: Forecast, storage_limit: StorageLimit, pinned: Collection[str] = ()
) -> Advice:
    """The advice for a rack with a forecast. Tags that came after the forecast stay."""
    going: dict[str, int] = {}
    fits = True
    for part in storage_limit.parts():
        here = [each for each in rack if part.contains(each)]
        left = sum(storage_limit.space_of(each) * each.count for each in here) - part.limit
        free = [each for each in here if not must_stay(each, pinned) and each.tag in forecast.tags]
        pieces = sorted(_pieces(free, forecast, storage_limit), key=lambda piece: piece.order)
        gone = []
        for piece in pieces:
            if left <= 0:
                break
            gone.append(piece)
            left -= piece.space_of
        fits &= left <= 0
        # The last removal may have freed more than needed: the best removed pieces that still fit are kept.
        for piece in reversed(gone):
            if left + piece.space_of <= 0:
                left += piece.space_of
            else:
                going[piece.offcut.tag] = going.get(piece.offcut.tag, 0) + 1
    return _make_advice(rack, forecast, going, fits)


def _pieces(rack: Sequence[Offcut], forecast: Forecast, storage_limit: StorageLimit) -> list[_Piece]:
    found = []
    for offcut in rack:
        known = forecast.tags[offcut.tag]
        for unit in range(offcut.count):
            successes = known.two_years[unit] if unit < len(known.two_years) else 0
            found.append(_Piece(offcut, unit, storage_limit.space_of(offcut), successes, len(known.serves)))
    return found


def _make_advice(rack: Sequence[Offcut], forecast: Forecast, going: dict[str, int], fits: bool) -> Advice:
    kept = without_removed(rack, going)
    serving: dict[frozenset[int], int] = {}
    for each in kept:
        known = forecast.tags.get(each.tag)
        if known is not None:
            serving[known.serves] = serving.get(known.serves, 0) + each.count
    removals = []
    for offcut in rack:
        many = going.get(offcut.tag, 0)
        if many:
            known = forecast.tags[offcut.tag]
            first = offcut.count - many
            successes = known.two_years[first] if first < len(known.two_years) else 0
            similar_kept = (
                sum(count for serves, count in serving.items() if known.serves <= serves) if known.serves else 0
            )
            removals.append(
                Removal(offcut, many, Chance(successes, forecast.replications), len(known.serves), similar_kept)
            )
    removals.sort(key=lambda each: (each.chance.successes, each.serves, -each.volume, each.offcut.tag))
    return Advice(tuple(removals), kept, fits)


def without_removed(rack: Sequence[Offcut], going: dict[str, int]) -> tuple[Offcut, ...]:
    """The rack without the given number of pieces of each tag."""
    left = ((each, each.count - going.get(each.tag, 0)) for each in rack)
    return tuple(each if many == each.count else replace(each, count=many) for each, many in left if many)
