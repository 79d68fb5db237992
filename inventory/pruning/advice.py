"""What to let go, so that the rest keeps to the room and loses least of the boards to be made.

Method: pieces go in the order of their chance to be cut within two years by the square root of the room they take;
among those that were never cut, first what serves fewest of the usual boards. (By chance alone, too many large
pieces stay; by chance for its volume, the few large ones that hard boards rest on go: the backtest under
tests/bench compares them.) Of like pieces those go first that are taken last. Pinned pieces stay.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from math import sqrt

from inventory.core.lengths import volume_mm3
from inventory.core.offcuts import Offcut
from inventory.pruning.forecast import Chance, Forecast
from inventory.pruning.storage_limit import StorageLimit


@dataclass(frozen=True)
class Removal:
    """`pieces` like ones of a tag may go.

    `chance` is that of the first of them to be cut within two years; `similar_kept` counts the pieces
    that stay and serve the same usual boards, `serves` the usual boards that it could serve.
    """

    offcut: Offcut
    pieces: int
    chance: Chance
    serves: int
    similar_kept: int

    @property
    def volume(self) -> int:
        """All pieces that may go, whole mm³."""
        return self.pieces * volume_mm3(self.offcut.length, self.offcut.width, self.offcut.thickness)


@dataclass(frozen=True)
class Advice:
    """What may go, least needed first, and what then stays; `fits` is False where pins alone overfill the room."""

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


def advise(rack: Sequence[Offcut], forecast: Forecast, room: StorageLimit, pinned: Collection[str] = ()) -> Advice:
    """The advice for a rack of which there is a forecast. Tags without one (they came since) stay."""
    going: dict[str, int] = {}
    fits = True
    for part in room.parts():
        here = [each for each in rack if part.contains(each)]
        left = sum(room.space_of(each) * each.count for each in here) - part.limit
        free = [each for each in here if each.tag not in pinned and each.tag in forecast.tags]
        pieces = sorted(_pieces(free, forecast, room), key=lambda piece: piece.order)
        gone = []
        for piece in pieces:
            if left <= 0:
                break
            gone.append(piece)
            left -= piece.space_of
        fits &= left <= 0
        # What went last may have made more room than was wanted: the best that fits into it comes back.
        for piece in reversed(gone):
            if left + piece.space_of <= 0:
                left += piece.space_of
            else:
                going[piece.offcut.tag] = going.get(piece.offcut.tag, 0) + 1
    return _make_advice(rack, forecast, going, fits)


def _pieces(rack: Sequence[Offcut], forecast: Forecast, room: StorageLimit) -> list[_Piece]:
    found = []
    for offcut in rack:
        known = forecast.tags[offcut.tag]
        for unit in range(offcut.count):
            successes = known.two_years[unit] if unit < len(known.two_years) else 0
            found.append(_Piece(offcut, unit, room.space_of(offcut), successes, len(known.serves)))
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
    """The rack without so many pieces of each tag."""
    left = ((each, each.count - going.get(each.tag, 0)) for each in rack)
    return tuple(each if many == each.count else replace(each, count=many) for each, many in left if many)
