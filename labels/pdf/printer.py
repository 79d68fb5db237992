"""What a printer does to a label: how it shows tones, how fine its dots are, how far it prints off.

Knows printers by their measures. Knows nothing of what is printed.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from labels.errors import CannotPrint

MM_PER_INCH = Fraction(254, 10)

# A page that is this far off was scaled by a print dialog or measured wrongly, and is to be printed anew.
MOST_SCALED = Fraction(1, 10)
MOST_SHIFTED = Fraction(15)


class NotAsRuled(CannotPrint):
    """What a rule is said to have shown on a test sheet, and can't have."""


class Tone(Enum):
    """How a photo is printed: in greys, or in black dots alone as a thermal printer makes them."""

    GREY = "grey"
    BLACK = "black and white"


@dataclass(frozen=True)
class Measured:
    """Two lengths and two distances of a test sheet in exact mm.

    `across` and `down` are the long lines, `left` and `top` how far these begin from the page's edges.
    """

    across: Fraction
    down: Fraction
    left: Fraction
    top: Fraction


@dataclass(frozen=True)
class Correction:
    """What is done to a page so that it comes out true: scaled first, then moved, in mm from the top left."""

    across: Fraction = Fraction(1)
    down: Fraction = Fraction(1)
    right: Fraction = Fraction(0)
    lower: Fraction = Fraction(0)


TRUE = Correction()


def correction_for(meant: Measured, shown: Measured) -> Correction:
    """The correction for a printer that shows `meant` as `shown`. Raises NotAsRuled with a sentence to show.

    The printer puts what lies at x at a + b·x. Two places are known for each way, so a and b are; the page is drawn at
    (x − a) / b.

    >>> correction_for(Measured(*map(Fraction, (150, 150, 30, 80))), Measured(*map(Fraction, (147, 150, 31, 80))))
    Correction(across=Fraction(50, 49), down=Fraction(1, 1), right=Fraction(-80, 49), lower=Fraction(0, 1))
    """
    scale, move = _one_way("across", meant.across, meant.left, shown.across, shown.left)
    down, lower = _one_way("down", meant.down, meant.top, shown.down, shown.top)
    return Correction(scale, down, move, lower)


def _one_way(
    way: str, length: Fraction, start: Fraction, length_shown: Fraction, start_shown: Fraction
) -> tuple[Fraction, Fraction]:
    scale = length_shown / length
    if abs(scale - 1) > MOST_SCALED:
        raise NotAsRuled(
            f"The line {way} is {shown_mm(length)} on the test sheet and {shown_mm(length_shown)} by your rule: more "
            "than a tenth off. Print the test sheet at 100 % (actual size), or measure once more."
        )
    moved = start_shown - scale * start
    if abs(moved) > MOST_SHIFTED:
        edge = "left" if way == "across" else "top"
        raise NotAsRuled(
            f"The line {way} begins {shown_mm(start)} from the {edge} edge on the test sheet and "
            f"{shown_mm(start_shown)} by your rule: more than {shown_mm(MOST_SHIFTED)} off. Look whether the paper lay "
            "right in the printer, or measure once more."
        )
    return 1 / scale, -moved / scale


def shown_mm(millimetres: Fraction) -> str:
    """A measure for a sentence, to the nanometre.

    >>> shown_mm(Fraction(5, 2))
    '2.5 mm'
    """
    return f"{float(millimetres):.6f}".rstrip("0").rstrip(".") + " mm"
