"""Sets the text of a label: type sizes, line breaks, truncation.

Places are millimeters from the top left of the space for text, type sizes are points.

A line that does not fit is set smaller, down to its least readable size. Then it breaks into two rows where the label
has the height (sizes first, then location, then species). Then it is truncated with …. The code is never truncated.
Nothing is set outside its space.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from labels.errors import LabelError
from labels.typesetting.fonts import CAP_HEIGHT, DESCENT, MM_PER_POINT, FontFace, printable, text_width, visual_order

ELLIPSIS = "…"


class TextDoesNotFit(LabelError):
    """A space that is too small for the code, or for all lines at their least sizes."""


class LineKind(Enum):
    """The lines of a label, from the top down."""

    CODE = "code"
    SPECIES = "species"
    SIZES = "sizes"
    CONDITION = "condition"
    LOCATION = "location"


@dataclass(frozen=True)
class LineStyle:
    """How a line is set: font, size relative to the others, least readable and largest useful size in points."""

    face: FontFace
    share: float
    min_size: float
    max_size: float


# common practice, no source: 6 pt is the least that is readable in the hand; sizes are larger for their small figures
LINE_STYLES = {
    LineKind.CODE: LineStyle(FontFace.BOLD, 2.1, 8.5, 30.0),
    LineKind.SPECIES: LineStyle(FontFace.BOLD, 1.25, 7.0, 18.0),
    LineKind.SIZES: LineStyle(FontFace.REGULAR, 1.5, 7.5, 20.0),
    LineKind.CONDITION: LineStyle(FontFace.REGULAR, 1.0, 6.0, 12.0),
    LineKind.LOCATION: LineStyle(FontFace.BOLD, 1.1, 6.5, 14.0),
}

# Lines that may break into two rows, in this order.
BREAK_ORDER = (LineKind.SIZES, LineKind.LOCATION, LineKind.SPECIES)

# A line that would shrink below this share of its default size is broken instead.
BREAK_THRESHOLD = 0.75

# The largest size of any other line, as a share of the code's size.
MAX_RATIO_TO_CODE = 0.85

# Row heights and gaps in type sizes; the code has a pencil stroke below it.
LEADING = 1.2
CODE_LEADING = CAP_HEIGHT + 0.42
GROUP_GAP = 0.35
MAX_GAP_AFTER_CODE = 0.4

# The common unit of the sizes is found to so many points.
UNIT_STEP = 0.1

# Rounding error of a text that fills a width exactly, in mm: far below a printer's dot.
TOLERANCE = 1e-6


@dataclass(frozen=True)
class TextRow:
    """One row as set: its baseline in mm from the top of the space, its size in points, its width in mm."""

    line: LineKind
    text: str
    face: FontFace
    size: float
    baseline: float
    width: float


@dataclass(frozen=True)
class _LineDraft:
    """A line without its size: `widest` is its widest row in mm at 1 pt, `weight` its height in type sizes."""

    line: LineKind
    style: LineStyle
    texts: tuple[str, ...]
    widest: float
    weight: float


@dataclass(frozen=True)
class TextSpace:
    """A space for text in mm. Default sizes are proportional to `label_height`, the height of all text of the label.

    `size_limit` is the largest size in points of any line but the code.
    """

    width: float
    height: float
    label_height: float
    size_limit: float


def set_text(words: Sequence[tuple[LineKind, str]], width: float, height: float) -> tuple[TextRow, ...]:
    """The rows for a space of this width and height in mm; the code is the first line, empty lines are left out.

    Raises TextDoesNotFit.
    """
    return set_text_in(
        printable_lines(words),
        TextSpace(width, height, height, MAX_RATIO_TO_CODE * LINE_STYLES[LineKind.CODE].max_size),
    )


def printable_lines(words: Sequence[tuple[LineKind, str]]) -> list[tuple[LineKind, str]]:
    """The lines as they can be printed, without the empty ones."""
    shown = [(line, printable(text)) for line, text in words]
    return [(line, text) for line, text in shown if text]


def set_text_in(shown: Sequence[tuple[LineKind, str]], space: TextSpace) -> tuple[TextRow, ...]:
    """The rows for a space that may be a part of the label's. Raises TextDoesNotFit."""
    drafts = [_draft(line, text) for line, text in shown]
    if not drafts:
        return ()
    sizes = _sizes(drafts, space)
    for breaking in BREAK_ORDER:
        drafts, sizes = _break_line(drafts, sizes, breaking, space)
    width, height = space.width, space.height
    code_too_wide = drafts[0].line is LineKind.CODE and drafts[0].widest * sizes[0] > width + TOLERANCE
    if code_too_wide or _height(drafts, sizes) > height + TOLERANCE:
        raise TextDoesNotFit(
            f"A space of {width:.1f} × {height:.1f} mm is too small for a label's words. Choose larger labels."
        )
    return _place_rows(drafts, sizes, width, height)


