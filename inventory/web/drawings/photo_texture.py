"""A glue-up from above with the offcuts' own photos as its texture, so that it is seen before it is cut.

Each strip shows the part of its offcut's photo that it is cut from, at the scale of the drawing. Shapes are in exact
millimeters, photos as near as they were taken.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from inventory.core.lengths import Display, mm_text
from inventory.cutting.marking_out import Region
from inventory.layout.positions import GlueUpLayout, LetteredPiece, Strip
from inventory.services.rack.photo_outline import PhotoPlacement
from inventory.web.drawings import svg
from inventory.web.drawings.board_preview import species_color
from inventory.web.drawings.glue_up import caption_lines, description, top_view
from inventory.web.drawings.hatching import HatchPatterns


@dataclass(frozen=True)
class Texture:
    """A photo of an offcut: its address, its width and height in pixels, and where the offcut is in it."""

    address: str
    width: int
    height: int
    placement: PhotoPlacement


def draw_with_photos(
    layout: GlueUpLayout, textures: Mapping[str, Texture], display: Display, hatchings: HatchPatterns, drawing_id: str
) -> Markup:
    """The drawing of one glue-up from above; `textures` by tag, `drawing_id` must be unique on the page."""
    draw_strip = strip_renderer(layout, textures, hatchings, drawing_id)
    parts, bottom = top_view(layout, display, hatchings, drawing_id, 0, draw_strip)
    notes = _notes(layout, textures)
    return svg.drawing(
        drawing_id,
        "drawn-glue-up drawn-pictured",
        bottom + 9 + 15 * len(notes),
        f"Glue-up of {len(layout.strips)} strips{', as the photos of its offcuts show them' if textures else ''}",
        description(layout, display),
        [*parts, *caption_lines(notes, bottom)],
    )


def strip_renderer(
    layout: GlueUpLayout, textures: Mapping[str, Texture], hatchings: HatchPatterns, drawing_id: str
) -> Callable[[Strip], Markup]:
    """How a strip of this glue-up is painted, in millimeters: by its photo, else in its wood's tone and hatching."""
    pieces = {(piece.offcut.tag, piece.marked.piece): piece for piece in layout.pieces}

    def draw_strip(strip: Strip) -> Markup:
        place = (0, strip.start, layout.length, strip.width)
        texture = textures.get(strip.offcut.tag)
        if texture is None:
            species = strip.offcut.species
            hatched = svg.rect("ink-strip", *place, hatchings.paint(species, drawing_id))
            return svg.rect("ink-tone", *place, species_color(species)) + hatched
        region = _source_region(pieces[strip.offcut.tag, strip.piece], strip.nth)
        return _photo(strip, region, texture, layout) + svg.rect("ink-strip", *place)

    return draw_strip


def _notes(layout: GlueUpLayout, textures: Mapping[str, Texture]) -> list[str]:
    if not textures:
        return ["In the tone and hatching of each wood."]
    notes = ["Each offcut as its photo shows its face,", "about to scale."]
    if layout.grain.on_edge:
        notes.append("On edge, it is the edge that will show.")
    if any(strip.offcut.tag not in textures for strip in layout.strips):
        notes.append("Hatched: no photo of it.")
    return notes


def _source_region(piece: LetteredPiece, nth: int) -> Region:
    """Where on its piece a strip is ripped, or the strip of which it is a leaf."""
    strips = [region for length in piece.marked.lengths for region in length.strips]
    for region, many in zip(strips, piece.marked.strips_by_rip, strict=True):
        nth -= many
        if nth < 0:
            return region
    return strips[-1]


def _photo(strip: Strip, region: Region, texture: Texture, layout: GlueUpLayout) -> Markup:
    """The photo behind a window as large as the strip, moved until the strip's own wood shows."""
    offcut, placement = strip.offcut, texture.placement
    long, wide = offcut.length / svg.NM_PER_MM, offcut.width / svg.NM_PER_MM
    window_long, window_wide = layout.length / svg.NM_PER_MM, strip.width / svg.NM_PER_MM
    # A strip on edge may be wider than what is ripped for it: the window stays on the piece.
    room = max((wide - window_wide) / 2, 0.0)
    along = (region.along + region.length / 2) / svg.NM_PER_MM - long / 2
    across = min(max((region.across + region.width / 2) / svg.NM_PER_MM - wide / 2, -room), room)
    longer = max(texture.width, texture.height)
    scales = (long / placement.long, max(wide, window_wide) / placement.wide)
    return Markup(
        '<svg class="drawn-photo" x="0" y="{y}" width="{width}" height="{height}" viewBox="{left} {top} {w} {h}" '
        'preserveAspectRatio="none"><g transform="{lying}translate({along} {across}) scale({sx} {sy}) '
        'rotate({turn}) translate({x} {middle})"><image href="{href}" width="{photo_width}" height="{photo_height}" '
        'preserveAspectRatio="none"/></g></svg>'
    ).format(
        y=mm_text(strip.start),
        width=mm_text(layout.length),
        height=mm_text(strip.width),
        left=svg.number(-window_long / 2),
        top=svg.number(-window_wide / 2),
        w=svg.number(window_long),
        h=svg.number(window_wide),
        lying=("rotate(180) " if strip.turned else "") + ("scale(1 -1) " if strip.flipped else ""),
        along=svg.number(-along),
        across=svg.number(-across),
        sx=svg.number(scales[0]),
        sy=svg.number(scales[1]),
        turn=svg.number(-placement.turn),
        x=f"{-placement.x:.4f}",
        middle=f"{-placement.y:.4f}",
        href=texture.address,
        photo_width=f"{texture.width / longer:.4f}",
        photo_height=f"{texture.height / longer:.4f}",
    )
