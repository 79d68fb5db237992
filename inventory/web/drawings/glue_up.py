"""The glue-up drawn to scale: seen from the end and from above, strips numbered.

What is trimmed is hatched; the finished board is the heavy outline. Shapes are in exact millimeters.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import ceil

from markupsafe import Markup

from inventory.core.lengths import Display, Length, format_length
from inventory.layout.positions import GlueUpLayout, Strip
from inventory.web.drawings import svg
from inventory.web.drawings.hatching import HatchPatterns, species_name
from inventory.web.drawings.svg import Viewport
from inventory.wording.construction_text import CONSTRUCTION_TEXTS
from inventory.wording.steps import format_fine, format_numbers

LEFT = 6.0
SIDE_MARGIN = 25.0
"""Beside a view, for the lines of the measures that run down; their texts come on top."""
MAX_END_HEIGHT = 96.0
MAX_TOP_HEIGHT = 250.0
MAX_SCALE = 3.0
ROW = 17.0


def draw_glue_up(layout: GlueUpLayout, display: Display, hatchings: HatchPatterns, drawing_id: str) -> Markup:
    """The drawing of one glue-up; `drawing_id` must be unique on the page."""
    end_parts, bottom = _end_view(layout, display, hatchings, drawing_id)
    above_id = f"{drawing_id}-above"

    def hatched(strip: Strip) -> Markup:
        place = (0, strip.start, layout.length, strip.width)
        return svg.rect("ink-strip", *place, hatchings.paint(strip.offcut.species, above_id))

    above_parts, bottom = top_view(layout, display, hatchings, above_id, bottom + 14, hatched)
    notes = caption_lines(_notes(layout, display), bottom)
    return svg.drawing(
        drawing_id,
        "drawn-glue-up",
        bottom + 9 + 15 * len(notes),
        f"Glue-up of {len(layout.strips)} strips",
        description(layout, display),
        [*end_parts, *above_parts, *notes],
    )


def description(layout: GlueUpLayout, display: Display) -> str:
    """The glue-up in words, for who can't see the drawing."""
    lie = CONSTRUCTION_TEXTS[layout.grain].glued
    sizes = " × ".join(format_length(size, display) for size in (layout.length, layout.width, layout.thickness))
    request = layout.request
    finished = " × ".join(
        format_length(size, display) for size in (request.length, layout.planned.jointed_width, request.thickness)
    )
    numbers: dict[tuple[str, str], list[int]] = {}
    for strip in layout.strips:
        numbers.setdefault((strip.letter, strip.offcut.species), []).append(strip.number)
    pieces = "; ".join(
        f"piece {letter}, {species_name(species)}: {'strip' if len(here) == 1 else 'strips'} {format_numbers(here)}"
        for (letter, species), here in numbers.items()
    )
    return f"Strips {lie}: {sizes} before trimming, {finished} finished. Across the board: {pieces}."


def caption_lines(lines: Sequence[str], below: float) -> list[Markup]:
    """Lines of small print under a drawing, 15 units each."""
    return [svg.letters(LEFT, below + 12 + row * 15, text, "ink-caption", "start") for row, text in enumerate(lines)]


def _notes(layout: GlueUpLayout, display: Display) -> list[str]:
    trims = [
        f"{where} {format_fine(max(trim), display, with_unit=False)}"
        for trim, where in ((layout.end_trims, "ends"), (layout.side_trims, "sides"), (layout.face_trims, "faces"))
        if max(trim) > 0
    ]
    finished = "panel" if layout.planned.rows else "board"
    notes = [svg.scale_note(display), f"Heavy line: the finished {finished}."]
    return notes + ([f"Trimmed: {', '.join(trims)} each."] if trims else [])


def _species(layout: GlueUpLayout) -> list[str]:
    return [piece.offcut.species for piece in layout.pieces]


