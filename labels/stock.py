"""Label stock: sheets of US Letter and A4, single labels from a roll, tie-on tags.

Measures are exact fractions of a millimeter, as the trade publishes them. A cell is one label on its page, counted
from 1, left to right and then down.

To add a stock: one more line in `STOCKS`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from labels.errors import LabelError
from labels.pdf.printer import IDENTITY, MM_PER_INCH, Correction, Tone, format_mm

CAUTION = "Take the label off before the piece is planed or goes in the oven, the stove or near food."
PRINT_AT_100 = "Print at 100 % (actual size), never “fit to page”: a label that is shrunk may not scan."

# common practice, no source: the edge of a sheet that an office printer cannot reach, 1/6 in
UNPRINTABLE_MARGIN = MM_PER_INCH / 6

# common practice, no source: sheets feed slightly askew, so nothing is printed nearer to a label's edge
EDGE_MARGIN = Fraction(3, 2)

# A point this share of the radius (1 - 1/√2, rounded up) inside both edges of a rounded corner is on the label.
CORNER_INSET_RATIO = Fraction(3, 10)

# common practice, no source: nothing is printed nearer to the rim of a hole, where the string wears the tag
HOLE_MARGIN = Fraction(3, 2)

# common practice, no source: most thermal label printers have 203 dots an inch; office printers print grays
ROLL_DPI = 203
SHEET_DPI = 300

# A piece has six sides: many more labels than that are a typing error.
MAX_COPIES = 20


class Paper(Enum):
    """The kind of paper."""

    LETTER = "US Letter"
    A4 = "A4"
    SHEET = "Other sheet"
    ROLL = "Roll"
    TAG = "Tie-on tag"


class StockError(LabelError):
    """A stock that does not exist, or a cell or a number of copies that is out of range."""


@dataclass(frozen=True)
class Size:
    """Width and height in exact millimeters."""

    width: Fraction
    height: Fraction


# ANSI/ASME Y14.1, size A: 8.5 × 11 in
LETTER = Size(Fraction(17, 2) * MM_PER_INCH, 11 * MM_PER_INCH)

# ISO 216, A4: 210 × 297 mm
A4 = Size(Fraction(210), Fraction(297))

PAPER_SIZES = {Paper.LETTER: LETTER, Paper.A4: A4}


@dataclass(frozen=True)
class Insets:
    """The unprinted margin at each edge of a label, in exact millimeters."""

    left: Fraction
    top: Fraction
    right: Fraction
    bottom: Fraction


@dataclass(frozen=True)
class Hole:
    """The hole of a tie-on tag, in exact mm: its center from the tag's top left, and its diameter."""

    across: Fraction
    down: Fraction
    diameter: Fraction

    @property
    def clearance(self) -> Fraction:
        """The distance from its center within which nothing is printed."""
        return self.diameter / 2 + HOLE_MARGIN


@dataclass(frozen=True)
class Stock:
    """A page of equal labels: `left` and `top` are the first label's place, the gaps are between neighbors.

    `rounding` is the radius of a label's corners. `tone`, `dpi` and `correction` describe the printer.
    """

    key: str
    name: str
    paper: Paper
    page: Size
    columns: int
    rows: int
    cell: Size
    left: Fraction = Fraction(0)
    top: Fraction = Fraction(0)
    column_gap: Fraction = Fraction(0)
    row_gap: Fraction = Fraction(0)
    rounding: Fraction = Fraction(0)
    hole: Hole | None = None
    tone: Tone = Tone.GREY
    dpi: int = SHEET_DPI
    correction: Correction = IDENTITY

    @property
    def cells(self) -> int:
        """Labels on one page."""
        return self.columns * self.rows

    @property
    def is_roll(self) -> bool:
        """Whether each page is one label."""
        return self.paper in (Paper.ROLL, Paper.TAG)

    @property
    def dot(self) -> Fraction:
        """The size of the printer's dot in mm where photos are dithered; 0 where grays are printed."""
        return MM_PER_INCH / self.dpi if self.tone is Tone.BLACK else Fraction(0)

    @property
    def right(self) -> Fraction:
        """The margin right of the last column; negative if the grid is too wide."""
        grid = self.columns * self.cell.width + (self.columns - 1) * self.column_gap
        return self.page.width - self.left - grid

    @property
    def bottom(self) -> Fraction:
        """The margin below the last row; negative if the grid is too high."""
        grid = self.rows * self.cell.height + (self.rows - 1) * self.row_gap
        return self.page.height - self.top - grid

    def corner(self, cell: int) -> tuple[Fraction, Fraction]:
        """Left and top of a cell, in exact millimeters from the page's top left.

        >>> find_stock("letter-3x10").corner(2)
        (Fraction(5969, 80), Fraction(127, 10))
        """
        row, column = divmod(cell - 1, self.columns)
        return (
            self.left + column * (self.cell.width + self.column_gap),
            self.top + row * (self.cell.height + self.row_gap),
        )

    @property
    def insets(self) -> Insets:
        """The margins that keep printing off each label's edge, and on a sheet off the page's edge too.

        They are the same for every cell, so that all labels of a sheet look alike.
        """
        reach = Fraction(0) if self.is_roll else UNPRINTABLE_MARGIN
        edge = max(EDGE_MARGIN, CORNER_INSET_RATIO * self.rounding)
        return Insets(
            max(edge, reach - self.left),
            max(edge, reach - self.top),
            max(edge, reach - self.right),
            max(edge, reach - self.bottom),
        )


