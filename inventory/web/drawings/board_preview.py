"""The board as it is asked for, drawn to scale while its form is filled in: its bands, and the rows of end grain.

A species has its tone, its hatching and, beside the drawing, its name. Shapes are in exact millimeters.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise

from markupsafe import Markup

from inventory.core.allowances import Allowances
from inventory.core.lengths import Display, Length, Unit, format_length
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


Edges = Sequence[tuple[int, int]]
"""Where each band of the finished board begins and ends across it."""


def row_depth(length: Length, typed_depth: Length | None, unit: Unit) -> Length | None:
    """How deep the rows of an end-grain board are drawn: as typed, else the largest usual depth, if any.

    Raises InvalidRequest where no board has this length.
    """
    if typed_depth is not None:
        return typed_depth
    square = BoardRequest(length, length, length, Grain.END, unit=unit)
    return next(iter(candidate_depths(square)), None)


def draw_board_preview(
    length: Length,
    width: Length,
    bands: Sequence[Band],
    depth: Length | None,
    allowances: Allowances,
    display: Display,
    hatchings: HatchPatterns,
    drawing_id: str,
) -> Markup:
    """The board seen from above, its length from left to right, band 1 at the top; with a `depth` in rows of end grain.

    Raises InvalidBands where the stripes leave no width for a field.
    """
    bands = tuple(bands) or (FieldBand(),)
    edges = _band_edges(bands, width)
    scale = min((svg.SVG_WIDTH - LEFT - SIDE_MARGIN) / (length / svg.NM_PER_MM), MAX_HEIGHT / (width / svg.NM_PER_MM))
    view = Viewport(LEFT, TOP, scale)
    woods = [name for band in bands for name in band.species]
    shapes: list[Markup] = []
    for number, (start, end) in enumerate(_row_ends(length, depth, allowances)):
        for band, (top, bottom) in zip(bands, edges, strict=True):
            # Every second slice is turned end for end.
            first = width - bottom if number % 2 else top
            shapes += _band_shapes(band.species, (start, first, end - start, bottom - top), hatchings, drawing_id)
    outline = svg.rect("ink-board", 0, 0, length, width)
    numbers, lowest = _side_labels(bands, edges, view, length, display)
    return svg.drawing(
        drawing_id,
        "drawn-asked",
        max(lowest, view.down(width)) + 6,
        f"The board asked for, {format_length(length, display)} × {format_length(width, display)}",
        _description(bands, edges, depth, display),
        [
            Markup('<g color="{}">{}{}</g>').format(
                LINE_COLOR, hatchings.definitions(drawing_id, woods, scale), view.group(shapes, "drawn-bands")
            ),
            view.group([outline], "drawn-outline"),
            svg.horizontal_dimension(view.x, view.across(length), TOP - 9, format_length(length, display)),
            *numbers,
        ],
    )


def _band_edges(bands: Sequence[Band], width: Length) -> Edges:
    # Shares are rounded up to a nanometer: the last band ends with the board.
    ends = [min(end, width) for end in accumulate(band_widths(bands, width, Length(0)))]
    return list(pairwise([0, *ends]))


def _row_ends(length: Length, depth: Length | None, allowances: Allowances) -> list[tuple[int, int]]:
    """Where each row begins and ends along the board; one row as long as the board where it is no end grain."""
    rows = 0 if depth is None else rows_needed(length, depth, allowances)
    if depth is None or rows > MAX_ROWS:
        return [(0, length)]
    first = (length - rows * depth) // 2
    cuts = [min(max(first + number * depth, 0), length) for number in range(rows + 1)]
    return [(start, end) for start, end in pairwise(cuts) if end > start]


def _band_shapes(
    species: Sequence[str], place: tuple[int, int, int, int], hatchings: HatchPatterns, drawing_id: str
) -> list[Markup]:
    """One band of one row; several species, of which any will do, one after another."""
    woods = species or ("",)
    start, top, length, width = place
    shapes = []
    for number, wood in enumerate(woods):
        left = start + length * number // len(woods)
        right = start + length * (number + 1) // len(woods)
        rect = (left, top, right - left, width)
        shapes.append(svg.rect("ink-tone", *rect, species_color(wood)))
        shapes.append(svg.rect("ink-strip", *rect, hatchings.paint(wood, drawing_id)))
    return shapes


def species_color(species: str) -> str:
    """The pale tone of a wood's grain, as #rrggbb."""
    known = find_species(species)
    return DEFAULT_COLOR if known is None else known.light


def _side_labels(
    bands: Sequence[Band], edges: Edges, view: Viewport, length: Length, display: Display
) -> tuple[list[Markup], float]:
    """Each band's number and width right of it, moved apart where bands are thin, and how far down they reach."""
    edge = view.across(length)
    marks: list[Markup] = []
    lowest = view.y - LINE
    for number, (band, (top, bottom)) in enumerate(zip(bands, edges, strict=True), 1):
        middle = (view.down(Length(top)) + view.down(Length(bottom))) / 2
        lowest = max(lowest + LINE, middle)
        marks.append(
            svg.extension_line(
                f"M{svg.number(edge)} {svg.number(middle)}h5L{svg.number(edge + 12)} {svg.number(lowest)}h4"
            )
        )
        text = f"{number}: {_width_text(band, bottom - top, display)}"
        marks.append(svg.letters(edge + 19, lowest, text, anchor="start"))
    return marks, lowest + LINE / 2


def _width_text(band: Band, width: int, display: Display) -> str:
    if isinstance(band, StripeBand) and band.strips > 1:
        return f"{band.strips} × {format_length(band.each, display, with_unit=False)}"
    return format_length(Length(width), display, with_unit=False)


def _description(bands: Sequence[Band], edges: Edges, depth: Length | None, display: Display) -> str:
    """The pattern in words, for who can't see the drawing."""
    text = "; ".join(
        f"{number}: {format_species(band.species)}, {_width_text(band, bottom - top, display)}"
        for number, (band, (top, bottom)) in enumerate(zip(bands, edges, strict=True), 1)
    )
    turned = f" In rows of {format_length(depth, display)}, every second one turned." if depth else ""
    return f"Across the board, band {text}.{turned}"


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
    """A patch for a legend, as the wood is drawn here; the name is written beside it."""
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