def _end_view(
    layout: GlueUpLayout, display: Display, hatchings: HatchPatterns, drawing_id: str
) -> tuple[list[Markup], float]:
    """The section across the board, with measures above and numbers and letters below."""
    scale = min(
        _room(layout.thickness, layout.request.thickness, display) / _mm(layout.width),
        MAX_END_HEIGHT / _mm(layout.thickness),
        MAX_SCALE,
    )
    flat = CONSTRUCTION_TEXTS[layout.grain].placed_short
    view = Viewport(LEFT, 68.0, scale)
    view_id = f"{drawing_id}-end"
    shapes: list[Markup] = []
    for strip in layout.strips:
        fill = hatchings.paint(strip.offcut.species, view_id)
        shapes.append(svg.rect("ink-strip", strip.start, 0, strip.width, layout.thickness, fill))
    shapes += _trim_shapes(layout.width, layout.thickness, layout.side_trims, layout.face_trims)
    parts = [
        hatchings.definitions(view_id, _species(layout), scale),
        svg.letters(LEFT, 9, f"Seen from the end: strips {flat}", "ink-caption", "start"),
        view.group(shapes, "drawn-from-the-end"),
        *_top_dimensions(view, layout.width, layout.side_trims, display),
        *_side_dimensions(view, layout.width, layout.thickness, layout.face_trims, display),
    ]
    numbers, bottom = _number_labels(view, layout)
    letters, bottom = _piece_brackets(view, layout.runs, bottom)
    return [*parts, *numbers, *letters], bottom


def top_view(
    layout: GlueUpLayout,
    display: Display,
    hatchings: HatchPatterns,
    view_id: str,
    top: float,
    draw_strip: Callable[[Strip], Markup],
) -> tuple[list[Markup], float]:
    """The board from above, its length from left to right, the first strip at the top.

    `draw_strip` draws a strip in millimeters. Returns the drawing's parts and how far down they reach.
    """
    scale = min(
        _room(layout.width, layout.planned.jointed_width, display) / _mm(layout.length),
        MAX_TOP_HEIGHT / _mm(layout.width),
        MAX_SCALE,
    )
    view = Viewport(LEFT, top + 66.0, scale)
    shapes = [draw_strip(strip) for strip in layout.strips]
    shapes += _trim_shapes(layout.length, layout.width, layout.end_trims, layout.side_trims)
    parts = [
        hatchings.definitions(view_id, _species(layout), scale),
        svg.letters(LEFT, top + 7, "Seen from above", "ink-caption", "start"),
        view.group(shapes, "drawn-from-above"),
        *_top_dimensions(view, layout.length, layout.end_trims, display),
        *_side_dimensions(view, layout.length, layout.width, layout.side_trims, display),
        *_strip_number_labels(view, layout),
    ]
    return parts, view.down(layout.width)


def _room(whole: Length, finished: Length, display: Display) -> float:
    """How long a view may be drawn, so that the two measures beside it can be read."""
    texts = [
        svg.text_width(format_length(whole, display, with_unit=False)),
        svg.text_width(format_length(finished, display, with_unit=False), bold=True),
    ]
    return svg.SVG_WIDTH - LEFT - SIDE_MARGIN - max(texts)


def _mm(length: Length) -> float:
    return length / svg.NM_PER_MM


def _trim_shapes(
    across: Length, down: Length, sides: tuple[Length, Length], ends: tuple[Length, Length]
) -> list[Markup]:
    """What is trimmed all round, veiled and hatched, and the finished board within."""
    left, right = sides
    over, under = ends
    trims = [
        (0, 0, across, over),
        (0, down - under, across, under),
        (0, over, left, down - over - under),
        (across - right, over, right, down - over - under),
    ]
    shapes = [svg.rect("ink-trim", *trim) for trim in trims if min(trim[2:]) > 0]
    shapes.append(svg.rect("ink-board", left, over, across - left - right, down - over - under))
    return shapes


def _top_dimensions(view: Viewport, across: Length, trims: tuple[Length, Length], display: Display) -> list[Markup]:
    """Over a view: the whole and, nearer to the wood, the finished size with the trims beside it."""
    left, right = view.across(trims[0]), view.across(across - trims[1])
    outer, inner = view.y - 36, view.y - 10
    finished = format_length(across - trims[0] - trims[1], display, with_unit=False)
    ends = "".join(f"M{svg.number(x)} {svg.number(view.y)}V{svg.number(inner)}" for x in (left, right))
    whole = "".join(f"M{svg.number(x)} {svg.number(view.y)}V{svg.number(outer)}" for x in (view.x, view.across(across)))
    return [
        svg.extension_line(ends + whole),
        svg.horizontal_dimension(view.x, view.across(across), outer, format_length(across, display, with_unit=False)),
        svg.horizontal_dimension(left, right, inner, finished),
        *_trim_dimension(right, view.across(across), inner, trims[1], display),
    ]


