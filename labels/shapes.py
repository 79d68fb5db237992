"""The shapes of a drawing, independent of PDF and SVG.

Millimeters from the top left, y downwards; type in points; shades from 0 black to 1 white.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from labels.geometry import Box
from labels.photos.print_photo import PreparedPhoto
from labels.typesetting.fonts import FontFace

Point = tuple[float, float]


@dataclass(frozen=True)
class Rectangles:
    """Rectangles in units of `unit` mm from a corner, filled black as one path so that no seams show."""

    left: float
    top: float
    unit: float
    rectangles: tuple[tuple[int, int, int, int], ...]


@dataclass(frozen=True)
class Polygon:
    """A closed outline, filled."""

    points: tuple[Point, ...]
    shade: float = 0.0


@dataclass(frozen=True)
class Stroke:
    """Polylines of one width and shade, drawn as one path."""

    lines: tuple[tuple[Point, ...], ...]
    width: float
    shade: float = 0.0
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True)
class Text:
    """One row of text; `x` is its left end."""

    x: float
    baseline: float
    text: str
    face: FontFace
    size: float
    shade: float = 0.0


@dataclass(frozen=True)
class PhotoShape:
    """A photo that fills a box."""

    box: Box
    prepared: PreparedPhoto


Shape = Rectangles | Polygon | Stroke | Text | PhotoShape


def translated(shape: Shape, x: float, y: float) -> Shape:
    """The same shape moved by so many mm to the right and down."""
    match shape:
        case Rectangles():
            return replace(shape, left=shape.left + x, top=shape.top + y)
        case Polygon():
            return replace(shape, points=_translated(shape.points, x, y))
        case Stroke():
            return replace(shape, lines=tuple(_translated(line, x, y) for line in shape.lines))
        case Text():
            return replace(shape, x=shape.x + x, baseline=shape.baseline + y)
        case PhotoShape():
            box = shape.box
            return replace(shape, box=Box(box.left + x, box.top + y, box.width, box.height))


def _translated(points: tuple[Point, ...], x: float, y: float) -> tuple[Point, ...]:
    return tuple((left + x, top + y) for left, top in points)
