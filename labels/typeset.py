"""How the words of a label are set: sizes of type, rows, what gives way.

Knows which line matters more. Knows nothing of the code's picture or the page.
Places are millimetres from the top left of the space for words, type is points.

The rule for words that do not fit: a line is set smaller, down to its least
readable size; then it breaks into two rows where the label has the height
(sizes first, then location, then species); then it is cut short with …. So the
condition gives way first and the location last. The code never gives way.
Nothing is ever set outside its space.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum

from labels.errors import CannotPrint
from labels.lettering import CAPITALS, DESCENDERS, MM_PER_POINT, Face, printable, reading_order, text_width

ELLIPSIS = "…"


class WordsDoNotFit(CannotPrint):
    """A space too small for the code in clear, however small the rest."""


class Line(Enum):
    """What a line of a label tells, from the top down."""

    CODE = "code"
    SPECIES = "species"
    SIZES = "sizes"
    CONDITION = "condition"
    LOCATION = "location"


@dataclass(frozen=True)
class Manner:
    """How a line is set: face, size beside the others, least readable size and largest useful size in points."""

    face: Face
    share: float
    least: float
    most: float


# common practice, no source: 6 pt is the least that is read in the hand; sizes are larger for their small figures
MANNERS = {
    Line.CODE: Manner(Face.BOLD, 2.1, 10.0, 30.0),
    Line.SPECIES: Manner(Face.BOLD, 1.25, 7.0, 18.0),
    Line.SIZES: Manner(Face.REGULAR, 1.5, 7.5, 20.0),
    Line.CONDITION: Manner(Face.REGULAR, 1.0, 6.0, 12.0),
    Line.LOCATION: Manner(Face.BOLD, 1.1, 6.5, 14.0),
}

# Who may take a second row, in this order.
BREAKS = (Line.SIZES, Line.LOCATION, Line.SPECIES)

# A line that would shrink below this share of its wanted size rather breaks.
BREAK_BELOW = 0.75

# No line comes nearer to the code's size than this.
UNDER_CODE = 0.85

# Rows stand this far apart, in type sizes; the code has the pencil stroke beneath it.
LEADING = 1.2
CODE_LEADING = CAPITALS + 0.42
GROUP_GAP = 0.35
MOST_AFTER_CODE = 0.4

# A text that was made to fill a width exactly is not too wide for it: mm, far below a printer's dot.
ROUNDING = 1e-6


@dataclass(frozen=True)
class Row:
    """One row as set: left end and baseline in mm from the space's top left."""

    line: Line
    text: str
    face: Face
    size: float
    baseline: float
    width: float


def set_words(words: Sequence[tuple[Line, str]], width: float, height: float) -> tuple[Row, ...]:
    """The rows for a space of this width and height in mm; empty lines are left out.

    Raises WordsDoNotFit if even the code has no room.
    """
    shown = [(line, printable(text)) for line, text in words]
    rows = [(line, text) for line, text in shown if text]
    for breaking in BREAKS:
        rows = _broken(rows, breaking, width, height)
    sizes = _sizes(rows, width, height)
    if _height(rows, sizes) > height + ROUNDING:
        raise WordsDoNotFit(
            f"A space of {width:.1f} × {height:.1f} mm is too low for a label's words. Use larger labels."
        )
    return _placed(rows, sizes, width, height)


def code_width(code_shown: str) -> float:
    """The width in mm that a code needs at its least size."""
    manner = MANNERS[Line.CODE]
    return text_width(code_shown, manner.face, manner.least)


def shortened(text: str, face: Face, size: float, width: float) -> str:
    """A text cut with … so that it is at most `width` mm wide."""
    width += ROUNDING
    if text_width(text, face, size) <= width:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if text_width(text[:middle].rstrip() + ELLIPSIS, face, size) <= width:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + ELLIPSIS


def _broken(rows: list[tuple[Line, str]], breaking: Line, width: float, height: float) -> list[tuple[Line, str]]:
    """The rows with one line in two, where it would else be cut or be much smaller than the height allows."""
    at = next((number for number, (line, _) in enumerate(rows) if line is breaking), None)
    if at is None:
        return rows
    manner, text = MANNERS[breaking], rows[at][1]
    alone = _sizes(rows, width, height)[at]
    cut = text_width(text, manner.face, alone) > width + ROUNDING
    wanted = min(manner.most, manner.share * _usual_unit(height))
    halves = _halves(text, breaking, manner.face)
    if halves is None or not (cut or alone < BREAK_BELOW * wanted):
        return rows
    tried = [*rows[:at], *((breaking, half) for half in halves), *rows[at + 1 :]]
    sizes = _sizes(tried, width, height)
    better = cut or sizes[at] > alone
    return tried if better and _height(tried, sizes) <= height + ROUNDING else rows


