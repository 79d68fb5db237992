"""The room that offcuts may take: a volume, a number of pieces, or a running length of shelf by location.

Knows how much of it a piece takes. On a shelf pieces stand on edge side by side like
books, so that each takes its thickness (common practice, no source). Knows nothing of use.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from inventory.errors import Mendable
from inventory.measures import Length, volume_mm3
from inventory.pieces import Offcut


class NotARoom(Mendable):
    """A room that can't be kept to; `what` names the value."""

    def __init__(self, message: str, what: str = "") -> None:
        super().__init__(message)
        self.what = what


@dataclass(frozen=True)
class Room:
    """Just one of them is given: whole mm³, pieces, or by location the length of shelf."""

    volume: int | None = None
    pieces: int | None = None
    shelves: Mapping[str, Length] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if (self.volume is not None) + (self.pieces is not None) + bool(self.shelves) != 1:
            raise NotARoom(
                "Give the room in one way: as a volume, as a number of pieces, or as lengths of shelf.", "room"
            )

    def parts(self) -> tuple[Part, ...]:
        """The parts that must each be kept to."""
        if self.volume is not None:
            return (Part(None, self.volume),)
        if self.pieces is not None:
            return (Part(None, self.pieces),)
        return tuple(Part(location, length) for location, length in self.shelves.items())

    def takes(self, offcut: Offcut) -> int:
        """How much of the room one piece takes."""
        if self.volume is not None:
            return max(volume_mm3(offcut.length, offcut.width, offcut.thickness), 1)
        return 1 if self.pieces is not None else offcut.thickness

    def taken(self, rack: Sequence[Offcut]) -> int:
        """How much of the room a whole rack takes; on shelves, the parts of the room together."""
        return sum(self.takes(each) * each.count for each in rack if any(part.holds(each) for part in self.parts()))


@dataclass(frozen=True)
class Part:
    """A part of the room, in whatever it is given; `location` is None where it is for all of the rack."""

    location: str | None
    most: int

    def holds(self, offcut: Offcut) -> bool:
        """Whether a piece lies in this part."""
        return self.location is None or offcut.location == self.location
