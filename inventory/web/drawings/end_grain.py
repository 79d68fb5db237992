"""An end-grain board drawn to scale: its panels with their slices, and the rows turned up and glued.

Shapes are in exact millimeters.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from markupsafe import Markup

from inventory.core.lengths import Display, Length, format_length
from inventory.layout.end_grain_rows import SlicedBoard
from inventory.layout.positions import GlueUpLayout, Strip
from inventory.web.drawings import svg
from inventory.web.drawings.hatching import HatchPatterns, species_name
from inventory.web.drawings.svg import Viewport
from inventory.wording.steps import format_numbers

LEFT = 6.0
SIDE_MARGIN = 18.0
MAX_HEIGHT = 250.0
MAX_SCALE = 3.0
MIN_NUMBER_WIDTH = 14.0

Cell = tuple[int, int, int, int]


def draw_slicing(board: SlicedBoard, display: Display, hatchings: HatchPatterns, drawing_id: str) -> Markup:
    """The panels from above, each with its slices numbered as the rows that they become."""
    longest = max(layout.request.length for layout in board.panels)
    scale = _scale(longest, board.width, display)
    species = _species(board)
    parts = [hatchings.definitions(drawing_id, species, scale)]
    top = 0.0
    for number, layout in enumerate(board.panels):
        rows = board.rows_of(number)
        starts = [place * (board.slice_length + board.kerf) for place in range(len(rows))]
        view = Viewport(LEFT, top + 44, scale)
        caption = "The panel from above" if len(board.panels) == 1 else f"Panel {number + 1} from above"
        cells: dict[str, list[Cell]] = {}
        for along in starts:
            for strip, start, width in _across(layout):
                place = (along, start, board.slice_length, width)
                cells.setdefault(strip.offcut.species, []).append(place)
        kerfs = [(along - board.kerf, 0, board.kerf, board.width) for along in starts[1:] if board.kerf]
        shapes = [
            *_filled_cells(cells, hatchings, drawing_id),
            svg.rects("ink-kerf", kerfs, "currentColor"),
            svg.rect("ink-outline", 0, 0, layout.request.length, board.width),
        ]
        first = view.across(board.slice_length)
        parts += [
            svg.letters(LEFT, top + 7, caption, "ink-caption", "start"),
            view.group(shapes, "drawn-panel"),
            svg.horizontal_dimension(
                view.x, first, view.y - 8, format_length(board.slice_length, display, with_unit=False), "after"
            ),
            svg.vertical_dimension(
                view.y,
                view.down(board.width),
                view.across(layout.request.length) + 8,
                format_length(board.width, display, with_unit=False),
            ),
        ]
        middles = [view.across(Length(along + board.slice_length // 2)) for along in starts]
        marks, top = _slice_numbers(middles, rows, view.down(board.width))
        parts += marks
    notes = [svg.scale_note(display), "Dark: what the saw takes."]
    parts += [svg.letters(LEFT, top + row * 15, text, "ink-caption", "start") for row, text in enumerate(notes)]
    return svg.drawing(
        drawing_id,
        "drawn-slicing",
        top + 23,
        f"{board.rows} slices of {'the panel' if len(board.panels) == 1 else f'{len(board.panels)} panels'}",
        f"Each slice is {format_length(board.slice_length, display)} along the grain and "
        f"{format_length(board.width, display)} long.",
        parts,
    )


def draw_sliced_board(board: SlicedBoard, display: Display, hatchings: HatchPatterns, drawing_id: str) -> Markup:
    """The finished board from above: rows side by side, every second one turned, end grain up."""
    scale = _scale(board.length, board.width, display)
    view = Viewport(LEFT, 58.0, scale)
    shapes = [*_filled_cells(cells_of(board), hatchings, drawing_id), *_trim_shapes(board)]
    middles = [view.across(Length(row * board.depth + board.depth // 2)) for row in range(board.rows)]
    marks, bottom = _slice_numbers(middles, range(1, board.rows + 1), view.down(board.width))
    notes = [f"{svg.scale_note(display)} Numbers: slices."]
    if board.turned_rows:
        notes.append(f"Turned end for end: {_turned_text(board.turned_rows)}.")
    finished = board.length if board.finished_length is None else board.finished_length
    before, _ = board.end_trims
    parts = [
        hatchings.definitions(drawing_id, _species(board), scale),
        svg.letters(LEFT, 7, "The board from above: end grain", "ink-caption", "start"),
        view.group(shapes, "drawn-rows"),
        svg.horizontal_dimension(
            view.across(before),
            view.across(Length(before + finished)),
            view.y - 10,
            format_length(finished, display, with_unit=False),
        ),
        svg.vertical_dimension(
            view.down(board.side_trims[0]),
            view.down(Length(board.side_trims[0] + board.finished_width)),
            view.across(board.length) + 8,
            format_length(board.finished_width, display, with_unit=False),
        ),
        *marks,
        *(svg.letters(LEFT, bottom + 2 + row * 15, text, "ink-caption", "start") for row, text in enumerate(notes)),
    ]
    return svg.drawing(
        drawing_id,
        "drawn-end-grain",
        bottom - 2 + 15 * len(notes),
        f"End-grain board of {board.rows} rows",
        description(board, display),
        parts,
    )


def cells_of(board: SlicedBoard) -> dict[str, list[Cell]]:
    """By species, where its end grain lies in the board before its ends and sides are trimmed."""
    cells: dict[str, list[Cell]] = {}
    for number, layout in enumerate(board.panels):
        for row in board.rows_of(number):
            along = (row - 1) * board.depth
            for strip, start, width in _across(layout):
                across = board.width - start - width if row in board.turned_rows else start
                cells.setdefault(strip.offcut.species, []).append((along, across, board.depth, width))
    return cells


def description(board: SlicedBoard, display: Display) -> str:
    """The rows in words, for who can't see the drawing."""
    woods = ", ".join(species_name(name) for name in _species(board))
    every = f" Turned end for end: {_turned_text(board.turned_rows)}." if board.turned_rows else ""
    return (
        f"{board.rows} rows, each {format_length(board.depth, display)} of the length, "
        f"{format_length(board.finished_width, display)} wide, "
        f"{format_length(board.thickness, display)} thick when finished, of {woods}.{every}"
    )


