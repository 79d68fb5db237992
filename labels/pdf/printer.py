"""Properties of a printer: how it prints tones, and the correction of its scale and offset."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from labels.errors import LabelError

MM_PER_INCH = Fraction(254, 10)

# A page with a larger error was scaled by a print dialog or measured wrongly.
MAX_SCALE_ERROR = Fraction(1, 10)
MAX_SHIFT = Fraction(15)


class CalibrationError(LabelError):
    """Measures of a test sheet that can't be right."""


class Tone(Enum):
    """How photos are printed: in grays, or dithered in black dots, as on a thermal printer."""

    GREY = "grey"
    BLACK = "black and white"


@dataclass(frozen=True)
class LineMeasures:
    """Two lengths and two distances of a test sheet in exact mm.

    `across` and `down` are the lengths of the lines, `left` and `top` their distances from the page's edges.
    """

    across: Fraction
    down: Fraction
    left: Fraction
    top: Fraction


@dataclass(frozen=True)
class Correction:
    """The transformation of a page that cancels a printer's error: scaled from the top left, then moved, in mm."""

    across: Fraction = Fraction(1)
    down: Fraction = Fraction(1)
    right: Fraction = Fraction(0)
    lower: Fraction = Fraction(0)


IDENTITY = Correction()


def correction_for(nominal: LineMeasures, observed: LineMeasures) -> Correction:
    """The correction for a printer that prints `nominal` as `observed`. Raises CalibrationError.

    The printer prints x at a + b·x. Two places are known in each direction, which gives a and b; the page is drawn at
    (x − a) / b.

    >>> drawn = LineMeasures(*map(Fraction, (150, 150, 30, 80)))
    >>> correction_for(drawn, LineMeasures(*map(Fraction, (147, 150, 31, 80))))
    Correction(across=Fraction(50, 49), down=Fraction(1, 1), right=Fraction(-80, 49), lower=Fraction(0, 1))
    """
    scale, offset = _one_way("across", nominal.across, nominal.left, observed.across, observed.left)
    down, lower = _one_way("down", nominal.down, nominal.top, observed.down, observed.top)
    return Correction(scale, down, offset, lower)


def _one_way(
    way: str, length: Fraction, start: Fraction, length_shown: Fraction, start_shown: Fraction
) -> tuple[Fraction, Fraction]:
    scale = length_shown / length
    if abs(scale - 1) > MAX_SCALE_ERROR:
        raise CalibrationError(
            f"The line {way} is {format_mm(length)} on the test sheet and {format_mm(length_shown)} by your rule: more "
            "than a tenth off. Print the test sheet at 100 % (actual size), or measure once more."
        )
    moved = start_shown - scale * start
    if abs(moved) > MAX_SHIFT:
        edge = "left" if way == "across" else "top"
        raise CalibrationError(
            f"The line {way} begins {format_mm(start)} from the {edge} edge on the test sheet and "
            f"{format_mm(start_shown)} by your rule: more than {format_mm(MAX_SHIFT)} off. Look whether the paper lay "
            "right in the printer, or measure once more."
        )
    return 1 / scale, -moved / scale


def format_mm(millimeters: Fraction) -> str:
    """A measure for a sentence, to the nanometer.

    >>> format_mm(Fraction(5, 2))
    '2.5 mm'
    """
    return f"{float(millimeters):.6f}".rstrip("0").rstrip(".") + " mm"
