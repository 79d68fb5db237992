"""Where things go on a label of a given size: code, words, picture.

Knows sizes alone. Knows nothing of what the words say, of fonts or of pages.
All in millimetres from the label's top left. A place for something new (a
second code, the hole of a tie-on tag) is carved from the inner box before the
rest is laid out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from labels.errors import CannotPrint
from labels.qr import LEAST_ADDRESS_SIDE, LEAST_MODULE, QUIET_MODULES
from labels.stock import Stock, grid_faults

# common practice, no source: sizes that look right on a label held in the hand
LARGEST_SIDE = 30.0
USUAL_SIDE = 20.0
LEAST_WORDS_WIDTH = 22.5
EASY_WORDS_WIDTH = 34.0
PICTURE_WORDS_WIDTH = 42.0
LEAST_PICTURE = 14.0
PICTURE_ASPECT = 4 / 3
GUTTER = 1.5
WORDS_GUTTER = 2.5
GAP = 2.0

# ISO/IEC 18004: a bare code at level H is a version 1 symbol, 21 modules a side. As a second code it is never larger
# than this share of the main one, and stands only where this much width is left beside it for words.
SECOND_MODULES = 21
MOST_SECOND = 15.0
SECOND_SHARE = 0.8
WORDS_BESIDE_SECOND = 24.0
LEAST_ABOVE_SECOND = 6.0

# Letters may reach a hair beyond their set width.
OVERHANG = 0.4

# A side that is made to be whole dots is whole dots.
ROUNDING = 1e-6

# What an address makes in practice: version 2.
USUAL_MODULES = 25


class LabelTooSmall(CannotPrint):
    """A label on which the code does not fit at the size at which it still scans."""


@dataclass(frozen=True)
class Box:
    """A rectangle on a label, in mm from the label's top left."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.top + self.height

    def shrunk(self, by: float) -> Box:
        """The box inside this one, `by` mm from each side."""
        return Box(self.left + by, self.top + by, self.width - 2 * by, self.height - 2 * by)

    @property
    def outline(self) -> tuple[tuple[float, float], ...]:
        """The corners once round, back to the first."""
        return (
            (self.left, self.top),
            (self.right, self.top),
            (self.right, self.bottom),
            (self.left, self.bottom),
            (self.left, self.top),
        )


@dataclass(frozen=True)
class Places:
    """Where the parts of one label go; `symbol` is the QR without its quiet zone, `quiet` with it."""

    symbol: Box
    quiet: Box
    words: Box
    picture: Box | None


def places_on(stock: Stock, modules: int, least_side: float, *, with_picture: bool) -> Places:
    """The places on a label of this stock for a QR of so many modules, printed no smaller than `least_side` mm.

    Raises LabelTooSmall with a sentence to show.
    """
    dot = float(stock.dot / stock.correction.across)
    for inner in inner_boxes(stock):
        for fineness in (dot, 0.0) if dot else (0.0,):
            places = arrange(inner, modules, least_side, with_picture, fineness)
            if places is not None:
                return places
    besides = " beside the hole" if stock.hole else ""
    raise LabelTooSmall(
        f"{stock.name}: the code must be {least_side:g} mm wide to scan, with a blank margin around it and the "
        f"words beside it, and these labels are too small for that{besides}. Choose larger labels or set a shorter "
        "base address."
    )


def inner_boxes(stock: Stock) -> list[Box]:
    """The parts of a label that may be printed on: one, or beside a hole four, the largest first."""
    insets, hole = stock.insets, stock.hole
    whole = Box(
        float(insets.left),
        float(insets.top),
        float(stock.cell.width - insets.left - insets.right),
        float(stock.cell.height - insets.top - insets.bottom),
    )
    if hole is None:
        return [whole]
    x, y, free = float(hole.across), float(hole.down), float(hole.kept_free)
    left, above = min(whole.right, x - free), min(whole.bottom, y - free)
    right, under = max(whole.left, x + free), max(whole.top, y + free)
    parts = (
        Box(right, whole.top, whole.right - right, whole.height),
        Box(whole.left, under, whole.width, whole.bottom - under),
        Box(whole.left, whole.top, left - whole.left, whole.height),
        Box(whole.left, whole.top, whole.width, above - whole.top),
    )
    return sorted(parts, key=lambda part: -part.width * part.height)


def second_code(places: Places, *, with_words: bool, dot: float = 0.0) -> Box | None:
    """Where a second code goes, quiet zone and all: the lower right corner of the words; None where it has no room.

    The main code gives nothing up for it. A blank tag has no words beside the second code. A printer's `dot` in mm
    makes its modules so many whole dots.
    """
    words = places.words
    whole = (SECOND_MODULES + 2 * QUIET_MODULES) / SECOND_MODULES
    beside = WORDS_BESIDE_SECOND if with_words else 0.0
    room = min(words.width - beside, words.height - LEAST_ABOVE_SECOND) / whole
    side = min(room, MOST_SECOND, SECOND_SHARE * places.symbol.width)
    side = in_dots(side, SECOND_MODULES, dot)
    if side < SECOND_MODULES * LEAST_MODULE:
        return None
    right = words.right + OVERHANG
    return Box(right - side * whole, words.bottom - side * whole, side * whole, side * whole)