def truncate(text: str, face: FontFace, size: float, width: float) -> str:
    """A text truncated with … to at most `width` mm."""
    width += TOLERANCE
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


def wrap_text(sentence: str, face: FontFace, size: float, width: float) -> list[str]:
    """A sentence in rows no wider than `width` mm."""
    rows = [""]
    for word in sentence.split():
        longer = f"{rows[-1]} {word}".strip()
        if text_width(longer, face, size) <= width or not rows[-1]:
            rows[-1] = longer
        else:
            rows.append(word)
    return rows


def _draft(line: LineKind, *texts: str) -> _LineDraft:
    style = LINE_STYLES[line]
    widest = max(text_width(text, style.face, 1.0) for text in texts)
    return _LineDraft(line, style, texts, widest, len(texts) * _leading(line))


def _break_line(
    drafts: list[_LineDraft], sizes: list[float], breaking: LineKind, space: TextSpace
) -> tuple[list[_LineDraft], list[float]]:
    """The lines and their sizes, with one line broken into two rows if it would be truncated or too small in one."""
    at = next((number for number, draft in enumerate(drafts) if draft.line is breaking), None)
    if at is None:
        return drafts, sizes
    draft, current_size = drafts[at], sizes[at]
    cut = draft.widest * current_size > space.width + TOLERANCE
    wanted = min(draft.style.max_size, draft.style.share * _default_unit(space.label_height))
    if not (cut or current_size < BREAK_THRESHOLD * wanted):
        return drafts, sizes
    halves = _split_line(draft)
    if halves is None:
        return drafts, sizes
    tried = [*drafts[:at], halves, *drafts[at + 1 :]]
    tried_sizes = _sizes(tried, space)
    better = cut or tried_sizes[at] > current_size
    fits = _height(tried, tried_sizes) <= space.height + TOLERANCE
    return (tried, tried_sizes) if better and fits else (drafts, sizes)


def _split_line(draft: _LineDraft) -> _LineDraft | None:
    """The line in two rows, broken so that the wider one is narrowest; sizes break before a ×."""
    text = draft.texts[0]
    halves = (_draft(draft.line, text[:place], text[place + 1 :]) for place in _break_points(draft.line, text))
    return min(halves, key=lambda half: half.widest, default=None)


def _break_points(line: LineKind, text: str) -> list[int]:
    mark = " × " if line is LineKind.SIZES else " "
    return [place for place in range(len(text)) if text.startswith(mark, place)]


def _rows_of(draft: _LineDraft, size: float, width: float) -> tuple[str, ...]:
    """The texts of a line's rows; if one of two is too wide, the first is filled and only the second truncated."""
    if len(draft.texts) == 1 or draft.widest * size <= width + TOLERANCE:
        return draft.texts
    text, face = " ".join(draft.texts), draft.style.face
    places = _break_points(draft.line, text)
    fitting = [place for place in places if text_width(text[:place], face, size) <= width + TOLERANCE]
    return (text[: fitting[-1]], text[fitting[-1] + 1 :]) if fitting else draft.texts


def _default_unit(height: float) -> float:
    """The size in points of a line with share 1 if all lines, in one row each, fill the height."""
    return height / MM_PER_POINT / _DEFAULT_UNITS