def _halves(text: str, line: Line, face: Face) -> tuple[str, str] | None:
    """The two rows of a text broken where the wider of them is least wide; sizes break before a ×."""
    mark = " × " if line is Line.SIZES else " "
    places = [place for place in range(len(text)) if text.startswith(mark, place)]
    if not places:
        return None
    halves = [(text[:place], text[place + 1 :]) for place in places]
    return min(halves, key=lambda pair: max(text_width(half, face, 10) for half in pair))


def _usual_unit(height: float) -> float:
    """The size in points of a line with share 1 where each line has one row and they fill the height."""
    units = sum(manner.share * _leading(line) for line, manner in MANNERS.items())
    return height / MM_PER_POINT / (units + 2 * GROUP_GAP)


def _leading(line: Line) -> float:
    return CODE_LEADING if line is Line.CODE else LEADING


def _sizes(rows: list[tuple[Line, str]], width: float, height: float) -> list[float]:
    """Each row's size in points, never under its least; the rows of a broken line are of one size.

    The code is as large as on a label without broken lines, so that a sheet looks even. The other lines are as large
    as the height allows in their shares, smaller where their width asks for it, and always smaller than the code.
    """
    code = _within(MANNERS[Line.CODE], _texts(rows, Line.CODE), width, _usual_unit(height))
    unit = _largest_unit(lambda unit: _sizes_at(rows, width, unit, code), rows, height)
    sizes = _sizes_at(rows, width, unit, code)
    if _height(rows, sizes) <= height + ROUNDING:
        return sizes
    unit = _largest_unit(lambda unit: _sizes_at(rows, width, unit, None), rows, height)
    return _sizes_at(rows, width, unit, None)


def _largest_unit(sizes_at: Callable[[float], list[float]], rows: list[tuple[Line, str]], height: float) -> float:
    """The largest unit in points whose rows and gaps fill no more than the height, found by halving."""
    low, high = 0.0, 2 * _usual_unit(height)
    for _ in range(12):
        unit = (low + high) / 2
        if _height(rows, sizes_at(unit)) + 2 * GROUP_GAP * unit * MM_PER_POINT <= height:
            low = unit
        else:
            high = unit
    return low


def _sizes_at(rows: list[tuple[Line, str]], width: float, unit: float, code: float | None) -> list[float]:
    """Each row's size in points for a unit; `code` is the code's own size where that is settled."""
    lines = {line: _within(MANNERS[line], _texts(rows, line), width, unit) for line, _ in rows}
    if code is not None and Line.CODE in lines:
        lines[Line.CODE] = code
    most = UNDER_CODE * lines.get(Line.CODE, MANNERS[Line.CODE].most)
    return [size if line is Line.CODE else min(size, most) for line, size in ((line, lines[line]) for line, _ in rows)]


def _within(manner: Manner, texts: list[str], width: float, unit: float) -> float:
    """A line's size in points: its share of the unit, less where its widest row asks for it, not under its least."""
    widest = max((text_width(text, manner.face, 1.0) for text in texts), default=0.0)
    fits = width / widest if widest else manner.most
    return max(manner.least, min(manner.most, manner.share * unit, fits))


def _texts(rows: list[tuple[Line, str]], wanted: Line) -> list[str]:
    return [text for line, text in rows if line is wanted]


def _height(rows: list[tuple[Line, str]], sizes: list[float]) -> float:
    """The height in mm that the rows take at these sizes, the gaps between groups left out."""
    points = sum(size * _leading(line) for (line, _), size in zip(rows, sizes, strict=True))
    return points * MM_PER_POINT


def _placed(rows: list[tuple[Line, str]], sizes: list[float], width: float, height: float) -> tuple[Row, ...]:
    """The rows from the top down; spare height opens a gap after the code and a larger one before the condition."""
    spare = max(0.0, height - _height(rows, sizes))
    after_code = min(spare / 2, MOST_AFTER_CODE * sizes[0] * MM_PER_POINT)
    top = 0.0
    placed = []
    above: Line | None = None
    for (line, text), size in zip(rows, sizes, strict=True):
        manner = MANNERS[line]
        if above is Line.CODE:
            top += after_code
        elif line in (Line.CONDITION, Line.LOCATION) and above in (Line.SPECIES, Line.SIZES):
            top += spare - after_code
        tall = size * MM_PER_POINT
        if line is Line.CODE:
            baseline = top + CAPITALS * tall
            top += CODE_LEADING * tall
        else:
            baseline = top + (LEADING - DESCENDERS) * tall
            top += LEADING * tall
        cut = text if line is Line.CODE else shortened(text, manner.face, size, width)
        set_text = reading_order(cut)
        placed.append(Row(line, set_text, manner.face, size, baseline, text_width(set_text, manner.face, size)))
        above = line
    return tuple(placed)
