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

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from labels.errors import CannotPrint
from labels.typesetting.fonts import CAPITALS, DESCENDERS, MM_PER_POINT, Face, printable, reading_order, text_width

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
    Line.CODE: Manner(Face.BOLD, 2.1, 8.5, 30.0),
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


@dataclass(frozen=True)
class _Draft:
    """A line before its size is known: `widest` is its widest row in mm at 1 pt, `weight` its height in type sizes."""

    line: Line
    manner: Manner
    texts: tuple[str, ...]
    widest: float
    weight: float


@dataclass(frozen=True)
class Space:
    """A space for words in mm. `looks` is the height of the whole label's words, which their sizes go by.

    `under` is the size in points that no line but the code may pass.
    """

    width: float
    height: float
    looks: float
    under: float


def set_words(words: Sequence[tuple[Line, str]], width: float, height: float) -> tuple[Row, ...]:
    """The rows for a space of this width and height in mm, the code first; empty lines are left out.

    Raises WordsDoNotFit if the code or the least sizes have no room.
    """
    return set_in(shown_words(words), Space(width, height, height, UNDER_CODE * MANNERS[Line.CODE].most))


def shown_words(words: Sequence[tuple[Line, str]]) -> list[tuple[Line, str]]:
    """The lines as they can be printed, without the empty ones."""
    shown = [(line, printable(text)) for line, text in words]
    return [(line, text) for line, text in shown if text]


def set_in(shown: Sequence[tuple[Line, str]], space: Space) -> tuple[Row, ...]:
    """The rows for a space that may be part of a label's. Raises WordsDoNotFit."""
    drafts = [_draft(line, text) for line, text in shown]
    if not drafts:
        return ()
    sizes = _sizes(drafts, space)
    for breaking in BREAKS:
        drafts, sizes = _broken(drafts, sizes, breaking, space)
    width, height = space.width, space.height
    code_too_wide = any(
        draft.line is Line.CODE and draft.widest * size > width + ROUNDING
        for draft, size in zip(drafts, sizes, strict=True)
    )
    if code_too_wide or _height(drafts, sizes) > height + ROUNDING:
        raise WordsDoNotFit(
            f"A space of {width:.1f} × {height:.1f} mm is too small for a label's words. Choose larger labels."
        )
    return _placed(drafts, sizes, width, height)


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


def _draft(line: Line, *texts: str) -> _Draft:
    manner = MANNERS[line]
    widest = max(text_width(text, manner.face, 1.0) for text in texts)
    return _Draft(line, manner, texts, widest, len(texts) * _leading(line))


def _broken(drafts: list[_Draft], sizes: list[float], breaking: Line, space: Space) -> tuple[list[_Draft], list[float]]:
    """The lines with one of them in two rows, where it would else be cut or be much smaller than its height allows.

    Sizes belong to the lines, those that are given and those of the answer.
    """
    at = next((number for number, draft in enumerate(drafts) if draft.line is breaking), None)
    if at is None:
        return drafts, sizes
    draft, alone = drafts[at], sizes[at]
    cut = draft.widest * alone > space.width + ROUNDING
    wanted = min(draft.manner.most, draft.manner.share * _usual_unit(space.looks))
    if not (cut or alone < BREAK_BELOW * wanted):
        return drafts, sizes
    halves = _halved(draft)
    if halves is None:
        return drafts, sizes
    tried = [*drafts[:at], halves, *drafts[at + 1 :]]
    tried_sizes = _sizes(tried, space)
    better = cut or tried_sizes[at] > alone
    fits = _height(tried, tried_sizes) <= space.height + ROUNDING
    return (tried, tried_sizes) if better and fits else (drafts, sizes)


def _halved(draft: _Draft) -> _Draft | None:
    """The line in two rows, broken where the wider of them is least wide; sizes break before a ×."""
    text = draft.texts[0]
    halves = (_draft(draft.line, text[:place], text[place + 1 :]) for place in _places_to_break(draft.line, text))
    return min(halves, key=lambda half: half.widest, default=None)


def _places_to_break(line: Line, text: str) -> list[int]:
    mark = " × " if line is Line.SIZES else " "
    return [place for place in range(len(text)) if text.startswith(mark, place)]


def _rows_of(draft: _Draft, size: float, width: float) -> tuple[str, ...]:
    """The texts of a line's rows; where two are too wide the first is filled with whole words, so that one is cut."""
    if len(draft.texts) == 1 or draft.widest * size <= width + ROUNDING:
        return draft.texts
    text, face = " ".join(draft.texts), draft.manner.face
    places = _places_to_break(draft.line, text)
    fitting = [place for place in places if text_width(text[:place], face, size) <= width + ROUNDING]
    return (text[: fitting[-1]], text[fitting[-1] + 1 :]) if fitting else draft.texts