def _leading(line: LineKind) -> float:
    return CODE_LEADING if line is LineKind.CODE else LEADING


_DEFAULT_UNITS = sum(style.share * _leading(line) for line, style in LINE_STYLES.items()) + 2 * GROUP_GAP


def _sizes(drafts: list[_LineDraft], space: TextSpace) -> list[float]:
    """Each line's size in points, never under its least; the code, where there is one, is the first line.

    The code is as large as on a label without broken lines, so that a sheet looks even. The other lines are as large
    as the height allows in their shares, smaller where their width asks for it, and always smaller than the code.
    Where that is too high, the code is set smaller as well.
    """
    least = [draft.style.min_size for draft in drafts]
    most = []
    size_limit = space.size_limit
    for draft in drafts:
        largest = min(draft.style.max_size, space.width / draft.widest)
        if draft.line is LineKind.CODE:
            usual = draft.style.share * _default_unit(space.label_height)
            largest = max(draft.style.min_size, min(largest, usual))
            size_limit = min(size_limit, MAX_RATIO_TO_CODE * largest)
        else:
            largest = min(largest, size_limit)
        most.append(largest)
    if drafts[0].line is LineKind.CODE:
        sizes = _fill_height(drafts, [most[0], *least[1:]], most, space)
        if _height(drafts, sizes) <= space.height + TOLERANCE:
            return sizes
    return _fill_height(drafts, least, most, space)


def _fill_height(drafts: list[_LineDraft], least: list[float], most: list[float], space: TextSpace) -> list[float]:
    """Sizes in the lines' shares, each from its least to its most, that fill the height: bisection for their unit."""
    lines = [(draft.weight, draft.style.share, low, high) for draft, low, high in zip(drafts, least, most, strict=True)]
    gaps = GROUP_GAP * (len({_group(draft.line) for draft in drafts}) - 1)
    room = space.height / MM_PER_POINT
    if sum([weight * low for weight, _, low, _ in lines]) > room:
        return least
    fits, too_large = 0.0, 2 * _default_unit(space.label_height)
    while too_large - fits > UNIT_STEP:
        unit = (fits + too_large) / 2
        height = sum([weight * max(low, min(high, share * unit)) for weight, share, low, high in lines])
        if height + gaps * unit <= room:
            fits = unit
        else:
            too_large = unit
    return [max(low, min(high, share * fits)) for _, share, low, high in lines]


def _group(line: LineKind) -> str:
    """The group of a line: the code, what the piece is, how and where it is. There are gaps between groups."""
    match line:
        case LineKind.CODE:
            return "code"
        case LineKind.SPECIES | LineKind.SIZES:
            return "what"
        case LineKind.CONDITION | LineKind.LOCATION:
            return "where"


def _height(drafts: list[_LineDraft], sizes: list[float]) -> float:
    """The height of the lines in mm at these sizes, without gaps between groups."""
    return MM_PER_POINT * sum(size * draft.weight for draft, size in zip(drafts, sizes, strict=True))


def _place_rows(drafts: list[_LineDraft], sizes: list[float], width: float, height: float) -> tuple[TextRow, ...]:
    """The rows from the top down; spare height becomes a gap after the code and a larger one before the condition."""
    spare = max(0.0, height - _height(drafts, sizes))
    after_code = min(spare / 2, MAX_GAP_AFTER_CODE * sizes[0] * MM_PER_POINT)
    top = 0.0
    placed = []
    above: LineKind | None = None
    for draft, size in zip(drafts, sizes, strict=True):
        line, face, tall = draft.line, draft.style.face, size * MM_PER_POINT
        if above is LineKind.CODE:
            top += after_code
        elif above is not None and _group(line) != _group(above):
            top += spare - after_code
        above = line
        for text in _rows_of(draft, size, width):
            baseline = top + (CAP_HEIGHT if line is LineKind.CODE else LEADING - DESCENT) * tall
            top += _leading(line) * tall
            cut = visual_order(truncate(text, face, size, width))
            placed.append(TextRow(line, cut, face, size, baseline, text_width(cut, face, size)))
    return tuple(placed)