def grid_errors(stock: Stock) -> tuple[str, ...]:
    """What is wrong with a stock's grid, one message each.

    Whether the code fits on its labels is checked by `labels.geometry.stock_errors`.
    """
    if stock.columns < 1 or stock.rows < 1:
        return (f"{stock.name}: {stock.columns} × {stock.rows} labels are none. Give 1 or more each way.",)
    if stock.cell.width <= 0 or stock.cell.height <= 0:
        return (f"{stock.name}: a label has no size. Give a width and a height above 0.",)
    messages = []
    if stock.left < 0 or stock.top < 0:
        messages.append(f"{stock.name}: the first label begins off the page. Give margins of 0 or more.")
    if stock.column_gap < 0 and stock.columns > 1:
        messages.append(_overlap(stock, "side by side", "wide", stock.cell.width, -stock.column_gap))
    if stock.row_gap < 0 and stock.rows > 1:
        messages.append(_overlap(stock, "one under the other", "high", stock.cell.height, -stock.row_gap))
    if stock.right < 0 and stock.column_gap >= 0:
        messages.append(_off_page(stock, "wider", "width", -stock.right))
    if stock.bottom < 0 and stock.row_gap >= 0:
        messages.append(_off_page(stock, "higher", "height", -stock.bottom))
    if 2 * stock.rounding > min(stock.cell.width, stock.cell.height):
        messages.append(f"{stock.name}: the corners are rounder than the label is large. Give a smaller radius, or 0.")
    return (*messages, *_hole_errors(stock))


def _overlap(stock: Stock, how: str, way: str, size: Fraction, by: Fraction) -> str:
    return (
        f"{stock.name}: labels {how} overlap by {_mm_and_inches(by)}. From one label to the next it is "
        f"{_mm_and_inches(size - by)}, and "
        f"they are {_mm_and_inches(size)} {way}: make that step at least as large."
    )


def _off_page(stock: Stock, more: str, side: str, by: Fraction) -> str:
    return (
        f"{stock.name}: the labels are {_mm_and_inches(by)} {more} than the page. Measure the {side} of the "
        "page, the margin "
        "and the step from label to label once more, or give fewer labels."
    )


def _hole_errors(stock: Stock) -> tuple[str, ...]:
    hole, cell = stock.hole, stock.cell
    if hole is None:
        return ()
    if hole.diameter <= 0:
        return (f"{stock.name}: the hole has no size. Give its diameter, or no hole.",)
    radius = hole.diameter / 2
    if (
        hole.across < radius
        or hole.across > cell.width - radius
        or hole.down < radius
        or hole.down > cell.height - radius
    ):
        return (
            f"{stock.name}: the hole is not wholly on the label. Measure to its middle from the label's left and top.",
        )
    return ()


def _mm_and_inches(millimeters: Fraction) -> str:
    """A measure in millimeters and in inches.

    >>> _mm_and_inches(Fraction(254, 10))
    '25.4 mm (1 in)'
    """
    return f"{format_mm(millimeters)} ({f'{float(millimeters / MM_PER_INCH):.4f}'.rstrip('0').rstrip('.')} in)"


def inches(text: str) -> Fraction:
    """A published inch measure in exact millimeters.

    >>> inches("2 5/8")
    Fraction(2667, 40)
    """
    return sum((Fraction(part) for part in text.split()), Fraction(0)) * MM_PER_INCH


def _inch_sheet(columns: int, rows: int, width: str, height: str, gap: str) -> Stock:
    name = f"US Letter, {columns} × {rows}, {width} × {height} in"
    cell = Size(inches(width), inches(height))
    return _centered_sheet(f"letter-{columns}x{rows}", name, Paper.LETTER, columns, rows, cell, inches(gap))


def _mm_sheet(columns: int, rows: int, width: str, height: str, gap: str) -> Stock:
    name = f"A4, {columns} × {rows}, {width} × {height} mm"
    cell = Size(Fraction(width), Fraction(height))
    return _centered_sheet(f"a4-{columns}x{rows}", name, Paper.A4, columns, rows, cell, Fraction(gap))


