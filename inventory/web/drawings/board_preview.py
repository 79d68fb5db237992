"""The board as it is asked for, drawn to scale while one types: its bands, and the rows of end grain.

A wood is told by its tone, its hatching and, beside the drawing, its name. Shapes stand in exact millimeters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from markupsafe import Markup

from inventory.core.allowances import Allowances
from inventory.core.lengths import Display, Length, format_length
from inventory.core.species import find_species
from inventory.cutting.bands import Band, FieldBand, StripeBand, band_widths
from inventory.cutting.end_grain import rows_needed
from inventory.fill.glue_ups import candidate_depths
from inventory.fill.request import BoardRequest, Grain
from inventory.web.drawings import svg
from inventory.web.drawings.hatching import HatchPatterns, species_name
from inventory.web.drawings.svg import Viewport

LEFT, TOP = 6.0, 30.0
SIDE_MARGIN = 92.0
MAX_HEIGHT = 190.0
LINE = 14.0
MAX_ROWS = 200
"""More rows are not drawn one by one: they would be a blur."""
DEFAULT_COLOR = "#efe6d2"
"""Wood of which nothing is known, or any: pale."""
LINE_COLOR = "#2b2118"
"""Lines on wood are dark in every color scheme, since the species keep their tones."""


@dataclass(frozen=True)
class PositionedBand:
    """One band in the finished board: where it begins and how wide it is."""

    number: int
    band: Band
    start: Length
    width: Length


def position_bands(bands: Sequence[Band], width: Length) -> tuple[PositionedBand, ...]:
    """The bands of a board of this finished width, one after another. Raises NotBands."""
    whole = tuple(bands) or (FieldBand(),)
    start = 0
    places = []
    for number, (band, wide) in enumerate(zip(whole, band_widths(whole, width, Length(0)), strict=True), 1):
        # Shares are rounded up to a nanometer: the last one ends with the board.
        here = min(wide, width - start)
        places.append(PositionedBand(number, band, Length(start), Length(here)))
        start += here
    return tuple(places)


@dataclass(frozen=True)
class RowLayout:
    """The rows of an end-grain board: how deep each is, and how many make the board and its trim."""

    depth: Length
    count: int


def row_layout(length: Length, typed_depth: Length | None, allowances: Allowances) -> RowLayout | None:
    """The rows of an end-grain board as deep as typed, else as the first depth that is tried; None where none is."""
    depth = typed_depth
    if depth is None:
        square = BoardRequest(length, length, length, Grain.END, allowances=allowances)
        depth = next(iter(candidate_depths(square)), None)
    return None if depth is None else RowLayout(depth, rows_needed(length, depth, allowances))


def draw_board_preview(
    length: Length,
    places: Sequence[PositionedBand],
    rows: RowLayout | None,
    display: Display,
    hatchings: HatchPatterns,
    drawing_id: str,
) -> Markup:
    """The board seen from above, its length from left to right, band 1 at the top."""
    width = Length(places[-1].start + places[-1].width)
    scale = min((svg.SVG_WIDTH - LEFT - SIDE_MARGIN) / (length / svg.NM_PER_MM), MAX_HEIGHT / (width / svg.NM_PER_MM))
    view = Viewport(LEFT, TOP, scale)
    woods = [name for place in places for name in place.band.species]
    shapes = [
        shape
        for number, (start, end) in enumerate(_row_ends(length, rows))
        for place in (_mirrored(places, width) if number % 2 else places)
        for shape in _band_shapes(place, start, end, hatchings, drawing_id)
    ]
    outline = svg.rect("ink-board", 0, 0, length, width)
    numbers, bottom = _side_labels(places, view, length, display)
    return svg.drawing(
        drawing_id,
        "drawn-asked",
        max(bottom, view.down(width)) + 6,
        f"The board asked for, {format_length(length, display)} × {format_length(width, display)}",
        describe_bands(places, rows, display),
        [
            Markup('<g color="{}">{}{}</g>').format(
                LINE_COLOR, hatchings.definitions(drawing_id, woods, scale), view.group(shapes, "drawn-bands")
            ),
            view.group([outline], "drawn-outline"),
            svg.horizontal_dimension(view.x, view.across(length), TOP - 9, format_length(length, display)),
            *numbers,
        ],
    )


def _row_ends(length: Length, rows: RowLayout | None) -> list[tuple[int, int]]:
    """Where each row begins and ends along the board; one row as long as the board where it is no end grain."""
    if rows is None or rows.count > MAX_ROWS:
        return [(0, length)]
    first = (length - rows.count * rows.depth) // 2
    cuts = [min(max(first + number * rows.depth, 0), length) for number in range(rows.count + 1)]
    return [(start, end) for start, end in pairwise(cuts) if end > start]


def _mirrored(places: Sequence[PositionedBand], width: Length) -> list[PositionedBand]:
    """The bands of a slice that is turned end for end."""
    return [
        PositionedBand(each.number, each.band, Length(width - each.start - each.width), each.width) for each in places
    ]


def _band_shapes(
    place: PositionedBand, start: int, end: int, hatchings: HatchPatterns, drawing_id: str
) -> list[Markup]:
    """One band of one row; several species of which any will do lie one after another in it."""
    woods = place.band.species or ("",)
    shapes = []
    for number, wood in enumerate(woods):
        left = start + (end - start) * number // len(woods)
        right = start + (end - start) * (number + 1) // len(woods)
        rect = (left, place.start, right - left, place.width)
        shapes.append(svg.rect("ink-tone", *rect, species_color(wood)))
        shapes.append(svg.rect("ink-strip", *rect, hatchings.paint(wood, drawing_id)))
    return shapes


def species_color(species: str) -> str:
    """The pale tone of a wood's grain, as #rrggbb."""
    known = find_species(species)
    return DEFAULT_COLOR if known is None else known.light


