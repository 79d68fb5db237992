"""A finished board from above, without measures or numbers: the picture on the card that goes with it.

Shapes are in exact millimeters.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from markupsafe import Markup

from inventory.core.lengths import mm_text
from inventory.layout.end_grain_rows import SlicedBoard
from inventory.layout.positions import GlueUpLayout
from inventory.web.drawings import svg
from inventory.web.drawings.board_preview import species_color
from inventory.web.drawings.end_grain import cells_of
from inventory.web.drawings.hatching import HatchPatterns
from inventory.web.drawings.photo_texture import Texture, strip_renderer

MAX_HEIGHT = 130.0


def draw_glued_board(
    layout: GlueUpLayout, textures: Mapping[str, Texture], hatchings: HatchPatterns, drawing_id: str
) -> Markup:
    """A board that is one glue-up: each strip by its offcut's photo, else in the tone and hatching of its wood."""
    draw_strip = strip_renderer(layout, textures, hatchings, drawing_id)
    species = [strip.offcut.species for strip in layout.strips]
    frame = (layout.end_trims[0], layout.side_trims[0], layout.request.length, layout.request.width)
    return _cropped(drawing_id, frame, species, hatchings, [draw_strip(strip) for strip in layout.strips])


def draw_sliced(board: SlicedBoard, hatchings: HatchPatterns, drawing_id: str) -> Markup:
    """An end-grain board, each cell in the tone and hatching of its wood: no photo shows an end."""
    shapes = []
    for name, places in cells_of(board).items():
        shapes.append(svg.rects("ink-tone", places, species_color(name)))
        shapes.append(svg.rects("ink-strip", places, hatchings.paint(name, drawing_id)))
    before, after = board.end_trims
    frame = (before, board.side_trims[0], board.length - before - after, board.finished_width)
    return _cropped(drawing_id, frame, list(cells_of(board)), hatchings, shapes)


def _cropped(
    drawing_id: str,
    frame: tuple[int, int, int, int],
    species: list[str],
    hatchings: HatchPatterns,
    shapes: Iterable[Markup],
) -> Markup:
    """The shapes within the frame (x, y, width and height in nanometers), as large as the paper allows."""
    left, top, across, down = frame
    scale = min((svg.SVG_WIDTH - 2) * svg.NM_PER_MM / across, MAX_HEIGHT * svg.NM_PER_MM / down)
    wide, high = across / svg.NM_PER_MM * scale, down / svg.NM_PER_MM * scale
    x = (svg.SVG_WIDTH - wide) / 2
    window = Markup('<svg x="{}" y="1" width="{}" height="{}" viewBox="{} {} {} {}">{}</svg>').format(
        *(svg.number(each) for each in (x, wide, high)),
        *(mm_text(each) for each in frame),
        Markup("").join([*shapes, svg.rect("ink-board", left, top, across, down)]),
    )
    definitions = hatchings.definitions(drawing_id, sorted(set(species)), scale)
    return svg.drawing(
        drawing_id, "drawn-pictured", high + 2, "The board", "The finished board from above.", [definitions, window]
    )
