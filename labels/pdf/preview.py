"""A stock as a picture for the screen: the page, its labels, and one label as it will be printed.

Knows SVG. Takes the very shapes that go on paper; letters are set in the
screen's own face, drawn as wide as the printed ones. White paper and black ink,
whatever the colours of the screen.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from html import escape

from labels.drawing import LabelText, draw_label
from labels.errors import CannotPrint
from labels.shapes import Area, Blocks, Photo, Point, Shape, Stroke, Text, moved
from labels.stock import Stock
from labels.typesetting.fonts import MM_PER_POINT, Face, text_width

# More labels than this are not drawn one by one, nor pages larger than a table.
MOST_CELLS = 500
LARGEST = Fraction(2000)


def preview(stock: Stock, sample: LabelText) -> str:
    """The first page of a stock as SVG, the sample on its first label; faulty stocks are drawn as far as they go."""
    wide, high = (float(min(max(size, Fraction(1)), LARGEST)) for size in (stock.page.width, stock.page.height))
    rim = max(wide, high) * 0.02
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{_n(-rim)} {_n(-rim)} {_n(wide + 2 * rim)} '
        f'{_n(high + 2 * rim)}" role="img" aria-label="{escape(_said(stock))}">',
        f'<rect x="0" y="0" width="{_n(wide)}" height="{_n(high)}" fill="#ffffff" stroke="#555555" '
        f'stroke-width="{_n(rim / 12)}"/>',
        *_cells(stock, rim / 14),
        *_first_label(stock, sample),
        "</svg>",
    ]
    return "".join(parts)


def _said(stock: Stock) -> str:
    if stock.is_roll:
        return "One label as it will be printed"
    return f"A page with {stock.columns} × {stock.rows} labels, the first one as it will be printed"


def _cells(stock: Stock, line: float) -> Iterator[str]:
    cell, hole = stock.cell, stock.hole
    if cell.width <= 0 or cell.height <= 0:
        return
    round_to = float(min(stock.rounding, cell.width / 2, cell.height / 2))
    for number in range(1, min(stock.cells, MOST_CELLS) + 1):
        left, top = (float(place) for place in stock.corner(number))
        yield (
            f'<rect x="{_n(left)}" y="{_n(top)}" width="{_n(float(cell.width))}" height="{_n(float(cell.height))}" '
            f'rx="{_n(round_to)}" fill="#f6f1e4" stroke="#8a7a58" stroke-width="{_n(line)}"/>'
        )
        if hole is not None:
            x, y = left + float(hole.across), top + float(hole.down)
            yield f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(float(hole.diameter / 2))}" fill="#8a7a58"/>'


def _first_label(stock: Stock, sample: LabelText) -> Iterator[str]:
    if stock.columns < 1 or stock.rows < 1:
        return
    left, top = (float(place) for place in stock.corner(1))
    try:
        shapes = draw_label(sample, stock)
    except CannotPrint:
        return
    for shape in shapes:
        yield _drawn(moved(shape, left, top))


def _drawn(shape: Shape) -> str:
    match shape:
        case Blocks():
            unit = shape.unit
            path = "".join(
                f"M{_n(shape.left + x * unit)} {_n(shape.top + y * unit)}h{_n(across * unit)}v{_n(down * unit)}"
                f"h{_n(-across * unit)}z"
                for x, y, across, down in shape.blocks
            )
            return f'<path d="{path}" fill="#000000"/>'
        case Area():
            return f'<path d="{_path(shape.points)}z" fill="{_shade(shape.shade)}"/>'
        case Stroke():
            path = "".join(_path(line) for line in shape.lines)
            return f'<path d="{path}" fill="none" stroke="{_shade(shape.shade)}" stroke-width="{_n(shape.width)}"/>'
        case Text():
            weight = "bold" if shape.face is Face.BOLD else "normal"
            return (
                f'<text x="{_n(shape.x)}" y="{_n(shape.baseline)}" font-size="{_n(shape.size * MM_PER_POINT)}" '
                f'font-family="sans-serif" font-weight="{weight}" lengthAdjust="spacingAndGlyphs" '
                f'textLength="{_n(text_width(shape.text, shape.face, shape.size))}" fill="{_shade(shape.shade)}">'
                f"{escape(shape.text)}</text>"
            )
        case Photo():
            box = shape.box
            return (
                f'<rect x="{_n(box.left)}" y="{_n(box.top)}" width="{_n(box.width)}" height="{_n(box.height)}" '
                'fill="#bbbbbb"/>'
            )


def _path(points: Iterable[Point]) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points)


def _shade(shade: float) -> str:
    return "#" + f"{round(shade * 255):02x}" * 3


def _n(number: float) -> str:
    return f"{number:.3f}".rstrip("0").rstrip(".")