def _side_labels(
    places: Sequence[PositionedBand], view: Viewport, length: Length, display: Display
) -> tuple[list[Markup], float]:
    """Each band's number and width right of it, moved apart where bands are thin."""
    edge = view.across(length)
    marks: list[Markup] = []
    lowest = view.y - LINE
    ends = [(view.down(place.start) + view.down(place.start + place.width)) / 2 for place in places]
    for place, middle in zip(places, ends, strict=True):
        lowest = max(lowest + LINE, middle)
        words = f"{place.number}: {_width_text(place, display)}"
        marks.append(
            svg.extension_line(
                f"M{svg.number(edge)} {svg.number(middle)}h5L{svg.number(edge + 12)} {svg.number(lowest)}h4"
            )
        )
        marks.append(svg.letters(edge + 19, lowest, words, anchor="start"))
    return marks, lowest + LINE / 2


def _width_text(place: PositionedBand, display: Display) -> str:
    if isinstance(place.band, StripeBand) and place.band.strips > 1:
        return f"{place.band.strips} × {format_length(place.band.each, display, with_unit=False)}"
    return format_length(place.width, display, with_unit=False)


def describe_bands(places: Sequence[PositionedBand], rows: RowLayout | None, display: Display) -> str:
    """The pattern in words, for who can't see the drawing."""
    bands = "; ".join(
        f"{place.number}: {format_species(place.band.species)}, {_width_text(place, display)}" for place in places
    )
    turned = f" In rows of {format_length(rows.depth, display)}, every second one turned." if rows else ""
    return f"Across the board, band {bands}.{turned}"


def format_species(species: Sequence[str]) -> str:
    """The species of a band as read out.

    >>> format_species(("ash", "oak")), format_species(())
    ('ash or oak', 'any wood')
    """
    return " or ".join(species_name(name) for name in species) or "any wood"


def species_swatches(bands: Sequence[Band], hatchings: HatchPatterns, sample_id: str) -> list[tuple[str, Markup]]:
    """Each wood of the bands once: its name and a patch in its tone and hatching."""
    woods = sorted({name for band in bands for name in band.species})
    return [(name, species_swatch(name, hatchings, f"{sample_id}-{place}")) for place, name in enumerate(woods)]


def species_swatch(species: str, hatchings: HatchPatterns, sample_id: str) -> Markup:
    """A patch for a legend, as the wood is drawn here; the name stands beside it."""
    return Markup(
        '<svg class="hatching" viewBox="0 0 36 20" width="36" height="20" aria-hidden="true"><g color="{ink}">{defs}'
        '<rect x="1" y="1" width="34" height="18" fill="{tone}"/>'
        '<rect class="ink-strip" x="1" y="1" width="34" height="18" fill="{paint}" stroke="currentColor"/></g></svg>'
    ).format(
        ink=LINE_COLOR,
        defs=hatchings.definitions(sample_id, [species], 1.0),
        tone=species_color(species),
        paint=hatchings.paint(species, sample_id),
    )