def _usual_unit(height: float) -> float:
    """The size in points of a line with share 1 where each line has one row and they fill the height."""
    return height / MM_PER_POINT / _USUAL_UNITS


def _leading(line: Line) -> float:
    return CODE_LEADING if line is Line.CODE else LEADING


_USUAL_UNITS = sum(manner.share * _leading(line) for line, manner in MANNERS.items()) + 2 * GROUP_GAP


def _sizes(drafts: list[_Draft], space: Space) -> list[float]:
    """Each line's size in points, never under its least.

    The code is as large as on a label without broken lines, so that a sheet looks even. The other lines are as large
    as the height allows in their shares, smaller where their width asks for it, and always smaller than the code.
    Where that is too high, the code gives in as well.
    """
    most = [min(draft.manner.most, space.width / draft.widest) for draft in drafts]
    usual = _usual_unit(space.looks)
    codes = [
        max(draft.manner.least, min(largest, draft.manner.share * usual))
        for draft, largest in zip(drafts, most, strict=True)
        if draft.line is Line.CODE
    ]
    under_code = min(space.under, UNDER_CODE * min(codes, default=MANNERS[Line.CODE].most))
    limits: list[tuple[float, float]] = []
    for draft, largest in zip(drafts, most, strict=True):
        if draft.line is Line.CODE:
            limits.append((codes[0], codes[0]))
        else:
            limits.append((draft.manner.least, min(largest, under_code)))
    sizes = _filling(drafts, limits, space)
    if _height(drafts, sizes) <= space.height + ROUNDING:
        return sizes
    giving_in = [
        (draft.manner.least, high) if draft.line is Line.CODE else (low, high)
        for draft, (low, high) in zip(drafts, limits, strict=True)
    ]
    return _filling(drafts, giving_in, space)


def _filling(drafts: list[_Draft], limits: list[tuple[float, float]], space: Space) -> list[float]:
    """Sizes in the lines' shares, each within its limits, that fill the height.

    The height grows with the common unit in straight pieces, which change where a line leaves its least or meets its
    most: the piece that reaches the space's height tells the unit.
    """
    shares = [draft.manner.share for draft in drafts]
    gaps = GROUP_GAP * (len({_group(draft.line) for draft in drafts}) - 1)
    room = space.height / MM_PER_POINT
    top = 2 * _usual_unit(space.looks)

    height = sum(draft.weight * low for draft, (low, _) in zip(drafts, limits, strict=True))
    bends: list[tuple[float, float]] = []
    for draft, share, (low, high) in zip(drafts, shares, limits, strict=True):
        if high > low:
            bends += [(low / share, draft.weight * share), (high / share, -draft.weight * share)]
    unit, slope = 0.0, gaps
    for bend, change in (*sorted(bends), (top, 0.0)):
        bend = min(bend, top)
        if height + slope * (bend - unit) > room:
            unit += max(0.0, room - height) / slope if slope else 0.0
            break
        height, unit, slope = height + slope * (bend - unit), bend, slope + change
    return [max(low, min(high, share * unit)) for share, (low, high) in zip(shares, limits, strict=True)]


def _group(line: Line) -> str:
    """Lines of one group stand close together: the code, what the piece is, how and where it is."""
    match line:
        case Line.CODE:
            return "code"
        case Line.SPECIES | Line.SIZES:
            return "what"
        case Line.CONDITION | Line.LOCATION:
            return "where"


def _height(drafts: list[_Draft], sizes: list[float]) -> float:
    """The height in mm that the lines take at these sizes, the gaps between groups left out."""
    return MM_PER_POINT * sum(size * draft.weight for draft, size in zip(drafts, sizes, strict=True))


def _placed(drafts: list[_Draft], sizes: list[float], width: float, height: float) -> tuple[Row, ...]:
    """The rows from the top down; spare height opens a gap after the code and a larger one before the condition."""
    spare = max(0.0, height - _height(drafts, sizes))
    after_code = min(spare / 2, MOST_AFTER_CODE * sizes[0] * MM_PER_POINT)
    top = 0.0
    placed = []
    above: Line | None = None
    for draft, size in zip(drafts, sizes, strict=True):
        line, face, tall = draft.line, draft.manner.face, size * MM_PER_POINT
        if above is Line.CODE:
            top += after_code
        elif above is not None and _group(line) != _group(above):
            top += spare - after_code
        above = line
        for text in _rows_of(draft, size, width):
            baseline = top + (CAPITALS if line is Line.CODE else LEADING - DESCENDERS) * tall
            top += _leading(line) * tall
            cut = reading_order(shortened(text, face, size, width))
            placed.append(Row(line, cut, face, size, baseline, text_width(cut, face, size)))
    return tuple(placed)
