"""The layout of a label of a given size: code, text, picture.

All in millimeters from the label's top left. The hole of a tie-on tag is cut from the printable box first.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from labels.errors import LabelError
from labels.qr import MIN_MODULE, MIN_URL_SIDE, QUIET_MODULES
from labels.stock import Stock, grid_errors

# common practice, no source: sizes that look right on a label held in the hand
MAX_CODE_SIDE = 30.0
DEFAULT_CODE_SIDE = 20.0
MIN_TEXT_WIDTH = 22.5
PREFERRED_TEXT_WIDTH = 34.0
TEXT_WIDTH_WITH_PICTURE = 42.0
MIN_PICTURE_SIDE = 14.0
PICTURE_ASPECT = 4 / 3
GUTTER = 1.5
TEXT_GUTTER = 2.5
GAP = 2.0

# ISO/IEC 18004: a bare code at level H is a version 1 symbol, 21 modules a side. As a second code it is at most this
# share of the main one, and is printed only where this much width is left beside it for text.
SECOND_MODULES = 21
MAX_SECOND_SIDE = 15.0
SECOND_SHARE = 0.8
MIN_TEXT_BESIDE_SECOND = 24.0
MIN_ABOVE_SECOND = 6.0

# Letters may extend this far beyond their set width, in mm.
OVERHANG = 0.4

# Rounding error of a side that is a whole number of dots, in dots.
TOLERANCE = 1e-6

# Most addresses make a version 2 symbol.
TYPICAL_MODULES = 25


class LabelTooSmall(LabelError):
    """A label that is too small for the code at the smallest size that scans."""


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

    def inset(self, by: float) -> Box:
        """The box inside this one, `by` mm from each side."""
        return Box(self.left + by, self.top + by, self.width - 2 * by, self.height - 2 * by)

    @property
    def outline(self) -> tuple[tuple[float, float], ...]:
        """The closed outline: four corners and the first again."""
        return (
            (self.left, self.top),
            (self.right, self.top),
            (self.right, self.bottom),
            (self.left, self.bottom),
            (self.left, self.top),
        )


@dataclass(frozen=True)
class LabelLayout:
    """The boxes of one label; `symbol` is the QR code without its quiet zone, `quiet` with it."""

    symbol: Box
    quiet: Box
    words: Box
    picture: Box | None


def layout_label(stock: Stock, modules: int, min_side: float, *, with_picture: bool) -> LabelLayout:
    """The layout of a label of this stock for a QR code of so many modules, printed no smaller than `min_side` mm.

    Raises LabelTooSmall.
    """
    dot = float(stock.dot / stock.correction.across)
    for inner in _printable_boxes(stock):
        for dot_size in (dot, 0.0) if dot else (0.0,):
            places = arrange(inner, modules, min_side, with_picture, dot_size)
            if places is not None:
                return places
    near_hole = " beside the hole" if stock.hole else ""
    raise LabelTooSmall(
        f"{stock.name}: the code must be {min_side:g} mm wide to scan, with a blank margin around it and the "
        f"words beside it, and these labels are too small for that{near_hole}. Choose larger labels or set a shorter "
        "base address."
    )


def _printable_boxes(stock: Stock) -> list[Box]:
    """The boxes of a label that may be printed on: one, or four around a hole, the largest first."""
    insets, hole = stock.insets, stock.hole
    whole = Box(
        float(insets.left),
        float(insets.top),
        float(stock.cell.width - insets.left - insets.right),
        float(stock.cell.height - insets.top - insets.bottom),
    )
    if hole is None:
        return [whole]
    x, y, free = float(hole.across), float(hole.down), float(hole.clearance)
    left, above = min(whole.right, x - free), min(whole.bottom, y - free)
    right, under = max(whole.left, x + free), max(whole.top, y + free)
    parts = (
        Box(right, whole.top, whole.right - right, whole.height),
        Box(whole.left, under, whole.width, whole.bottom - under),
        Box(whole.left, whole.top, left - whole.left, whole.height),
        Box(whole.left, whole.top, whole.width, above - whole.top),
    )
    return sorted(parts, key=lambda part: -part.width * part.height)


def second_code_box(places: LabelLayout, *, with_text: bool, dot: float = 0.0) -> Box | None:
    """The box of a second code with its quiet zone, in the lower right corner of the text; None where it has no room.

    The main code never becomes smaller for it. A blank tag has no text beside the second code. With a printer's `dot`
    in mm, each module is a whole number of dots.
    """
    words = places.words
    whole = (SECOND_MODULES + 2 * QUIET_MODULES) / SECOND_MODULES
    beside = MIN_TEXT_BESIDE_SECOND if with_text else 0.0
    room = min(words.width - beside, words.height - MIN_ABOVE_SECOND) / whole
    side = min(room, MAX_SECOND_SIDE, SECOND_SHARE * places.symbol.width)
    side = floor_to_dots(side, SECOND_MODULES, dot)
    if side < SECOND_MODULES * MIN_MODULE:
        return None
    right = words.right + OVERHANG
    return Box(right - side * whole, words.bottom - side * whole, side * whole, side * whole)


def has_picture_room(stock: Stock) -> bool:
    """Whether labels of this stock show a photo.

    >>> from labels.stock import find_stock
    >>> has_picture_room(find_stock("roll-100x50")), has_picture_room(find_stock("roll-50x30"))
    (True, False)
    """
    return layout_label(stock, TYPICAL_MODULES, MIN_URL_SIDE, with_picture=True).picture is not None


def stock_errors(stock: Stock) -> tuple[str, ...]:
    """All that is wrong with a stock, each in one sentence: its grid, and room for the code of an address."""
    found = grid_errors(stock)
    if found:
        return found
    try:
        layout_label(stock, TYPICAL_MODULES, MIN_URL_SIDE, with_picture=False)
    except LabelTooSmall as error:
        return (str(error),)
    return ()


@lru_cache(maxsize=256)
def arrange(inner: Box, modules: int, min_side: float, with_picture: bool, dot: float = 0.0) -> LabelLayout | None:
    """The layout inside a label's printable box; None where code and text do not fit.

    The code is at the top left. A high label has the picture under it, a long one at its right end, a narrow high one
    under code and text, a small one none. With a printer's `dot` in mm, each module is a whole number of dots.
    """
    if dot:
        coarser = arrange(inner, modules, _ceil_to_dots(min_side, modules, dot), with_picture)
        return None if coarser is None else _snap_to_dots(coarser, modules, dot)
    whole = (modules + 2 * QUIET_MODULES) / modules
    if inner.height < min_side * whole or inner.width < min_side * whole + MIN_TEXT_WIDTH:
        return None
    if with_picture:
        for place in (_picture_under_code, _picture_at_right, _picture_at_bottom):
            places = place(inner, whole, min_side)
            if places is not None:
                return places
    room = min(inner.height, inner.width - PREFERRED_TEXT_WIDTH) / whole
    side = max(min_side, min(room, DEFAULT_CODE_SIDE, inner.height / whole))
    return _place_code(inner, side, whole, side * whole, inner.right, None)


def _picture_under_code(inner: Box, whole: float, min_side: float) -> LabelLayout | None:
    """Code above picture in a left column that both fill, text in the right column."""
    column = (inner.height - GUTTER) / (1 + 1 / PICTURE_ASPECT)
    column = min(column, inner.width - TEXT_GUTTER - TEXT_WIDTH_WITH_PICTURE, MAX_CODE_SIDE * whole)
    high = inner.height - GUTTER - column
    if column < min_side * whole or min(column, high) < MIN_PICTURE_SIDE:
        return None
    picture = Box(inner.left, inner.top + column + GUTTER, column, min(high, column))
    return _place_code(inner, column / whole, whole, column + TEXT_GUTTER, inner.right, picture)


def _picture_at_right(inner: Box, whole: float, min_side: float) -> LabelLayout | None:
    """Code, text, picture from left to right."""
    side = max(min_side, min(DEFAULT_CODE_SIDE, inner.height / whole))
    available = inner.width - side * whole - TEXT_WIDTH_WITH_PICTURE - GAP
    width = min(available, inner.height * PICTURE_ASPECT)
    if min(width, inner.height) < MIN_PICTURE_SIDE:
        return None
    height = min(inner.height, width)
    picture = Box(inner.right - width, inner.top + (inner.height - height) / 2, width, height)
    return _place_code(inner, side, whole, side * whole, picture.left - GAP, picture)


def _picture_at_bottom(inner: Box, whole: float, min_side: float) -> LabelLayout | None:
    """Code and text side by side, the picture under both."""
    side = max(min_side, min(DEFAULT_CODE_SIDE, (inner.width - MIN_TEXT_WIDTH) / whole))
    high = inner.height - side * whole - GUTTER
    if min(high, inner.width) < MIN_PICTURE_SIDE:
        return None
    width = min(inner.width, high * PICTURE_ASPECT)
    height = min(high, width)
    upper = Box(inner.left, inner.top, inner.width, inner.height - height - GUTTER)
    picture = Box(inner.left + (inner.width - width) / 2, inner.bottom - height, width, height)
    return _place_code(upper, side, whole, side * whole, upper.right, picture)


def floor_to_dots(side: float, modules: int, dot: float) -> float:
    """A symbol's side, reduced so that each module is a whole number of dots; unchanged where there are no dots.

    >>> round(floor_to_dots(16.0, 25, 25.4 / 203), 2)
    15.64
    """
    return math.floor(side / modules / dot + TOLERANCE) * modules * dot if dot else side


def _ceil_to_dots(side: float, modules: int, dot: float) -> float:
    return math.ceil(side / modules / dot - TOLERANCE) * modules * dot


def _snap_to_dots(places: LabelLayout, modules: int, dot: float) -> LabelLayout:
    """The same layout with the symbol's modules in whole dots, centered in its old box."""
    old = places.symbol
    side = floor_to_dots(old.width, modules, dot)
    aside = (old.width - side) / 2
    return replace(places, symbol=Box(old.left + aside, old.top + aside, side, side))


def _place_code(
    inner: Box, side: float, whole: float, text_left: float, text_right: float, picture: Box | None
) -> LabelLayout:
    """The code at the left, at the top above a picture and else centered in the height; text up to `text_right`."""
    under = picture is not None and picture.left == inner.left and picture.bottom <= inner.bottom
    top = inner.top if under else inner.top + (inner.height - side * whole) / 2
    margin = side * (whole - 1) / 2
    return LabelLayout(
        Box(inner.left + margin, top + margin, side, side),
        Box(inner.left, top, side * whole, side * whole),
        Box(inner.left + text_left, inner.top, text_right - OVERHANG - inner.left - text_left, inner.height),
        picture,
    )
