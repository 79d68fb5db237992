"""The words of a label around a second code in its lower right corner.

Knows that the upper lines have the whole width and the lower ones what the code
leaves. How lines are set in either is `labels.typesetting.words`'s. Places are
millimetres from the top left of the space for words.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace

from labels.typesetting.fonts import CAPITALS, DESCENDERS, MM_PER_POINT
from labels.typesetting.words import (
    CODE_LEADING,
    ELLIPSIS,
    MANNERS,
    UNDER_CODE,
    Line,
    Row,
    Space,
    WordsDoNotFit,
    set_in,
    shown_words,
)

LARGEST = UNDER_CODE * MANNERS[Line.CODE].most

# Where lines are cut although the code in clear is large, it is tried smaller: in such shares of the height above.
UPPER_SHARES = (1.0, 0.8, 0.65)


def set_around(
    words: Sequence[tuple[Line, str]], width: float, height: float, corner: tuple[float, float]
) -> tuple[Row, ...]:
    """The rows for a space whose lower right `corner`, so wide and high, is taken.

    As many lines stand above the corner as leaves the fewest of them cut and their type largest. Raises WordsDoNotFit.
    """
    shown = shown_words(words)
    best: tuple[Row, ...] = ()
    for share in UPPER_SHARES:
        upper = share * (height - corner[1])
        for above in range(1, len(shown) + 1):
            with suppress(WordsDoNotFit):
                rows = _set_with(shown[:above], shown[above:], Space(width, upper, height, LARGEST), height, corner[0])
                best = min(best or rows, rows, key=_worth)
        if best and not _cut(best):
            break
    if shown and not best:
        raise WordsDoNotFit(f"The words of {shown[0][1]} do not fit beside a second code. Choose larger labels.")
    return best


def _set_with(
    head: Sequence[tuple[Line, str]], tail: Sequence[tuple[Line, str]], upper: Space, height: float, corner: float
) -> tuple[Row, ...]:
    """The rows with these lines in the space above a corner so wide and those beside it."""
    above = set_in(head, upper)
    if not tail:
        return above
    used = _lowest(above)
    under = min((UNDER_CODE * row.size for row in above if row.line is Line.CODE), default=LARGEST)
    beside = set_in(tail, Space(upper.width - corner, height - used, height, under))
    return (*above, *(replace(row, baseline=row.baseline + used) for row in beside))


def _lowest(rows: Sequence[Row]) -> float:
    """How far down the rows reach, the pencil stroke and what hangs below the line counted."""
    last = rows[-1]
    below = CODE_LEADING - CAPITALS if last.line is Line.CODE else DESCENDERS
    return last.baseline + below * last.size * MM_PER_POINT


def _worth(rows: tuple[Row, ...]) -> tuple[int, float]:
    """How many rows are cut short, and how small the smallest is beside what it would like to be: less is better."""
    return _cut(rows), -min(row.size / MANNERS[row.line].share for row in rows)


def _cut(rows: tuple[Row, ...]) -> int:
    return sum(row.text.endswith(ELLIPSIS) for row in rows)
