"""The two lines of a test sheet that are measured with a rule, and their distances from the page's edges.

`labels.pdf.printer` calculates a correction from the measures. Millimeters from the page's top left.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from labels.pdf.printer import LineMeasures
from labels.pdf.rulers import EIGHTHS, MILLIMETERS, MM_PER_INCH, scale_across, scale_down
from labels.shapes import Shape, Stroke, Text
from labels.stock import Stock
from labels.typesetting.fonts import FontFace

MAX_CENTIMETERS = 15

# The distances from the edges are dashed lines; the numbers of the measures are beside them.
DASH_WIDTH = 0.2
NUMBER_SIZE = 9.0


@dataclass(frozen=True)
class CalibrationLines:
    """Two lines: one across from (`left`, `base`), one down from (`beside`, `top`), `across` and `down` mm long."""

    left: float
    base: float
    beside: float
    top: float
    across: float
    down: float

    @property
    def measures(self) -> LineMeasures:
        """The measures on a page printed by an exact printer."""
        lengths = (self.across, self.down, self.left, self.top)
        return LineMeasures(*(Fraction(round(length)) for length in lengths))


def calibration_lines(stock: Stock) -> CalibrationLines:
    """The lines of a stock's test sheet: up to 150 mm on a sheet, as long as possible on a small label."""
    wide, high = float(stock.page.width), float(stock.page.height)
    if stock.is_roll:
        across, down = _whole_centimeters(wide - 30), _whole_centimeters(high - 8)
        return CalibrationLines(6.0, 10.0, wide - 6.0, 4.0, across, down)
    left, base = (30.0, 80.0) if wide >= 190 and high >= 240 else (14.0, 14.0)
    return CalibrationLines(
        left, base, left, base + 16, _whole_centimeters(wide - left - 12), _whole_centimeters(high - base - 25)
    )


def _whole_centimeters(room: float) -> float:
    return 10.0 * max(1, min(MAX_CENTIMETERS, int(room / 10)))


def calibration_shapes(stock: Stock) -> list[Shape]:
    """Both lines with scales, and dashed lines from the page's edges to their ends, numbered 1 to 4."""
    lines = calibration_lines(stock)
    across, down = (round(length / 10) for length in (lines.across, lines.down))
    below = 0.0 if stock.is_roll else 0.6
    shapes: list[Shape] = [
        Stroke((((0.0, lines.base), (lines.left, lines.base)),), DASH_WIDTH, 0.5, (1.5, 1.0)),
        Stroke((((lines.beside, 0.0), (lines.beside, lines.top)),), DASH_WIDTH, 0.5, (1.5, 1.0)),
        *scale_across(MILLIMETERS, across, lines.left, lines.base, ticks_up=True),
        *scale_down(MILLIMETERS, down, lines.beside, lines.top, ticks_left=stock.is_roll),
        *_numbers(stock, lines),
    ]
    if not stock.is_roll:
        inches = int(lines.across / MM_PER_INCH + 0.2), int(lines.down / MM_PER_INCH + 0.2)
        shapes += scale_across(EIGHTHS, inches[0], lines.left, lines.base + below, ticks_up=False)
        shapes += scale_down(EIGHTHS, inches[1], lines.beside - below, lines.top, ticks_left=True)
    return shapes


def _numbers(stock: Stock, lines: CalibrationLines) -> list[Shape]:
    """The numbers of the measures, clear of the lines."""
    if stock.is_roll:
        places = (
            (lines.left + 4, lines.base + 4.5),
            (2.0, lines.base + 4.5),
            (lines.beside + 2, lines.top + 6),
            (lines.beside + 2, 3.0),
        )
    else:
        places = (
            (lines.left + lines.across + 10, lines.base + 4.5),
            (6.0, lines.base - 1.5),
            (lines.beside - 13, lines.top + 6),
            (lines.beside + 1.5, 9.0),
        )
    return [Text(x, y, str(which), FontFace.BOLD, NUMBER_SIZE) for which, (x, y) in enumerate(places, start=1)]
