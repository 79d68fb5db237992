"""Lines, dimensions, letters and shapes of which the drawings are made.

A drawing is SVG_WIDTH units wide and about as many CSS pixels wide on a phone, so that its letters are as large as the
page's. Shapes of wood are in a scaled group in exact millimeters; floats place them on paper and decide nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

from inventory.core.lengths import ROUNDED_MARK, Display, Unit, mm_text

SVG_WIDTH = 300
FONT_SIZE = 12
"""Font size of measures and numbers."""
DIGIT_WIDTH = 6.6
"""Width of a digit at that size, with a little air."""
BOLD_DIGIT_WIDTH = 7.6
TICK = 4
NM_PER_MM = 1_000_000.0


@dataclass(frozen=True)
class Viewport:
    """A place on the paper and a scale: how lengths in nanometers become units."""

    x: float
    y: float
    units_per_mm: float

    def across(self, length: int) -> float:
        """Units from the left edge of the drawing."""
        return self.x + self.size(length)

    def down(self, length: int) -> float:
        return self.y + self.size(length)

    def size(self, length: int) -> float:
        return length / NM_PER_MM * self.units_per_mm

    def group(self, shapes: Iterable[Markup], kind: str) -> Markup:
        """Shapes given in millimeters, put in their place."""
        return Markup('<g class="{}" transform="translate({} {}) scale({})">{}</g>').format(
            kind, number(self.x), number(self.y), f"{self.units_per_mm:.6g}", Markup("").join(shapes)
        )


def number(value: float) -> str:
    """A coordinate on the paper, to a hundredth of a unit."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def text_width(text: str, *, bold: bool = False) -> float:
    """A little more than the text takes: no font is known here, so this leaves room for a wide one."""
    return len(text) * (BOLD_DIGIT_WIDTH if bold else DIGIT_WIDTH) + (4 if ROUNDED_MARK in text else 0)


def rect(kind: str, x: int, y: int, width: int, height: int, fill: str = "none") -> Markup:
    """A rectangle for a scaled group; all in nanometers, written as exact millimeters."""
    return Markup(
        '<rect class="{}" x="{}" y="{}" width="{}" height="{}" fill="{}" stroke="currentColor" '
        'vector-effect="non-scaling-stroke"/>'
    ).format(kind, mm_text(x), mm_text(y), mm_text(width), mm_text(height), fill)


def rects(kind: str, places: Iterable[tuple[int, int, int, int]], fill: str = "none") -> Markup:
    """Many rectangles of one kind as a single shape: x, y, width and height of each in nanometers."""
    path = "".join(
        f"M{mm_text(x)} {mm_text(y)}h{mm_text(width)}v{mm_text(height)}h-{mm_text(width)}z"
        for x, y, width, height in places
    )
    return Markup(
        '<path class="{}" d="{}" fill="{}" stroke="currentColor" vector-effect="non-scaling-stroke"/>'
    ).format(kind, path, fill)


def cross(x: int, y: int, width: int, height: int) -> Markup:
    """Corner to corner, twice: wood that is lost. For a scaled group."""
    return Markup(
        '<path class="ink-cross" d="M{x} {y}l{w} {h}M{x} {bottom}l{w} -{h}" fill="none" stroke="currentColor" '
        'vector-effect="non-scaling-stroke"/>'
    ).format(x=mm_text(x), y=mm_text(y), w=mm_text(width), h=mm_text(height), bottom=mm_text(y + height))


def letters(x: float, y: float, text: str, kind: str = "ink-text", anchor: str = "middle") -> Markup:
    """A text whose middle height is at `y`."""
    return Markup('<text class="{}" x="{}" y="{}" text-anchor="{}" fill="currentColor">{}</text>').format(
        kind, number(x), number(y + FONT_SIZE * 0.36), anchor, text
    )


def line(path: str, kind: str = "ink-measure") -> Markup:
    return Markup('<path class="{}" d="{}" fill="none" stroke="currentColor"/>').format(kind, path)


def horizontal_dimension(left: float, right: float, y: float, text: str, side: str = "middle") -> Markup:
    """A dimension line from `left` to `right`; `side` puts the text over it, `before` or `after` it."""
    ticks = "".join(f"M{number(x)} {number(y - TICK)}v{2 * TICK}" for x in (left, right))
    drawn = line(f"{ticks}M{number(left)} {number(y)}H{number(right)}")
    match side:
        case "before":
            return drawn + letters(left - TICK, y, text, anchor="end")
        case "after":
            return drawn + letters(right + TICK, y, text, anchor="start")
        case _:
            return drawn + letters((left + right) / 2, y - FONT_SIZE * 0.75, text)


def vertical_dimension(top: float, bottom: float, x: float, text: str, side: str = "after") -> Markup:
    """A dimension line from `top` to `bottom` with its text `before` or `after` it."""
    ticks = "".join(f"M{number(x - TICK)} {number(y)}h{2 * TICK}" for y in (top, bottom))
    drawn = line(f"{ticks}M{number(x)} {number(top)}V{number(bottom)}")
    gap = TICK + 2
    if side == "before":
        return drawn + letters(x - gap, (top + bottom) / 2, text, anchor="end")
    return drawn + letters(x + gap, (top + bottom) / 2, text, anchor="start")


def scale_note(display: Display) -> str:
    """What is written under a drawing to scale."""
    return f"To scale, measures in {'inches' if display.unit is Unit.INCH else 'millimetres'}."


def extension_line(path: str) -> Markup:
    """A thin line from an edge to its dimension."""
    return line(path, "ink-extension")


def drawing(drawing_id: str, kind: str, height: float, title: str, description: str, parts: Iterable[Markup]) -> Markup:
    """The whole drawing; a screen reader reads its `title` and `description`."""
    return Markup(
        '<svg class="drawn {kind}" viewBox="0 0 {width} {height}" role="img" '
        'aria-labelledby="{id}-title {id}-description"><title id="{id}-title">{title}</title>'
        '<desc id="{id}-description">{description}</desc>{parts}</svg>'
    ).format(
        kind=kind,
        width=SVG_WIDTH,
        height=number(height),
        id=drawing_id,
        title=title,
        description=description,
        parts=Markup("").join(parts),
    )