def _trim_dimension(left: float, right: float, y: float, trim: Length, display: Display) -> list[Markup]:
    return (
        [svg.horizontal_dimension(left, right, y, format_length(trim, display, with_unit=False), "after")]
        if trim
        else []
    )


def _side_dimensions(
    view: Viewport, across: Length, down: Length, trims: tuple[Length, Length], display: Display
) -> list[Markup]:
    """Beside a view: the whole height and the finished one."""
    x = view.across(across) + 10
    top, bottom = view.down(trims[0]), view.down(down - trims[1])
    finished = format_length(down - trims[0] - trims[1], display, with_unit=False)
    whole = format_length(down, display, with_unit=False)
    first = max((view.y + view.down(down)) / 2 - 7, view.y + 5)
    ticks = f"M{svg.number(x - 8)} {svg.number(top)}h12M{svg.number(x - 8)} {svg.number(bottom)}h12"
    outer = (
        f"M{svg.number(x + 6)} {svg.number(view.y)}h8M{svg.number(x + 6)} {svg.number(view.down(down))}h8"
        f"M{svg.number(x + 10)} {svg.number(view.y)}V{svg.number(view.down(down))}"
    )
    return [
        svg.line(f"{ticks}M{svg.number(x)} {svg.number(top)}V{svg.number(bottom)}"),
        svg.line(outer),
        svg.letters(x + 15, first, finished, "ink-strong", "start"),
        svg.letters(x + 15, first + 15, whole, anchor="start"),
    ]


def _number_labels(view: Viewport, layout: GlueUpLayout) -> tuple[list[Markup], float]:
    """Each strip's number below it; where strips are thin, in as many rows as it takes."""
    narrowest = min(view.size(strip.width) for strip in layout.strips)
    widest_number = svg.text_width(str(layout.strips[-1].number), bold=True) + 3
    rows = min(max(ceil(widest_number / narrowest), 1), 6)
    below = view.down(layout.thickness)
    marks: list[Markup] = []
    for strip in layout.strips:
        row = (strip.number - 1) % rows
        x = (view.across(strip.start) + view.across(strip.end)) / 2
        y = below + 11 + row * 13
        if row:
            marks.append(svg.extension_line(f"M{svg.number(x)} {svg.number(below)}V{svg.number(y - 6)}"))
        marks.append(svg.letters(x, y, str(strip.number), "ink-number"))
    return marks, below + 11 + (rows - 1) * 13 + 6


def _piece_brackets(view: Viewport, runs: Sequence[Sequence[Strip]], top: float) -> tuple[list[Markup], float]:
    """A bracket under the strips of each piece, with the piece's letter."""
    marks: list[Markup] = []
    lowest = top + 6
    previous_right = -100.0
    row = 0
    for run in runs:
        left, right = view.across(run[0].start) + 1, view.across(run[-1].end) - 1
        width = svg.text_width(run[0].letter)
        middle = (left + right) / 2
        row = row + 1 if middle - width / 2 < previous_right + 2 else 0
        previous_right = middle + width / 2
        y = top + 6
        marks.append(
            svg.line(
                f"M{svg.number(left)} {svg.number(y - 5)}v5H{svg.number(right)}v-5"
                f"M{svg.number(middle)} {svg.number(y)}v{svg.number(4 + row * 14)}"
            )
        )
        marks.append(svg.letters(middle, y + 11 + row * 14, run[0].letter, "ink-strong"))
        lowest = max(lowest, y + 11 + row * 14)
    return marks, lowest + 7


def _strip_number_labels(view: Viewport, layout: GlueUpLayout) -> Iterator[Markup]:
    """Numbers on the strips; side by side in columns where strips are thin."""
    narrowest = min(view.size(strip.width) for strip in layout.strips)
    columns = min(max(ceil(12 / narrowest), 1), 8)
    for strip in layout.strips:
        column = (strip.number - 1) % columns
        y = (view.down(strip.start) + view.down(strip.end)) / 2
        yield svg.letters(
            view.across(layout.length) / 2 + (column - (columns - 1) / 2) * 20, y, str(strip.number), "ink-number"
        )
