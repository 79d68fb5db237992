"""Cut marks, the ruler in a cell, and the test sheet."""

from __future__ import annotations

from collections.abc import Iterator

from labels.geometry import Box
from labels.pdf.calibration import MAX_CENTIMETERS, calibration_lines, calibration_shapes
from labels.pdf.rulers import EIGHTHS, MILLIMETERS, figures_that_fit, scale_across
from labels.shapes import Point, Polygon, Shape, Stroke, Text
from labels.stock import EDGE_MARGIN, PRINT_AT_100, Stock
from labels.typesetting.fonts import CAP_HEIGHT, MM_PER_POINT, FontFace, text_width
from labels.typesetting.words import wrap_text

OUTLINE_WIDTH = 0.15
LINE_HEIGHT = 1.3

# The longest scale across a label.
MAX_INCHES = 6

MEASURING_INSTRUCTIONS = (
    "If they do not, measure: 1 the millimetre scale across from end to end, 2 from the left edge of the paper to its "
    "0, 3 the millimetre scale down, 4 from the top edge to its 0. Type the four measures in, and labels are printed "
    "that much truer."
)


def cut_mark_shapes(stock: Stock) -> list[Shape]:
    """A small cross at each corner of each cell, within the margin that is not printed."""
    arm = float(EDGE_MARGIN) * 0.8
    corners = set()
    for cell in range(1, stock.cells + 1):
        box = cell_box(stock, cell)
        corners |= {(x, y) for x in (box.left, box.right) for y in (box.top, box.bottom)}
    lines: list[tuple[Point, ...]] = []
    for x, y in sorted(corners):
        lines += [((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm))]
    return [Stroke(tuple(lines), OUTLINE_WIDTH)]


def ruler_label(stock: Stock, cell: int) -> list[Shape]:
    """A cell with two scales, millimeters above inches, and instructions."""
    inner = printable_box(stock, cell)
    shapes: list[Shape] = []
    top, size = inner.top, max(6.5, min(11.0, inner.height / 4.2))
    for text in wrap_text("Both scales must be true. " + PRINT_AT_100, FontFace.REGULAR, size, inner.width):
        shapes.append(Text(inner.left, top + 0.95 * size * MM_PER_POINT, text, FontFace.REGULAR, size))
        top += 1.2 * size * MM_PER_POINT
    base = inner.bottom - 6.2
    centimeters = figures_that_fit(MILLIMETERS, inner.width, MAX_CENTIMETERS)
    whole_inches = figures_that_fit(EIGHTHS, inner.width, MAX_INCHES)
    return [
        *shapes,
        *scale_across(MILLIMETERS, centimeters, inner.left + 0.2, base, ticks_up=True),
        *scale_across(EIGHTHS, whole_inches, inner.left + 0.2, base + 0.6, ticks_up=False),
    ]


def test_sheet_shapes(stock: Stock) -> list[Shape]:
    """Every cell's outline with its number, scales across and down, and instructions."""
    outlines = Stroke(
        tuple(cell_box(stock, cell).outline for cell in range(1, stock.cells + 1)), OUTLINE_WIDTH, shade=0.4
    )
    if stock.is_roll:
        return [outlines, *ruler_label(stock, 1)]
    lines = calibration_lines(stock)
    across = Box(lines.left - 4, lines.base - 7, lines.across + 18, 14)
    down = Box(lines.beside - 15, lines.top - 4, 31, lines.down + 8)
    text_panel = Box(lines.beside + 18, lines.top, float(stock.page.width) - lines.beside - 28, 62)
    panels = (across, down, text_panel)
    return [
        outlines,
        *_numbers(stock, panels),
        *(Polygon(panel.outline, shade=1.0) for panel in panels),
        *calibration_shapes(stock),
        *_instructions(stock, text_panel),
    ]


def measuring_label(stock: Stock) -> list[Shape]:
    """The second test label of a roll, with the lines to measure."""
    return [Stroke((cell_box(stock, 1).outline,), OUTLINE_WIDTH, shade=0.4), *calibration_shapes(stock)]


def _numbers(stock: Stock, panels: tuple[Box, ...]) -> Iterator[Shape]:
    """Each cell's number at its top left, where no panel covers it."""
    size = 10.0
    tall = CAP_HEIGHT * size * MM_PER_POINT
    for cell in range(1, stock.cells + 1):
        inner = printable_box(stock, cell)
        number = Box(inner.left, inner.top, text_width(str(cell), FontFace.BOLD, size), tall)
        if not any(_overlap(number, panel) for panel in panels):
            yield Text(inner.left, inner.top + tall, str(cell), FontFace.BOLD, size, shade=0.35)


def _overlap(one: Box, other: Box) -> bool:
    beside = one.right <= other.left or other.right <= one.left
    return not beside and one.top < other.bottom and other.top < one.bottom


def _instructions(stock: Stock, box: Box) -> Iterator[Shape]:
    sentences = (
        (FontFace.BOLD, 14.0, PRINT_AT_100),
        (FontFace.REGULAR, 11.0, "Lay a rule on the scales: they must be true both across and down."),
        (
            FontFace.REGULAR,
            11.0,
            f"Then hold this page behind a sheet of labels ({stock.name}), against the light: "
            "every outline must lie on a label. The numbers say which label to start at on a part-used sheet.",
        ),
        (FontFace.REGULAR, 11.0, MEASURING_INSTRUCTIONS),
    )
    baseline = box.top
    for face, size, sentence in sentences:
        for text in wrap_text(sentence, face, size, box.width - 4):
            baseline += LINE_HEIGHT * size * MM_PER_POINT
            yield Text(box.left + 2, baseline, text, face, size)
        baseline += 2.0


def cell_box(stock: Stock, cell: int) -> Box:
    """A cell in mm from the page's top left."""
    left, top = stock.corner(cell)
    return Box(float(left), float(top), float(stock.cell.width), float(stock.cell.height))


def printable_box(stock: Stock, cell: int) -> Box:
    """A cell without its margins, in mm from the page's top left."""
    box, insets = cell_box(stock, cell), stock.insets
    return Box(
        box.left + float(insets.left),
        box.top + float(insets.top),
        box.width - float(insets.left + insets.right),
        box.height - float(insets.top + insets.bottom),
    )
