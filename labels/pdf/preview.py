"""A preview of a stock as SVG: the page, its labels, and one label as it will be printed.

It draws the shapes of the PDF. Text is set in a font of the browser, stretched to its printed width. Paper is white and
ink is black in any color scheme.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from html import escape

from labels.drawing import LabelText, draw_label
from labels.errors import LabelError
from labels.shapes import PhotoShape, Point, Polygon, Rectangles, Shape, Stroke, Text, translated
from labels.stock import Stock
from labels.typesetting.fonts import MM_PER_POINT, FontFace, text_width

# At most so many labels are drawn, on a page of at most so many mm.
MAX_CELLS = 500
MAX_PAGE = Fraction(2000)


def preview(stock: Stock, sample: LabelText) -> str:
    """The first page of a stock as SVG, the sample on its first label; of an invalid stock, what can be drawn."""
    wide, high = (float(min(max(size, Fraction(1)), MAX_PAGE)) for size in (stock.page.width, stock.page.height))
    margin = max(wide, high) * 0.02
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{_num(-margin)} {_num(-margin)} {_num(wide + 2 * margin)} '
        f'{_num(high + 2 * margin)}" role="img" aria-label="{escape(_alt_text(stock))}">',
        f'<rect x="0" y="0" width="{_num(wide)}" height="{_num(high)}" fill="#ffffff" stroke="#555555" '
        f'stroke-width="{_num(margin / 12)}"/>',
        *_cells(stock, margin / 14),
        *_first_label(stock, sample),
        "</svg>",
    ]
    return "".join(parts)


def _alt_text(stock: Stock) -> str:
    if stock.is_roll:
        return "One label as it will be printed"
    return f"A page with {stock.columns} × {stock.rows} labels, the first one as it will be printed"


def _cells(stock: Stock, line: float) -> Iterator[str]:
    cell, hole = stock.cell, stock.hole
    if cell.width <= 0 or cell.height <= 0:
        return
    corner_radius = float(min(stock.rounding, cell.width / 2, cell.height / 2))
    for number in range(1, min(stock.cells, MAX_CELLS) + 1):
        left, top = (float(place) for place in stock.corner(number))
        yield (
            f'<rect x="{_num(left)}" y="{_num(top)}" '
            f'width="{_num(float(cell.width))}" height="{_num(float(cell.height))}" '
            f'rx="{_num(corner_radius)}" fill="#f6f1e4" stroke="#8a7a58" stroke-width="{_num(line)}"/>'
        )
        if hole is not None:
            x, y = left + float(hole.across), top + float(hole.down)
            yield f'<circle cx="{_num(x)}" cy="{_num(y)}" r="{_num(float(hole.diameter / 2))}" fill="#8a7a58"/>'


def _first_label(stock: Stock, sample: LabelText) -> Iterator[str]:
    if stock.columns < 1 or stock.rows < 1:
        return
    left, top = (float(place) for place in stock.corner(1))
    try:
        shapes = draw_label(sample, stock)
    except LabelError:
        return
    for shape in shapes:
        yield _to_svg(translated(shape, left, top))


def _to_svg(shape: Shape) -> str:
    match shape:
        case Rectangles():
            unit = shape.unit
            path = "".join(
                f"M{_num(shape.left + x * unit)} {_num(shape.top + y * unit)}h{_num(across * unit)}v{_num(down * unit)}"
                f"h{_num(-across * unit)}z"
                for x, y, across, down in shape.rectangles
            )
            return f'<path d="{path}" fill="#000000"/>'
        case Polygon():
            return f'<path d="{_path(shape.points)}z" fill="{_shade(shape.shade)}"/>'
        case Stroke():
            path = "".join(_path(line) for line in shape.lines)
            return f'<path d="{path}" fill="none" stroke="{_shade(shape.shade)}" stroke-width="{_num(shape.width)}"/>'
        case Text():
            weight = "bold" if shape.face is FontFace.BOLD else "normal"
            return (
                f'<text x="{_num(shape.x)}" y="{_num(shape.baseline)}" font-size="{_num(shape.size * MM_PER_POINT)}" '
                f'font-family="sans-serif" font-weight="{weight}" lengthAdjust="spacingAndGlyphs" '
                f'textLength="{_num(text_width(shape.text, shape.face, shape.size))}" fill="{_shade(shape.shade)}">'
                f"{escape(shape.text)}</text>"
            )
        case PhotoShape():
            box = shape.box
            return (
                f'<rect x="{_num(box.left)}" y="{_num(box.top)}" width="{_num(box.width)}" height="{_num(box.height)}" '
                'fill="#bbbbbb"/>'
            )


def _path(points: Iterable[Point]) -> str:
    return "M" + "L".join(f"{_num(x)} {_num(y)}" for x, y in points)


def _shade(shade: float) -> str:
    return "#" + f"{round(shade * 255):02x}" * 3


def _num(number: float) -> str:
    return f"{number:.3f}".rstrip("0").rstrip(".")
