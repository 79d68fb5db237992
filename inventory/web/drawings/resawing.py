"""The strips of one offcut that are resawn to leaves, drawn to scale as seen from their end.

Shapes are in exact millimeters.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from markupsafe import Markup

from inventory.core.lengths import Display, Length, format_length
from inventory.cutting.marking_out import Layer, RegionUse, ResawnStrip
from inventory.layout.positions import LetteredPiece
from inventory.web.drawings import svg
from inventory.web.drawings.hatching import HatchPatterns, species_name
from inventory.web.drawings.svg import Viewport
from inventory.wording.steps import format_fine, format_numbers

LEFT = 8.0
TOP = 34.0
MAX_HEIGHT = 96.0
SIDE_MARGIN = 62.0
"""Beside the strip, for how wide it is ripped."""
MAX_SCALE = 5.0


def draw_resawing(
    pieces: Sequence[LetteredPiece], display: Display, hatchings: HatchPatterns, drawing_id: str
) -> Markup | None:
    """The strips of one piece, or of like pieces, from the end; None where they stay whole."""
    marked = pieces[0].marked
    if not marked.resawn:
        return None
    ripped = marked.lengths[0].ripped
    scale = min(
        (svg.SVG_WIDTH - LEFT - SIDE_MARGIN) / (marked.clean / svg.NM_PER_MM),
        MAX_HEIGHT / (ripped / svg.NM_PER_MM),
        MAX_SCALE,
    )
    species = marked.offcut.species
    parts = [hatchings.definitions(drawing_id, [species], scale)]
    top = TOP
    for like in _group_identical(marked.resawn):
        view = Viewport(LEFT, top, scale)
        strip = marked.resawn[like[0]]
        shapes = [_slab(slab, ripped, species, hatchings, drawing_id) for slab in strip.layers]
        shapes.append(svg.rect("ink-outline", 0, 0, marked.clean, ripped))
        parts += [view.group(shapes, "drawn-strip"), *_measures(view, strip, marked.clean, ripped, display)]
        top = view.down(ripped) + 14
        for line in _leaf_numbers_text(pieces, like):
            parts.append(svg.letters(LEFT, top, line, "ink-caption", "start"))
            top += 15
        top += TOP
    bottom = top - TOP
    return svg.drawing(
        drawing_id,
        "drawn-resawing",
        bottom,
        f"Strips of piece {', '.join(piece.letter for piece in pieces)}, {species_name(species)}, from the end",
        description(pieces, display),
        parts,
    )


def description(pieces: Sequence[LetteredPiece], display: Display) -> str:
    """The resawing in words, for who can't see the drawing."""
    marked = pieces[0].marked
    sentences = [f"Each strip is {format_fine(marked.clean, display)} thick."]
    for like in _group_identical(marked.resawn):
        strip = marked.resawn[like[0]]
        leaves = "one leaf" if strip.leaves == 1 else f"{strip.leaves} leaves"
        how = f"resawn to {leaves}, {format_fine(strip.sawn, display)} thick" if strip.passes else "planed down"
        sentences.append(f"{' '.join(_leaf_numbers_text(pieces, like))}: {how}.")
    return " ".join(sentences)


def _group_identical(resawn: Sequence[ResawnStrip]) -> list[list[int]]:
    """Which strips are resawn alike, in their order."""
    layers = [tuple((slab.use, slab.start) for slab in strip.layers) for strip in resawn]
    return [list(group) for _, group in groupby(range(len(resawn)), key=lambda place: layers[place])]


def _slab(slab: Layer, ripped: Length, species: str, hatchings: HatchPatterns, drawing_id: str) -> Markup:
    place = (slab.start, 0, slab.thickness, ripped)
    match slab.use:
        case RegionUse.LEAF:
            return svg.rect("ink-strip", *place, hatchings.paint(species, drawing_id))
        case RegionUse.RESAW_KERF:
            return svg.rect("ink-kerf", *place, "currentColor")
        case _:
            return svg.rect("ink-lost", *place) + svg.cross(*place)


def _measures(view: Viewport, strip: ResawnStrip, clean: Length, ripped: Length, display: Display) -> Iterator[Markup]:
    """Over the strip its thickness and that of the first leaf, beside it how wide it is ripped."""
    first = strip.layers[0]
    leaf = format_fine(first.thickness, display).rpartition(" ")[0]
    yield svg.horizontal_dimension(view.x, view.across(first.thickness), view.y - 8, leaf, "after")
    whole = format_fine(clean, display).rpartition(" ")[0]
    yield svg.horizontal_dimension(view.x, view.across(clean), view.y - 22, whole, "after")
    x = view.across(clean) + 8
    yield svg.vertical_dimension(view.y, view.down(ripped), x, format_length(ripped, display, with_unit=False))


def _leaf_numbers_text(pieces: Sequence[LetteredPiece], like: Sequence[int]) -> list[str]:
    """Which leaves come out of the strips that are resawn alike, for each piece a line."""
    lines = []
    for piece in pieces:
        groups = [
            format_numbers(piece.numbers_by_strip[place]) if piece.numbers_by_strip[place] else "spare"
            for place in like
        ]
        one = len(groups) == 1 and len(piece.numbers_by_strip[like[0]]) == 1
        of = f"{piece.letter}: " if len(pieces) > 1 else ""
        order = "" if one else ", from left to right"
        lines.append(f"{of}{'leaf' if one else 'leaves'} {', then '.join(groups)}{order}")
    return lines
