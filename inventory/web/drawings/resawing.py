"""The strips of one offcut that are resawn to leaves, drawn to scale as seen from their end.

Knows how layers of a strip are put on paper. Knows no rule of resawing: where the
saw goes is `inventory.cutting.marking_out`. Shapes stand in exact millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from markupsafe import Markup

from inventory.core.lengths import Display, Length, show
from inventory.cutting.marking_out import Resawn, Slab, Use
from inventory.layout.strip_layout import PieceInFill
from inventory.web.drawings import svg
from inventory.web.drawings.hatching import Hatchings, species_name
from inventory.web.drawings.svg import Scaled
from inventory.wording.steps import listed, show_finely

LEFT = 8.0
TOP = 34.0
TALLEST = 96.0
BESIDE = 62.0
"""Beside the strip, for how wide it is ripped."""
LARGEST_SCALE = 5.0


def draw_resawing(
    pieces: Sequence[PieceInFill], display: Display, hatchings: Hatchings, drawing_id: str
) -> Markup | None:
    """The strips of one piece, or of like pieces, from the end; None where they stay whole."""
    marked = pieces[0].marked
    if not marked.resawn:
        return None
    ripped = marked.lengths[0].ripped
    scale = min(
        (svg.DRAWN_WIDTH - LEFT - BESIDE) / (marked.clean / svg.NM_PER_MM),
        TALLEST / (ripped / svg.NM_PER_MM),
        LARGEST_SCALE,
    )
    species = marked.offcut.species
    parts = [hatchings.definitions(drawing_id, [species], scale)]
    top = TOP
    for like in _alike(marked.resawn):
        view = Scaled(LEFT, top, scale)
        strip = marked.resawn[like[0]]
        shapes = [_slab(slab, ripped, species, hatchings, drawing_id) for slab in strip.slabs]
        shapes.append(svg.box("ink-outline", 0, 0, marked.clean, ripped))
        parts += [view.group(shapes, "drawn-strip"), *_measures(view, strip, marked.clean, ripped, display)]
        top = view.down(ripped) + 14
        for line in _numbers_told(pieces, like):
            parts.append(svg.letters(LEFT, top, line, "ink-caption", "start"))
            top += 15
        top += TOP
    bottom = top - TOP
    return svg.drawing(
        drawing_id,
        "drawn-resawing",
        bottom,
        f"Strips of piece {', '.join(piece.letter for piece in pieces)}, {species_name(species)}, from the end",
        told(pieces, display),
        parts,
    )


def told(pieces: Sequence[PieceInFill], display: Display) -> str:
    """The resawing in words, for who can't see the drawing."""
    marked = pieces[0].marked
    sentences = [f"Each strip is {show_finely(marked.clean, display)} thick."]
    for like in _alike(marked.resawn):
        strip = marked.resawn[like[0]]
        leaves = "one leaf" if strip.leaves == 1 else f"{strip.leaves} leaves"
        how = f"resawn to {leaves}, {show_finely(strip.sawn, display)} thick" if strip.passes else "planed down"
        sentences.append(f"{' '.join(_numbers_told(pieces, like))}: {how}.")
    return " ".join(sentences)


def _alike(resawn: Sequence[Resawn]) -> list[list[int]]:
    """Which strips are resawn alike, in their order."""
    layers = [tuple((slab.use, slab.start) for slab in strip.slabs) for strip in resawn]
    return [list(group) for _, group in groupby(range(len(resawn)), key=lambda place: layers[place])]


def _slab(slab: Slab, ripped: Length, species: str, hatchings: Hatchings, drawing_id: str) -> Markup:
    place = (slab.start, 0, slab.thickness, ripped)
    match slab.use:
        case Use.LEAF:
            return svg.box("ink-strip", *place, hatchings.paint(species, drawing_id))
        case Use.RESAW_KERF:
            return svg.box("ink-kerf", *place, "currentColor")
        case _:
            return svg.box("ink-lost", *place) + svg.crossed(*place)


def _measures(view: Scaled, strip: Resawn, clean: Length, ripped: Length, display: Display) -> Iterator[Markup]:
    """Over the strip its thickness and that of the first leaf, beside it how wide it is ripped."""
    first = strip.slabs[0]
    leaf = show_finely(first.thickness, display).rpartition(" ")[0]
    yield svg.measure_along(view.x, view.across(first.thickness), view.y - 8, leaf, "after")
    whole = show_finely(clean, display).rpartition(" ")[0]
    yield svg.measure_along(view.x, view.across(clean), view.y - 22, whole, "after")
    x = view.across(clean) + 8
    yield svg.measure_down(view.y, view.down(ripped), x, show(ripped, display, with_unit=False))


def _numbers_told(pieces: Sequence[PieceInFill], like: Sequence[int]) -> list[str]:
    """Which leaves come out of the strips that are resawn alike, for each piece a line."""
    lines = []
    for piece in pieces:
        groups = [listed(piece.by_strip[place]) if piece.by_strip[place] else "spare" for place in like]
        one = len(groups) == 1 and len(piece.by_strip[like[0]]) == 1
        of = f"{piece.letter}: " if len(pieces) > 1 else ""
        order = "" if one else ", from left to right"
        lines.append(f"{of}{'leaf' if one else 'leaves'} {', then '.join(groups)}{order}")
    return lines
