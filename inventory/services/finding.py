"""Finding: the rack filtered, sorted, summed and turned in pages; one piece with all that is known of it.

Knows what may be asked of the rack. Changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from inventory.errors import Mendable
from inventory.measures import Length, Unit
from inventory.shop import Shop
from inventory.storage.records import BoardSummary, Event, OffcutRecord

PAGE_SIZE = 60


class NoSuchPiece(Mendable):
    """No piece has this code."""


class NotAFilter(Mendable):
    """A filter that can't be read; `what` is the key in the address."""

    def __init__(self, message: str, what: str) -> None:
        super().__init__(message)
        self.what = what


class Standing(Enum):
    """Which pieces are shown, by where they stand in their life."""

    HERE = "here"
    FREE = "on the rack"
    SET_ASIDE = "set aside"
    USED_UP = "used up"
    LET_GO = "let go"
    ALL = "all"


class Condition(Enum):
    """Which faces are asked for: both planed, at least one rough, at least one finished."""

    PLANED = "planed"
    ROUGH = "rough"
    FINISHED = "finished"


class RackSort(Enum):
    """The order of the rack, first word first; ties go by code."""

    NEWEST = "newest"
    OLDEST = "oldest"
    LONGEST = "longest"
    WIDEST = "widest"
    THICKEST = "thickest"
    LARGEST = "largest"
    SPECIES = "species"
    LOCATION = "location"


class RackView(Enum):
    """How the rack is laid out on the page."""

    PICTURES = "pictures"
    TABLE = "table"


@dataclass(frozen=True)
class RackFilter:
    """What is asked of the rack. Empty text and None ask nothing; sizes are the least ones; pages count from 1."""

    species: str = ""
    length: Length | None = None
    width: Length | None = None
    thickness: Length | None = None
    condition: Condition | None = None
    standing: Standing = Standing.HERE
    location: str = ""
    text: str = ""
    sort: RackSort = RackSort.NEWEST
    view: RackView = RackView.PICTURES
    page: int = 1

    @property
    def narrows(self) -> bool:
        """Whether anything is asked beyond what stands on the rack."""
        raise NotImplementedError

    def query(self, **changes: object) -> dict[str, str]:
        """This filter (with some fields changed) as the keys of an address; what is usual is left out.

        A change of anything but `page` and `view` starts at page 1. Sizes carry their unit.
        """
        raise NotImplementedError

    def address(self, **changes: object) -> str:
        """As `query`, percent-encoded, with `?` before it, or empty."""
        raise NotImplementedError


def read_filter(query: Mapping[str, str], unit: Unit) -> RackFilter:
    """The filter in an address or a form; keys are the fields of RackFilter. Unknown keys are not looked at.

    Raises NotAFilter for a size, word or page that can't be read.
    """
    raise NotImplementedError


@dataclass(frozen=True)
class SpeciesTotal:
    """Pieces and volume (whole mm³) of one species; `species` as typed last, empty where none was typed."""

    species: str
    tags: int
    pieces: int
    volume: int


@dataclass(frozen=True)
class RackPage:
    """One page of the rack. `tags` are found in all, `pieces` counts bundles by their count, `volume` is whole mm³."""

    filter: RackFilter
    records: tuple[OffcutRecord, ...]
    tags: int
    pieces: int
    volume: int
    by_species: tuple[SpeciesTotal, ...]
    pages: int


@dataclass(frozen=True)
class RackChoices:
    """Species and locations of what is in the shop, in order, for the filter's lists."""

    species: tuple[str, ...]
    locations: tuple[str, ...]


@dataclass(frozen=True)
class PieceView:
    """All that is known of one piece. `history` is latest first; `boards` took it or some of it, latest first."""

    record: OffcutRecord
    history: tuple[Event, ...]
    parent: OffcutRecord | None
    from_board: BoardSummary | None
    leftovers: tuple[OffcutRecord, ...]
    boards: tuple[BoardSummary, ...]


@dataclass(frozen=True)
class Glance:
    """The shop at a glance: what is in it now (pieces, whole mm³), labels waiting, boards set aside and cut."""

    tags: int
    pieces: int
    volume: int
    labels_waiting: int
    boards_set_aside: int
    boards_cut: int


def find(shop: Shop, asked: RackFilter) -> RackPage:
    """The page of the rack that is asked for, with totals over all pages; a page past the end gives the last."""
    raise NotImplementedError


def choices(shop: Shop) -> RackChoices:
    """What the filter's lists offer."""
    raise NotImplementedError


def piece(shop: Shop, code: str) -> PieceView:
    """One piece by its code, typed in any of the ways a code is read. Raises NotACode, NoSuchPiece."""
    raise NotImplementedError


def record(shop: Shop, code: str) -> OffcutRecord:
    """One piece's record alone. Raises NotACode, NoSuchPiece."""
    raise NotImplementedError


def every_piece(shop: Shop, standing: Standing = Standing.HERE) -> tuple[OffcutRecord, ...]:
    """All pieces that stand so, oldest first: for lists carried out of the shop."""
    raise NotImplementedError


def glance(shop: Shop) -> Glance:
    """The shop at a glance."""
    raise NotImplementedError
