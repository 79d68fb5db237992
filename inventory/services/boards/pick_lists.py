"""The pick list of a board: what to fetch from the rack, by location."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from inventory.core.offcuts import Offcut, location_key
from inventory.storage.records import BoardRecord


@dataclass(frozen=True)
class PickListLine:
    """Fetch `pieces` like pieces of this offcut; its location is the one of the day on which it was put on hold."""

    location: str
    offcut: Offcut
    pieces: int


def pick_list(board: BoardRecord, pieces: Mapping[str, int] | None = None) -> tuple[PickListLine, ...]:
    """What to fetch, in the order of the locations ("wall 2" before "wall 10"), those without one last.

    With `pieces`, by tag how many, only these are fetched.
    """
    taken = {each.code: each.pieces for each in board.taken} if pieces is None else pieces
    offcuts = {cut.offcut.tag: cut.offcut for cut in board.fill.cuts}
    picks = [PickListLine(offcuts[code].location, offcuts[code], many) for code, many in taken.items()]
    return tuple(sorted(picks, key=lambda pick: (not pick.location, location_key(pick.location), pick.offcut.tag)))
