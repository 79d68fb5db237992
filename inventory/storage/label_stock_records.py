"""The shop's own label stocks, and how each stock is printed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from inventory.core.lengths import Length


class StockKind(Enum):
    """What the labels come on."""

    SHEET = "sheet"
    ROLL = "roll"


class PhotoTone(Enum):
    """How photos are made for the printer."""

    GREY = "grey"
    BLACK = "black and white"


@dataclass(frozen=True)
class TagHole:
    """The hole of a tie-on tag: its middle from the tag's top left, and its diameter."""

    across: Length
    down: Length
    diameter: Length


@dataclass(frozen=True)
class OwnStock:
    """A stock of the shop's own. Its page is one label wide and high for a roll; pitches lead from label to label."""

    key: str
    name: str
    kind: StockKind
    page: tuple[Length, Length]
    columns: int
    rows: int
    cell: tuple[Length, Length]
    margins: tuple[Length, Length]
    pitch: tuple[Length, Length]
    corner: Length
    hole: TagHole | None = None
    version: int = 1


@dataclass(frozen=True)
class RulerMeasures:
    """What was measured on a stock's test sheet: two lengths, and two distances from the page's left and top edge."""

    across: Length
    down: Length
    left: Length
    top: Length


@dataclass(frozen=True)
class StockPrinting:
    """How a stock is printed: photos, dots per inch, and what its test sheet showed (None: never measured)."""

    tone: PhotoTone
    dpi: int
    ruler_measures: RulerMeasures | None = None
