"""The four measures that are taken with a rule on a stock's test sheet.

What their measures say about a printer is `labels.pdf.printer`'s. Millimeters from the page's top left.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from labels.pdf.printer import LineMeasures
from labels.pdf.rulers import EIGHTHS, MILLIMETERS, scale_across, scale_down
from labels.shapes import Shape, Stroke, Text
from labels.stock import Stock
from labels.typesetting.fonts import FontFace

MAX_CENTIMETERS = 15
INCH = 25.4

# The distances from the edges are drawn as dashes; the numbers of the measures stand beside them.
DASH_WIDTH = 0.2
NUMBER_SIZE = 9.0


@dataclass(frozen=True)
class CalibrationLines:
    """Where the lines begin and how long they are: `left`, `base` the one across, `beside`, `top` the one down."""

    left: float
    base: float
    beside: float
    top: float
    across: float
    down: float

    @property
    def measures(self) -> LineMeasures:
        """What a rule shows where the printer is true."""
        lengths = (self.across, self.down, self.left, self.top)
        return LineMeasures(*(Fraction(round(length)) for length in lengths))


def calibration_lines(stock: Stock) -> CalibrationLines:
    """The lines of a stock's test sheet: on a sheet as long as 150 mm, on a small label as long as there is room."""
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
    """Both lines with their scales, and dashes from the page's edges to where they begin, numbered 1 to 4."""
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
        inches = int(lines.across / INCH + 0.2), int(lines.down / INCH + 0.2)
        shapes += scale_across(EIGHTHS, inches[0], lines.left, lines.base + below, ticks_up=False)
        shapes += scale_down(EIGHTHS, inches[1], lines.beside - below, lines.top, ticks_left=True)
    return shapes


def _numbers(stock: Stock, lines: CalibrationLines) -> list[Shape]:
    """The numbers of the measures, where nothing else is."""
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
