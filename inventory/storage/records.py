"""What the database holds, as frozen dataclasses: pieces, photos, history, boards.

Sizes are Length, volumes whole mm³, moments aware datetimes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import Enum
from typing import Any

from inventory.core.lengths import Length, volume_mm3
from inventory.core.offcuts import Offcut, State
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest
from inventory.layout.strip_order import StripOrder


class BoardState(Enum):
    """The state of a board."""

    ON_HOLD = "set aside"
    CUT = "cut"
    FINISHED = "finished"
    ABANDONED = "abandoned"


class PrintState(Enum):
    """The state of a print job."""

    QUEUED = "queued"
    PRINTING = "printing"
    PRINTED = "printed"
    FAILED = "failed"


class EventKind(Enum):
    """What happened to a piece; the words are shown in its history."""

    TAGGED = "tagged"
    LEFTOVER = "came back from a cut"
    CHANGED = "changed"
    PHOTO = "photo"
    ON_HOLD = "set aside"
    RELEASED = "put back"
    CUT = "cut"
    CUT_UNDONE = "cut undone"
    USED = "used"
    REMOVED = "let go"
    REMOVAL_UNDONE = "taken back"
    LABEL_PRINTED = "label printed"
    SEEN = "seen"
    MISSED = "missed"


class Decision(Enum):
    """The decision on a piece of a prune checklist."""

    WAITING = "waiting"
    GONE = "gone"
    KEPT = "kept"


@dataclass(frozen=True)
class StoredPhoto:
    """A photo whose files are on the disk, not yet of a piece; pixels of the full size."""

    digest: str
    width: int
    height: int


@dataclass(frozen=True)
class PhotoRecord:
    """A photo of a piece; the first of a piece is the main one."""

    id: int
    digest: str
    width: int
    height: int


@dataclass(frozen=True)
class Event:
    """One event in the history of a piece. What does not apply to its kind is None or empty.

    `pieces` of the `bundle` like pieces under the tag were moved. `action` is a word: the way out of the shop, what
    was done with a photo, what a piece was before it came back. `note` is what the user or the prune advice gave as
    the reason. `before` and `after` are fields of the offcut by name, those that changed, or all as tagged. `parent`
    is the tag that a leftover comes from, `stock_check` the location of a stock check. `sentence` is how an event
    before revision 0011 of the database was worded.
    """

    at: datetime
    kind: EventKind
    pieces: int | None = None
    bundle: int | None = None
    board: int | None = None
    board_name: str = ""
    parent: str = ""
    stock_check: str = ""
    checklist: int | None = None
    action: str | None = None
    note: str = ""
    before: Mapping[str, Any] = field(default_factory=dict)
    after: Mapping[str, Any] = field(default_factory=dict)
    sentence: str | None = None


@dataclass(frozen=True)
class OffcutRecord:
    """A piece or bundle. `offcut.tag` is its code, `offcut.count` the like pieces under the tag.

    `set_aside` of them are on hold for boards. For a piece that is gone, `offcut.count`
    is the last number and none is free. `last_checked_at` is when somebody last
    confirmed its location, None since it was tagged.
    """

    id: int
    offcut: Offcut
    state: State
    set_aside: int
    version: int
    tagged_at: datetime
    parent_tag: str | None = None
    from_board: int | None = None
    label_wanted: bool = False
    photos: tuple[PhotoRecord, ...] = ()
    last_checked_at: datetime | None = None

    @property
    def seen_at(self) -> datetime:
        """When it was last known to be there."""
        return self.last_checked_at or self.tagged_at

    @property
    def code(self) -> str:
        return self.offcut.tag

    @property
    def here(self) -> bool:
        """Whether the wood is in the shop: on the rack or on hold."""
        return self.state in (State.ON_RACK, State.ON_HOLD)

    @property
    def free(self) -> int:
        """Like pieces that are not on hold."""
        return self.offcut.count - self.set_aside if self.here else 0

    @property
    def volume(self) -> int:
        """All like pieces together, whole mm³; each box is rounded down."""
        return self.offcut.count * volume_mm3(self.offcut.length, self.offcut.width, self.offcut.thickness)

    @property
    def main_photo(self) -> PhotoRecord | None:
        return self.photos[0] if self.photos else None


@dataclass(frozen=True)
class TakenPiece:
    """A board takes `pieces` like pieces of the tag `code`; `emptied` where its cut took the last one."""

    offcut_id: int
    code: str
    pieces: int
    emptied: bool = False


@dataclass(frozen=True)
class BoardSummary:
    """A board as a line in a list. `length` × `width` × `thickness` finished; `pieces` counts the offcuts it takes.

    Of boards that are made together `boards` counts them, and the sizes are the first one's
    unless all are `alike`.
    """

    id: int
    name: str
    state: BoardState
    length: Length
    width: Length
    thickness: Length
    created_at: datetime
    changed_at: datetime
    pieces: int
    boards: int = 1
    alike: bool = True


@dataclass(frozen=True)
class BoardRecord:
    """A board with the request and the fill for which its offcuts were put on hold.

    Of boards that are made together, `beside` are those of other sizes.
    `fill.cuts[…].offcut` are the offcuts as they were then; the rack may have
    changed since. `left_over` are the tags of the leftovers of its cut. `order` is
    the user's own order of the strips, None for the proposed one.
    """

    id: int
    name: str
    state: BoardState
    request: BoardRequest
    fill: Fill
    version: int
    created_at: datetime
    cut_at: datetime | None = None
    finished_at: datetime | None = None
    abandoned_at: datetime | None = None
    taken: tuple[TakenPiece, ...] = ()
    left_over: tuple[str, ...] = ()
    order: StripOrder | None = None
    beside: tuple[BoardRequest, ...] = ()

    @property
    def requests(self) -> tuple[BoardRequest, ...]:
        """All boards that are made together."""
        return (self.request, *self.beside)

    @property
    def boards(self) -> int:
        """How many boards there will be."""
        return sum(each.count for each in self.requests)


@dataclass(frozen=True)
class PrintJob:
    """Labels that were sent to a printer; `number` is the job's there, `labels` are the codes of the pieces.

    `number` is 0 while the job is being sent; `reason` is what the printer says, a sentence or empty; `ended_at` is
    None while the job is under way.
    """

    id: int
    printer: str
    stock: str
    title: str
    number: int
    state: PrintState
    reason: str
    sent_at: datetime
    ended_at: datetime | None = None
    labels: tuple[str, ...] = ()


@dataclass(frozen=True)
class DeviceRecord:
    """A paired browser, and when it was last seen."""

    id: int
    name: str
    joined_at: datetime
    seen_at: datetime
