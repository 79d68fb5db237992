"""Scales that show whether a page was printed at 100 %.

Knows how a rule is divided. Knows nothing of stocks. Millimetres, as everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

from labels.shapes import Point, Shape, Stroke, Text
from labels.typesetting.fonts import CAPITALS, MM_PER_POINT, Face, text_width

MM_PER_INCH = 25.4
RULE_LINE = 0.2
FIGURES = 6.0


@dataclass(frozen=True)
class Division:
    """How a scale is divided: mm a step, steps a figure, and tick lengths by the largest number that divides a step."""

    step: float
    steps_a_figure: int
    unit: str
    ticks: tuple[tuple[int, float], ...]


MILLIMETRES = Division(1.0, 10, "mm", ((10, 3.2), (5, 2.3), (1, 1.5)))
EIGHTHS = Division(MM_PER_INCH / 8, 8, "in", ((8, 3.2), (4, 2.6), (2, 1.9), (1, 1.3)))


def figures_that_fit(division: Division, room: float, most: int) -> int:
    """How many centimetres or inches of a scale fit, its last figure's unit written behind it."""
    return min(most, int((room - 5.0) / (division.step * division.steps_a_figure)))


def scale_across(division: Division, figures: int, left: float, base: float, *, rising: bool) -> list[Shape]:
    """A scale to the right from (left, base), its ticks rising or hanging."""
    way = -1.0 if rising else 1.0
    lines: list[tuple[Point, ...]] = [((left, base), (left + _length(division, figures), base))]
    texts: list[Shape] = []
    for step in range(figures * division.steps_a_figure + 1):
        x, tall = left + step * division.step, _tick(division, step)
        lines.append(((x, base), (x, base + way * tall)))
        figure = _figure(division, step)
        if figure:
            baseline = base - 3.8 if rising else base + 3.8 + CAPITALS * FIGURES * MM_PER_POINT
            middle = x - text_width(figure, Face.REGULAR, FIGURES) / 2
            texts.append(Text(middle, baseline, _named(division, figures, step), Face.REGULAR, FIGURES))
    return [Stroke(tuple(lines), RULE_LINE), *texts]


def scale_down(division: Division, figures: int, base: float, top: float, *, leftwards: bool) -> list[Shape]:
    """A scale downwards from (base, top), its ticks to the left or to the right."""
    way = -1.0 if leftwards else 1.0
    lines: list[tuple[Point, ...]] = [((base, top), (base, top + _length(division, figures)))]
    texts: list[Shape] = []
    for step in range(figures * division.steps_a_figure + 1):
        y, tall = top + step * division.step, _tick(division, step)
        lines.append(((base, y), (base + way * tall, y)))
        if _figure(division, step):
            text = _named(division, figures, step)
            wide = text_width(text, Face.REGULAR, FIGURES)
            x = base - 3.8 - wide if leftwards else base + 3.8
            texts.append(Text(x, y + CAPITALS * FIGURES * MM_PER_POINT / 2, text, Face.REGULAR, FIGURES))
    return [Stroke(tuple(lines), RULE_LINE), *texts]


def _length(division: Division, figures: int) -> float:
    return figures * division.steps_a_figure * division.step


def _tick(division: Division, step: int) -> float:
    return next(length for every, length in division.ticks if step % every == 0)


def _figure(division: Division, step: int) -> str:
    """The figure at a step: centimetres are counted in mm, inches in inches; none at 0 and between."""
    if step == 0 or step % division.steps_a_figure:
        return ""
    return str(step if division is MILLIMETRES else step // division.steps_a_figure)


def _named(division: Division, figures: int, step: int) -> str:
    """The figure at a step, with its unit at the scale's end."""
    last = step == figures * division.steps_a_figure
    return f"{_figure(division, step)} {division.unit}" if last else _figure(division, step)
