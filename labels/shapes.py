"""What a drawing consists of, before it is a PDF or anything else.

Millimetres from the top left, y downwards; type in points; shades from 0 black
to 1 white. Knows neither labels nor PDF.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from labels.geometry import Box
from labels.photos.print_photo import Ready
from labels.typesetting.fonts import Face

Point = tuple[float, float]


@dataclass(frozen=True)
class Blocks:
    """Rectangles counted in `unit` mm from a corner, filled black as one path so that no seams show."""

    left: float
    top: float
    unit: float
    blocks: tuple[tuple[int, int, int, int], ...]


@dataclass(frozen=True)
class Area:
    """A closed outline, filled."""

    points: tuple[Point, ...]
    shade: float = 0.0


@dataclass(frozen=True)
class Stroke:
    """Lines of one kind, drawn as one path: each a run of points."""

    lines: tuple[tuple[Point, ...], ...]
    width: float
    shade: float = 0.0
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True)
class Text:
    """One row of words; `x` is its left end."""

    x: float
    baseline: float
    text: str
    face: Face
    size: float
    shade: float = 0.0


@dataclass(frozen=True)
class Photo:
    """A photo that fills a box."""

    box: Box
    ready: Ready


Shape = Blocks | Area | Stroke | Text | Photo


def moved(shape: Shape, x: float, y: float) -> Shape:
    """The same shape so many mm to the right and down."""
    match shape:
        case Blocks():
            return replace(shape, left=shape.left + x, top=shape.top + y)
        case Area():
            return replace(shape, points=_moved(shape.points, x, y))
        case Stroke():
            return replace(shape, lines=tuple(_moved(line, x, y) for line in shape.lines))
        case Text():
            return replace(shape, x=shape.x + x, baseline=shape.baseline + y)
        case Photo():
            box = shape.box
            return replace(shape, box=Box(box.left + x, box.top + y, box.width, box.height))


def _moved(points: tuple[Point, ...], x: float, y: float) -> tuple[Point, ...]:
    return tuple((left + x, top + y) for left, top in points)