def _centered_sheet(key: str, name: str, paper: Paper, columns: int, rows: int, cell: Size, gap: Fraction) -> Stock:
    """A sheet with its grid centered and a gap between columns only."""
    page = PAPER_SIZES[paper]
    left = (page.width - columns * cell.width - (columns - 1) * gap) / 2
    top = (page.height - rows * cell.height) / 2
    return Stock(key, name, paper, page, columns, rows, cell, left, top, gap)


def _inch_roll(width: str, height: str) -> Stock:
    key = f"roll-{width}x{height}in".replace(" 1/4", ".25")
    size = Size(inches(width), inches(height))
    name = f"Roll, {width} × {height} in"
    return Stock(key, name, Paper.ROLL, size, 1, 1, size, tone=Tone.BLACK, dpi=ROLL_DPI)


def _mm_roll(width: str, height: str) -> Stock:
    size = Size(Fraction(width), Fraction(height))
    key, name = f"roll-{width}x{height}", f"Roll, {width} × {height} mm"
    return Stock(key, name, Paper.ROLL, size, 1, 1, size, tone=Tone.BLACK, dpi=ROLL_DPI)


def _tag(key: str, width: str, height: str, hole_from_left: str, hole: str) -> Stock:
    """A tie-on tag with its hole in the middle of the left end."""
    size = Size(inches(width), inches(height))
    punched = Hole(inches(hole_from_left), size.height / 2, inches(hole))
    name = f"Tie-on tag, {width} × {height} in"
    return Stock(key, name, Paper.TAG, size, 1, 1, size, hole=punched, tone=Tone.BLACK, dpi=ROLL_DPI)


# Common grids and roll widths: label sizes and gaps from memory. Margins follow, as the grid is centered on its sheet.
# The test sheet shows whether the labels at hand are cut that way.
STOCKS: tuple[Stock, ...] = (
    _inch_sheet(3, 10, "2 5/8", "1", "1/8"),
    _inch_sheet(2, 10, "4", "1", "3/16"),
    _inch_sheet(2, 7, "4", "1 1/3", "3/16"),
    _inch_sheet(2, 5, "4", "2", "3/16"),
    _inch_sheet(2, 3, "4", "3 1/3", "3/16"),
    _mm_sheet(3, 8, "70", "37", "0"),
    _mm_sheet(3, 7, "63.5", "38.1", "2.5"),
    _mm_sheet(2, 7, "99.1", "38.1", "2.5"),
    _mm_sheet(2, 5, "105", "57", "0"),
    _mm_sheet(2, 4, "99.1", "67.7", "2.5"),
    _mm_sheet(4, 10, "52.5", "29.7", "0"),
    _mm_roll("62", "29"),
    _mm_roll("57", "32"),
    _mm_roll("50", "30"),
    _mm_roll("100", "50"),
    _inch_roll("2", "1"),
    _inch_roll("2 1/4", "1 1/4"),
    _tag("tag-3.25x1.625in", "3 1/4", "1 5/8", "3/8", "3/8"),
    _tag("tag-4.75x2.375in", "4 3/4", "2 3/8", "1/2", "1/2"),
)

DEFAULT_STOCK = "letter-3x10"


def find_stock(key: str) -> Stock:
    """The stock with this key. Raises StockError.

    >>> find_stock("a4-3x8").name
    'A4, 3 × 8, 70 × 37 mm'
    """
    for stock in STOCKS:
        if stock.key == key:
            return stock
    known = ", ".join(stock.key for stock in STOCKS)
    raise StockError(f'"{key[:40]}" is no label stock that is known here. Choose one of: {known}.')


def pages_needed(count: int, stock: Stock, *, start_cell: int = 1, copies: int = 1, ruler: bool = False) -> int:
    """The number of pages for `count` labels, each in so many copies.

    >>> pages_needed(30, find_stock("letter-3x10"), start_cell=2)
    2
    """
    first = checked_start(stock, start_cell)
    used = first - 1 + count * checked_copies(copies) + (1 if ruler else 0)
    return -(-used // stock.cells) if count else 0


def checked_start(stock: Stock, start_cell: int) -> int:
    """The start cell, if the stock has it. Raises StockError."""
    if 1 <= start_cell <= stock.cells:
        return start_cell
    if stock.is_roll:
        raise StockError(f"Label {start_cell} is not there to start at: a roll has one label a page. Start at 1.")
    raise StockError(
        f"Label {start_cell} is not there to start at: {stock.name} has labels 1 to {stock.cells}. "
        "Start at one of those, counted from the left and then down."
    )


def checked_copies(copies: int) -> int:
    """The number of copies of each label, if it is in range. Raises StockError."""
    if 1 <= copies <= MAX_COPIES:
        return copies
    raise StockError(f"{copies} copies of a label can't be printed. Type a number from 1 to {MAX_COPIES}.")
