"""What to let go, so that the rest keeps to the room and loses least of the boards to be made.

Method: pieces go in the order of their chance to be cut within two years by the square root
of the room they take; among those that were never cut, first what serves fewest of the usual
boards. (By chance alone, too many large pieces stay; by chance for its volume, the few large
ones that hard boards rest on go: the backtest under tests/bench compares them.) Of like pieces
those go first that are taken last. Pinned pieces stay. Knows nothing of how a chance was found.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from math import sqrt

from inventory.core.lengths import volume_mm3
from inventory.core.offcuts import Offcut
from inventory.pruning.forecast import Chance, Forecast
from inventory.pruning.storage_limit import Room


@dataclass(frozen=True)
class Going:
    """`pieces` like ones of a tag may go.

    `chance` is that of the first of them to be cut within two years; `beside` counts the pieces
    that stay and serve the same usual boards, `serves` the usual boards that it could serve.
    """

    offcut: Offcut
    pieces: int
    chance: Chance
    serves: int
    beside: int

    @property
    def volume(self) -> int:
        """All pieces that may go, whole mm³."""
        return self.pieces * volume_mm3(self.offcut.length, self.offcut.width, self.offcut.thickness)


@dataclass(frozen=True)
class Advice:
    """What may go, least needed first, and what then stays; `fits` is False where pins alone overfill the room."""

    going: tuple[Going, ...]
    kept: tuple[Offcut, ...]
    fits: bool


@dataclass(frozen=True)
class _Piece:
    offcut: Offcut
    unit: int
    takes: int
    times: int
    serves: int

    @property
    def order(self) -> tuple[float, int, int, str, int]:
        return (self.times / sqrt(self.takes), self.serves, -self.takes, self.offcut.tag, -self.unit)


def advise(rack: Sequence[Offcut], forecast: Forecast, room: Room, pinned: Collection[str] = ()) -> Advice:
    """The advice for a rack of which there is a forecast. Tags without one (they came since) stay."""
    going: dict[str, int] = {}
    fits = True
    for part in room.parts():
        here = [each for each in rack if part.holds(each)]
        left = sum(room.takes(each) * each.count for each in here) - part.most
        free = [each for each in here if each.tag not in pinned and each.tag in forecast.tags]
        pieces = sorted(_pieces(free, forecast, room), key=lambda piece: piece.order)
        gone = []
        for piece in pieces:
            if left <= 0:
                break
            gone.append(piece)
            left -= piece.takes
        fits &= left <= 0
        # What went last may have made more room than was wanted: the best that fits into it comes back.
        for piece in reversed(gone):
            if left + piece.takes <= 0:
                left += piece.takes
            else:
                going[piece.offcut.tag] = going.get(piece.offcut.tag, 0) + 1
    return _told(rack, forecast, going, fits)


def _pieces(rack: Sequence[Offcut], forecast: Forecast, room: Room) -> list[_Piece]:
    found = []
    for offcut in rack:
        known = forecast.tags[offcut.tag]
        for unit in range(offcut.count):
            times = known.two_years[unit] if unit < len(known.two_years) else 0
            found.append(_Piece(offcut, unit, room.takes(offcut), times, len(known.serves)))
    return found


def _told(rack: Sequence[Offcut], forecast: Forecast, going: dict[str, int], fits: bool) -> Advice:
    kept = kept_of(rack, going)
    serving: dict[frozenset[int], int] = {}
    for each in kept:
        known = forecast.tags.get(each.tag)
        if known is not None:
            serving[known.serves] = serving.get(known.serves, 0) + each.count
    told = []
    for offcut in rack:
        many = going.get(offcut.tag, 0)
        if many:
            known = forecast.tags[offcut.tag]
            first = offcut.count - many
            times = known.two_years[first] if first < len(known.two_years) else 0
            beside = sum(count for serves, count in serving.items() if known.serves <= serves) if known.serves else 0
            told.append(Going(offcut, many, Chance(times, forecast.spells), len(known.serves), beside))
    told.sort(key=lambda each: (each.chance.times, each.serves, -each.volume, each.offcut.tag))
    return Advice(tuple(told), kept, fits)


def kept_of(rack: Sequence[Offcut], going: dict[str, int]) -> tuple[Offcut, ...]:
    """The rack without so many pieces of each tag."""
    left = ((each, each.count - going.get(each.tag, 0)) for each in rack)
    return tuple(each if many == each.count else replace(each, count=many) for each, many in left if many)
