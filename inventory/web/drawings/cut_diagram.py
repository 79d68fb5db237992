"""One offcut with its cuts drawn to scale: lengths, rips, kerfs, what is kept and lost.

A piece too long and narrow to be read is drawn shortened between zigzag lines, true in width; otherwise shapes are
in exact millimeters.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from inventory.core.lengths import Display, Length, format_length
from inventory.cutting.marking_out import MarkedPiece, Region, RegionUse
from inventory.layout.positions import LetteredPiece
from inventory.web.drawings import svg
from inventory.web.drawings.hatching import HatchPatterns, species_name
from inventory.web.drawings.svg import Viewport

TOP = 30.0
MAX_HEIGHT = 230.0
MIN_HEIGHT = 18.0
MIN_STRIP_HEIGHT = 11.0
SIDE_MARGIN = 16.0
"""Beside the piece, for a measure's line and ticks; its text comes on top."""
MIN_ZIGZAG_WIDTH = 26.0
MAX_SCALE = 3.0
SPARE = "spare"
"""Written on a strip that comes off with the others of its length and that no glue-up needs."""


@dataclass(frozen=True)
class Segment:
    """A part along the grain, and how long it is drawn: less than it is where `shortened`.

    `zigzag` is left out of a shortened one that has room for its number alone.
    """

    start: Length
    length: Length
    at: Length
    drawn: Length
    zigzag: bool

    @property
    def shortened(self) -> bool:
        return self.drawn < self.length

    @property
    def drawn_end(self) -> Length:
        return Length(self.at + self.drawn)

    @property
    def clear(self) -> Length:
        """How much of it is free for letters: the part before the zigzag."""
        return Length(self.drawn * 7 // 10) if self.zigzag else self.drawn


def draw_cutting(
    pieces: Sequence[LetteredPiece], display: Display, hatchings: HatchPatterns, drawing_id: str
) -> Markup:
    """The cutting drawing of one piece, or of like pieces of a bundle that are cut alike."""
    first = pieces[0]
    marked = first.marked
    left, room = _room(marked, display)
    scale = _scale(marked, room)
    segments = _segments(marked, scale, room)
    view = Viewport(left, TOP, scale)
    shapes = [_region(region, segments, first.offcut.species, hatchings, drawing_id) for region in marked.regions]
    shapes.append(svg.rect("ink-outline", 0, 0, segments[-1].drawn_end, first.offcut.width))
    bottom = view.down(first.offcut.width)
    parts = [
        hatchings.definitions(drawing_id, [first.offcut.species], scale),
        view.group(shapes, "drawn-piece"),
        *_zigzags(view, segments, bottom),
        *_strip_numbers(view, marked, pieces, segments),
        *_leftover_labels(view, marked, segments, display),
        *_length_dimensions(view, marked, segments, display),
        *_width_dimensions(view, marked, display),
        *_overall_dimensions(view, marked, segments, display),
    ]
    lines = [svg.scale_note(display)]
    if any(segment.zigzag for segment in segments):
        lines.append("Drawn shorter at the zigzag, true in width.")
    elif any(segment.shortened for segment in segments):
        lines.append("Drawn shorter than it is, true in width.")
    notes = [svg.letters(8, bottom + 44 + row * 15, text, "ink-caption", "start") for row, text in enumerate(lines)]
    letters = ", ".join(piece.letter for piece in pieces)
    return svg.drawing(
        drawing_id,
        "drawn-cutting",
        bottom + 44 + len(lines) * 15 - 4,
        f"Cuts in piece {letters}, {species_name(first.offcut.species)}",
        description(pieces, display),
        [*parts, *notes],
    )


def description(pieces: Sequence[LetteredPiece], display: Display) -> str:
    """The cuts in words, for who can't see the drawing."""
    marked = pieces[0].marked
    offcut = marked.offcut
    size = " × ".join(format_length(each, display) for each in (offcut.length, offcut.width, offcut.thickness))
    lengths = "; ".join(
        f"length {count} of {format_length(length.length, display)}: "
        f"{_strips_text(len(length.strips), length.ripped, display)}"
        for count, length in enumerate(marked.lengths, 1)
    )
    left = "; ".join(
        f"{format_length(region.length, display)} × {format_length(region.width, display)} {region.use.value}"
        for region in marked.leftovers
    )
    return f"{size}. {lengths}. Left over: {left or 'nothing'}."


def _strips_text(count: int, ripped: Length, display: Display) -> str:
    return f"{count} {'strip' if count == 1 else 'strips'} {format_length(ripped, display)} wide"


def _room(marked: MarkedPiece, display: Display) -> tuple[float, float]:
    """Where the piece begins, and how long it may be drawn, so that the widths beside it can be read."""
    before = max(
        svg.text_width(format_length(region.width, display, with_unit=False)) for region in marked.lengths[0].regions
    )
    after = svg.text_width(format_length(marked.offcut.width, display, with_unit=False))
    left = before + SIDE_MARGIN
    return left, svg.SVG_WIDTH - left - after - SIDE_MARGIN


def _scale(marked: MarkedPiece, room: float) -> float:
    """Units per mm: so that the length fits, unless the strips would then be too thin to be numbered."""
    length, width = (size / svg.NM_PER_MM for size in (marked.offcut.length, marked.offcut.width))
    narrowest = min(strip.width for each in marked.lengths for strip in each.strips) / svg.NM_PER_MM
    fits = min(room / length, MAX_HEIGHT / width, MAX_SCALE)
    legible = min(max(MIN_HEIGHT / width, MIN_STRIP_HEIGHT / narrowest), MAX_HEIGHT / width, MAX_SCALE)
    return max(fits, legible)


def _segments(marked: MarkedPiece, scale: float, room: float) -> list[Segment]:
    """The lengths, kerfs and what is left, from end to end; the long ones shortened until all fit."""
    parts = [(length.along, length.length, True) for length in marked.lengths]
    parts += [(kerf.along, kerf.length, False) for kerf in marked.crosscut_kerfs]
    if marked.leftover is not None:
        parts.append((marked.leftover.along, marked.leftover.length, True))
    parts.sort()
    fixed = sum(length for _, length, may in parts if not may)
    paper = round(room / scale * svg.NM_PER_MM) + 1
    longest = _longest_drawn([length for _, length, may in parts if may], paper - fixed)
    segments: list[Segment] = []
    at = 0
    for start, length, may in parts:
        drawn = min(length, longest) if may else length
        zigzag = drawn < length and drawn / svg.NM_PER_MM * scale >= MIN_ZIGZAG_WIDTH
        segments.append(Segment(start, length, Length(at), Length(drawn), zigzag))
        at += drawn
    return segments


def _longest_drawn(lengths: list[Length], room: int) -> Length:
    """The most that any of these may be drawn long so that together they fit; all of them whole where they do."""
    rest, share = room, 0
    for count, length in enumerate(sorted(lengths)):
        share = rest // (len(lengths) - count)
        if length > share:
            return Length(max(share, 1))
        rest -= length
    return max(lengths)


def _segment_of(region: Region, segments: list[Segment]) -> Segment:
    return next(segment for segment in segments if segment.start == region.along)


def _region(region: Region, segments: list[Segment], species: str, hatchings: HatchPatterns, drawing_id: str) -> Markup:
    segment = _segment_of(region, segments)
    place = (segment.at, region.across, segment.drawn, region.width)
    match region.use:
        case RegionUse.STRIP:
            return svg.rect("ink-strip", *place, hatchings.paint(species, drawing_id))
        case RegionUse.RIP_KERF | RegionUse.CROSSCUT_KERF:
            return svg.rect("ink-kerf", *place, "currentColor")
        case RegionUse.JOINTED:
            return svg.rect("ink-jointed", *place, "currentColor")
        case RegionUse.KEPT:
            return svg.rect("ink-kept", *place)
        case _:
            return svg.rect("ink-lost", *place) + svg.cross(*place)


def _zigzags(view: Viewport, segments: list[Segment], bottom: float) -> Iterator[Markup]:
    for segment in segments:
        if segment.zigzag:
            x = view.across(segment.at) + view.size(segment.drawn) * 0.8
            steps = max(4, int((bottom - view.y) // 7) // 2 * 2)
            step = (bottom - view.y) / steps
            zigzag = "".join(f"l{3 if count % 2 else -3} {svg.number(step)}" for count in range(steps))
            back = "".join(f"l{-3 if count % 2 else 3} {svg.number(-step)}" for count in reversed(range(steps)))
            yield Markup('<path class="ink-gap" d="M{x} {top}{zig}h6{back}z" stroke="none"/>').format(
                x=svg.number(x - 3), top=svg.number(view.y), zig=zigzag, back=back
            )
            for side in (-3, 3):
                yield svg.line(f"M{svg.number(x + side)} {svg.number(view.y)}{zigzag}")


def _strip_numbers(
    view: Viewport, marked: MarkedPiece, pieces: Sequence[LetteredPiece], segments: list[Segment]
) -> Iterator[Markup]:
    for length in marked.lengths:
        for region in length.strips:
            if region.strip is None:
                continue
            segment = _segment_of(region, segments)
            room = view.size(segment.clear)
            numbers = [str(number) for piece in pieces for number in piece.numbers_by_strip[region.strip]] or [SPARE]
            text = ", ".join(numbers)
            if svg.text_width(text, bold=True) > room:
                text = f"{numbers[0]} …" if len(numbers) > 1 else numbers[0]
            x = view.across(segment.at) + room / 2
            yield svg.letters(x, view.down(Length(region.across + region.width // 2)), text, "ink-number")


def _leftover_labels(
    view: Viewport, marked: MarkedPiece, segments: list[Segment], display: Display
) -> Iterator[Markup]:
    """`keep` or `lost` with the sizes on what is left over, as far as there is room."""
    for region in marked.leftovers:
        segment = _segment_of(region, segments)
        room, tall = view.size(segment.clear), view.size(region.width)
        word = "keep" if region.use is RegionUse.KEPT else "lost"
        size = (
            f"{format_length(region.length, display, with_unit=False)} × "
            f"{format_length(region.width, display, with_unit=False)}"
        )
        x, y = view.across(segment.at) + room / 2, view.down(Length(region.across + region.width // 2))
        if tall < 13 or svg.text_width(word, bold=True) > room:
            continue
        if svg.text_width(f"{word} {size}", bold=True) <= room:
            yield svg.letters(x, y, f"{word} {size}", "ink-rest")
        elif tall >= 30 and svg.text_width(size, bold=True) <= room:
            yield svg.letters(x, y - 7, word, "ink-rest")
            yield svg.letters(x, y + 8, size, "ink-rest")
        else:
            yield svg.letters(x, y, word, "ink-rest")


def _length_dimensions(
    view: Viewport, marked: MarkedPiece, segments: list[Segment], display: Display
) -> Iterator[Markup]:
    """Over the piece: each length and what is left of it."""
    kerfs = {kerf.along for kerf in marked.crosscut_kerfs}
    for segment in segments:
        if segment.start in kerfs:
            continue
        left, right = view.across(segment.at), view.across(segment.drawn_end)
        text = format_length(segment.length, display, with_unit=False)
        if svg.text_width(text) <= right - left + 6:
            yield svg.horizontal_dimension(left, right, view.y - 8, text)


def _width_dimensions(view: Viewport, marked: MarkedPiece, display: Display) -> Iterator[Markup]:
    """Left of the piece: the first length's strips and what is left of its width."""
    last_bottom = -100.0
    for region in marked.lengths[0].regions:
        if region.use in (RegionUse.RIP_KERF, RegionUse.JOINTED):
            continue
        top, bottom = view.down(region.across), view.down(Length(region.across + region.width))
        middle = (top + bottom) / 2
        if middle - last_bottom < svg.FONT_SIZE:
            continue
        last_bottom = middle
        yield svg.vertical_dimension(
            top, bottom, view.x - 8, format_length(region.width, display, with_unit=False), "before"
        )


def _overall_dimensions(view: Viewport, marked: MarkedPiece, segments: list[Segment], display: Display) -> list[Markup]:
    """Below and right of the piece: its length and width as measured."""
    right, bottom = view.across(segments[-1].drawn_end), view.down(marked.offcut.width)
    y = bottom + 22
    return [
        svg.horizontal_dimension(view.x, right, y, format_length(marked.offcut.length, display, with_unit=False)),
        svg.vertical_dimension(view.y, bottom, right + 8, format_length(marked.offcut.width, display, with_unit=False)),
    ]