def _turned_text(turned: Sequence[int]) -> str:
    return format_numbers(turned) if len(turned) < 4 else f"{turned[0]}, {turned[1]} … {turned[-1]}, every second"


def _scale(along: Length, across: Length, display: Display) -> float:
    room = svg.SVG_WIDTH - LEFT - SIDE_MARGIN - svg.text_width(format_length(across, display, with_unit=False))
    return min(room / (along / svg.NM_PER_MM), MAX_HEIGHT / (across / svg.NM_PER_MM), MAX_SCALE)


def _species(board: SlicedBoard) -> list[str]:
    return sorted({strip.offcut.species for layout in board.panels for strip in layout.strips})


def _across(layout: GlueUpLayout) -> Iterator[tuple[Strip, int, int]]:
    """The strips across a panel once its sides are jointed, with where they begin and how wide they are."""
    left, right = layout.side_trims
    for strip in layout.strips:
        start, end = max(strip.start, left), min(strip.end, layout.width - right)
        if end > start:
            yield strip, start - left, end - start


def _filled_cells(cells: dict[str, list[Cell]], hatchings: HatchPatterns, drawing_id: str) -> list[Markup]:
    return [svg.rects("ink-strip", places, hatchings.paint(name, drawing_id)) for name, places in cells.items()]


def _trim_shapes(board: SlicedBoard) -> list[Markup]:
    """What is trimmed off the first and the last row and off the sides, veiled, and the finished board within."""
    (before, after), (top, bottom) = board.end_trims, board.side_trims
    along = board.length - before - after
    trims = [
        (0, 0, before, board.width),
        (board.length - after, 0, after, board.width),
        (before, 0, along, top),
        (before, board.width - bottom, along, bottom),
    ]
    shapes = [svg.rect("ink-trim", *trim) for trim in trims if min(trim[2:]) > 0]
    return [*shapes, svg.rect("ink-board", before, top, along, board.finished_width)]


def _slice_numbers(middles: Sequence[float], numbers: Sequence[int], below: float) -> tuple[list[Markup], float]:
    """Each slice's number under it; where slices are narrow, in as many lines as it takes."""
    apart = min((right - left for left, right in pairwise(middles)), default=MIN_NUMBER_WIDTH)
    widest = svg.text_width(str(max(numbers)), bold=True) + 3
    lines = min(max(-(-int(widest) // max(int(apart), 1)), 1), 6)
    marks: list[Markup] = []
    for place, (x, number) in enumerate(zip(middles, numbers, strict=True)):
        y = below + 11 + place % lines * 13
        if place % lines:
            marks.append(svg.extension_line(f"M{svg.number(x)} {svg.number(below)}V{svg.number(y - 6)}"))
        marks.append(svg.letters(x, y, str(number), "ink-number"))
    return marks, below + 11 + (lines - 1) * 13 + 14
