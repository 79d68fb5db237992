"""Scales that show whether a page was printed at 100 %.

Millimeters from the page's top left.
"""

from __future__ import annotations

from dataclasses import dataclass

from labels.shapes import Point, Shape, Stroke, Text
from labels.typesetting.fonts import CAP_HEIGHT, MM_PER_POINT, FontFace, text_width

MM_PER_INCH = 25.4
RULE_LINE = 0.2
FIGURE_SIZE = 6.0


@dataclass(frozen=True)
class ScaleDivision:
    """The divisions of a scale: mm per step, steps per figure, tick lengths by the largest divisor of a step."""

    step: float
    steps_per_figure: int
    unit: str
    ticks: tuple[tuple[int, float], ...]


MILLIMETERS = ScaleDivision(1.0, 10, "mm", ((10, 3.2), (5, 2.3), (1, 1.5)))
EIGHTHS = ScaleDivision(MM_PER_INCH / 8, 8, "in", ((8, 3.2), (4, 2.6), (2, 1.9), (1, 1.3)))


def figures_that_fit(division: ScaleDivision, room: float, most: int) -> int:
    """How many centimeters or inches of a scale fit, with the unit after its last figure."""
    return min(most, int((room - 5.0) / (division.step * division.steps_per_figure)))


def scale_across(division: ScaleDivision, figures: int, left: float, base: float, *, ticks_up: bool) -> list[Shape]:
    """A scale to the right from (left, base), with its ticks up or down."""
    direction = -1.0 if ticks_up else 1.0
    lines: list[tuple[Point, ...]] = [((left, base), (left + _length(division, figures), base))]
    texts: list[Shape] = []
    for step in range(figures * division.steps_per_figure + 1):
        x, tick_length = left + step * division.step, _tick(division, step)
        lines.append(((x, base), (x, base + direction * tick_length)))
        figure = _figure(division, step)
        if figure:
            baseline = base - 3.8 if ticks_up else base + 3.8 + CAP_HEIGHT * FIGURE_SIZE * MM_PER_POINT
            middle = x - text_width(figure, FontFace.REGULAR, FIGURE_SIZE) / 2
            texts.append(
                Text(middle, baseline, _figure_with_unit(division, figures, step), FontFace.REGULAR, FIGURE_SIZE)
            )
    return [Stroke(tuple(lines), RULE_LINE), *texts]


def scale_down(division: ScaleDivision, figures: int, base: float, top: float, *, ticks_left: bool) -> list[Shape]:
    """A scale downwards from (base, top), with its ticks to the left or to the right."""
    direction = -1.0 if ticks_left else 1.0
    lines: list[tuple[Point, ...]] = [((base, top), (base, top + _length(division, figures)))]
    texts: list[Shape] = []
    for step in range(figures * division.steps_per_figure + 1):
        y, tick_length = top + step * division.step, _tick(division, step)
        lines.append(((base, y), (base + direction * tick_length, y)))
        if _figure(division, step):
            text = _figure_with_unit(division, figures, step)
            wide = text_width(text, FontFace.REGULAR, FIGURE_SIZE)
            x = base - 3.8 - wide if ticks_left else base + 3.8
            texts.append(Text(x, y + CAP_HEIGHT * FIGURE_SIZE * MM_PER_POINT / 2, text, FontFace.REGULAR, FIGURE_SIZE))
    return [Stroke(tuple(lines), RULE_LINE), *texts]


def _length(division: ScaleDivision, figures: int) -> float:
    return figures * division.steps_per_figure * division.step


def _tick(division: ScaleDivision, step: int) -> float:
    return next(length for every, length in division.ticks if step % every == 0)


def _figure(division: ScaleDivision, step: int) -> str:
    """The figure at a step, in mm or in inches; empty at 0 and between figures."""
    if step == 0 or step % division.steps_per_figure:
        return ""
    return str(step if division is MILLIMETERS else step // division.steps_per_figure)


def _figure_with_unit(division: ScaleDivision, figures: int, step: int) -> str:
    """The figure at a step, with the unit after the last one."""
    last = step == figures * division.steps_per_figure
    return f"{_figure(division, step)} {division.unit}" if last else _figure(division, step)
