"""Sets the text of a label around a second code in its lower right corner.

Places are millimeters from the top left of the space for text.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace

from labels.typesetting.fonts import CAP_HEIGHT, DESCENT, MM_PER_POINT
from labels.typesetting.words import (
    CODE_LEADING,
    ELLIPSIS,
    LINE_STYLES,
    MAX_RATIO_TO_CODE,
    LineKind,
    TextDoesNotFit,
    TextRow,
    TextSpace,
    printable_lines,
    set_text_in,
)

MAX_SIZE = MAX_RATIO_TO_CODE * LINE_STYLES[LineKind.CODE].max_size

# If lines are truncated, the code is tried smaller: in these shares of the height above the corner.
UPPER_SHARES = (1.0, 0.8, 0.65)


def set_text_around(
    words: Sequence[tuple[LineKind, str]], width: float, height: float, corner: tuple[float, float]
) -> tuple[TextRow, ...]:
    """The rows for a space without its lower right `corner`, a width and a height in mm.

    The number of lines above the corner is the one with the fewest truncated rows, then the largest type. Raises
    TextDoesNotFit.
    """
    shown = printable_lines(words)
    best: tuple[TextRow, ...] = ()
    for share in UPPER_SHARES:
        upper = share * (height - corner[1])
        for above in range(1, len(shown) + 1):
            with suppress(TextDoesNotFit):
                rows = _set_split(
                    shown[:above], shown[above:], TextSpace(width, upper, height, MAX_SIZE), height, corner[0]
                )
                best = min(best or rows, rows, key=_cost)
        if best and not _count_truncated(best):
            break
    if shown and not best:
        raise TextDoesNotFit(f"The words of {shown[0][1]} do not fit beside a second code. Choose larger labels.")
    return best


def _set_split(
    head: Sequence[tuple[LineKind, str]],
    tail: Sequence[tuple[LineKind, str]],
    upper: TextSpace,
    height: float,
    corner: float,
) -> tuple[TextRow, ...]:
    """The rows with `head` in the space above the corner and `tail` beside it; `corner` is its width."""
    above = set_text_in(head, upper)
    if not tail:
        return above
    used = _text_bottom(above)
    size_limit = min((MAX_RATIO_TO_CODE * row.size for row in above if row.line is LineKind.CODE), default=MAX_SIZE)
    beside = set_text_in(tail, TextSpace(upper.width - corner, height - used, height, size_limit))
    return (*above, *(replace(row, baseline=row.baseline + used) for row in beside))


def _text_bottom(rows: Sequence[TextRow]) -> float:
    """The bottom of the rows in mm, with the pencil stroke or what is below the baseline."""
    last = rows[-1]
    below = CODE_LEADING - CAP_HEIGHT if last.line is LineKind.CODE else DESCENT
    return last.baseline + below * last.size * MM_PER_POINT


def _cost(rows: tuple[TextRow, ...]) -> tuple[int, float]:
    """The number of truncated rows, and the negative of the smallest size relative to its share; less is better."""
    return _count_truncated(rows), -min(row.size / LINE_STYLES[row.line].share for row in rows)


def _count_truncated(rows: tuple[TextRow, ...]) -> int:
    return sum(row.text.endswith(ELLIPSIS) for row in rows)