def has_picture_room(stock: Stock) -> bool:
    """Whether labels of this stock show a photo.

    >>> from labels.stock import stock_named
    >>> has_picture_room(stock_named("roll-100x50")), has_picture_room(stock_named("roll-50x30"))
    (True, False)
    """
    return places_on(stock, USUAL_MODULES, LEAST_ADDRESS_SIDE, with_picture=True).picture is not None


def faults(stock: Stock) -> tuple[str, ...]:
    """All that is wrong with a stock, each in one sentence: its grid, and room for the code of an address."""
    found = grid_faults(stock)
    if found:
        return found
    try:
        places_on(stock, USUAL_MODULES, LEAST_ADDRESS_SIDE, with_picture=False)
    except LabelTooSmall as fault:
        return (str(fault),)
    return ()


@lru_cache(maxsize=256)
def arrange(inner: Box, modules: int, least_side: float, with_picture: bool, dot: float = 0.0) -> Places | None:
    """The places inside a label's printable box; None where code and words do not fit.

    The code stands top left. A high label has the picture under it, a long one at its right end, a narrow high one
    under code and words, a small one none. A printer's `dot` in mm makes each module so many whole dots.
    """
    if dot:
        coarser = arrange(inner, modules, _dots_up(least_side, modules, dot), with_picture)
        return None if coarser is None else _dotted(coarser, modules, dot)
    whole = (modules + 2 * QUIET_MODULES) / modules
    if inner.height < least_side * whole or inner.width < least_side * whole + LEAST_WORDS_WIDTH:
        return None
    if with_picture:
        for place in (_picture_under, _picture_beside, _picture_below):
            places = place(inner, whole, least_side)
            if places is not None:
                return places
    room = min(inner.height, inner.width - EASY_WORDS_WIDTH) / whole
    side = max(least_side, min(room, USUAL_SIDE, inner.height / whole))
    return _with_code(inner, side, whole, side * whole, inner.right, None)


def _picture_under(inner: Box, whole: float, least_side: float) -> Places | None:
    """Code over picture in a left column that both fill, words in the right one."""
    column = (inner.height - GUTTER) / (1 + 1 / PICTURE_ASPECT)
    column = min(column, inner.width - WORDS_GUTTER - PICTURE_WORDS_WIDTH, LARGEST_SIDE * whole)
    high = inner.height - GUTTER - column
    if column < least_side * whole or min(column, high) < LEAST_PICTURE:
        return None
    picture = Box(inner.left, inner.top + column + GUTTER, column, min(high, column))
    return _with_code(inner, column / whole, whole, column + WORDS_GUTTER, inner.right, picture)


def _picture_beside(inner: Box, whole: float, least_side: float) -> Places | None:
    """Code, words, picture from left to right."""
    side = max(least_side, min(USUAL_SIDE, inner.height / whole))
    spare = inner.width - side * whole - PICTURE_WORDS_WIDTH - GAP
    width = min(spare, inner.height * PICTURE_ASPECT)
    if min(width, inner.height) < LEAST_PICTURE:
        return None
    height = min(inner.height, width)
    picture = Box(inner.right - width, inner.top + (inner.height - height) / 2, width, height)
    return _with_code(inner, side, whole, side * whole, picture.left - GAP, picture)


def _picture_below(inner: Box, whole: float, least_side: float) -> Places | None:
    """Code and words beside one another, the picture under both."""
    side = max(least_side, min(USUAL_SIDE, (inner.width - LEAST_WORDS_WIDTH) / whole))
    high = inner.height - side * whole - GUTTER
    if min(high, inner.width) < LEAST_PICTURE:
        return None
    width = min(inner.width, high * PICTURE_ASPECT)
    height = min(high, width)
    upper = Box(inner.left, inner.top, inner.width, inner.height - height - GUTTER)
    picture = Box(inner.left + (inner.width - width) / 2, inner.bottom - height, width, height)
    return _with_code(upper, side, whole, side * whole, upper.right, picture)


def in_dots(side: float, modules: int, dot: float) -> float:
    """A symbol's side made smaller until each module is whole dots; as it is where there are no dots.

    >>> round(in_dots(16.0, 25, 25.4 / 203), 2)
    15.64
    """
    return math.floor(side / modules / dot + ROUNDING) * modules * dot if dot else side


def _dots_up(side: float, modules: int, dot: float) -> float:
    return math.ceil(side / modules / dot - ROUNDING) * modules * dot


def _dotted(places: Places, modules: int, dot: float) -> Places:
    """The same places with the symbol in whole dots, in the middle of where it was."""
    old = places.symbol
    side = in_dots(old.width, modules, dot)
    aside = (old.width - side) / 2
    return replace(places, symbol=Box(old.left + aside, old.top + aside, side, side))


def _with_code(
    inner: Box, side: float, whole: float, words_from: float, words_to: float, picture: Box | None
) -> Places:
    """The code top left — in the middle of the height where nothing lies under it —, words from there to `words_to`."""
    under = picture is not None and picture.left == inner.left and picture.bottom <= inner.bottom
    top = inner.top if under else inner.top + (inner.height - side * whole) / 2
    margin = side * (whole - 1) / 2
    return Places(
        Box(inner.left + margin, top + margin, side, side),
        Box(inner.left, top, side * whole, side * whole),
        Box(inner.left + words_from, inner.top, words_to - OVERHANG - inner.left - words_from, inner.height),
        picture,
    )
