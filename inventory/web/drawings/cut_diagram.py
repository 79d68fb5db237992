"""One offcut with its cuts drawn to scale: lengths, rips, kerfs, what is kept and lost.

Knows how a marked-out piece is put on paper. Knows no rule of cutting: where the
cuts fall is `inventory.cutting.marking_out`. A piece too long and narrow to be read
is drawn shortened between zigzag lines, true in width; otherwise shapes stand
in exact millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from inventory.core.lengths import Display, Length, Unit, show
from inventory.cutting.marking_out import MarkedPiece, Region, Use
from inventory.layout.strip_layout import PieceInFill
from inventory.web.drawings import svg
from inventory.web.drawings.hatching import Hatchings, species_name
from inventory.web.drawings.svg import Scaled

TOP = 30.0
TALLEST = 230.0
LEAST_TALL = 18.0
LEAST_STRIP = 11.0
BESIDE = 16.0
"""Beside the piece, for a measure's line and ticks; its text comes on top."""
ROOM_FOR_ZIGZAG = 26.0
LARGEST_SCALE = 3.0
SPARE = "spare"
"""Written on a strip that comes off with the others of its length and that no glue-up needs."""


@dataclass(frozen=True)
class Stretch:
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
        """How much of it is free for letters: what lies before the zigzag."""
        return Length(self.drawn * 7 // 10) if self.zigzag else self.drawn


def draw_cutting(pieces: Sequence[PieceInFill], display: Display, hatchings: Hatchings, drawing_id: str) -> Markup:
    """The cutting drawing of one piece, or of like pieces of a bundle that are cut alike."""
    first = pieces[0]
    marked = first.marked
    left, room = _room(marked, display)
    scale = _scale(marked, room)
    stretches = _stretches(marked, scale, room)
    view = Scaled(left, TOP, scale)
    shapes = [_region(region, stretches, first.offcut.species, hatchings, drawing_id) for region in marked.regions]
    shapes.append(svg.box("ink-outline", 0, 0, stretches[-1].drawn_end, first.offcut.width))
    bottom = view.down(first.offcut.width)
    parts = [
        hatchings.definitions(drawing_id, [first.offcut.species], scale),
        view.group(shapes, "drawn-piece"),
        *_zigzags(view, stretches, bottom),
        *_strip_numbers(view, marked, pieces, stretches),
        *_words_on_the_rest(view, marked, stretches, display),
        *_measures_along(view, marked, stretches, display),
        *_widths(view, marked, display),
        *_whole(view, marked, stretches, display),
    ]
    lines = [_unit_note(display)]
    if any(stretch.zigzag for stretch in stretches):
        lines.append("Drawn shorter at the zigzag, true in width.")
    elif any(stretch.shortened for stretch in stretches):
        lines.append("Drawn shorter than it is, true in width.")
    notes = [svg.letters(8, bottom + 44 + row * 15, text, "ink-caption", "start") for row, text in enumerate(lines)]
    letters = ", ".join(piece.letter for piece in pieces)
    return svg.drawing(
        drawing_id,
        "drawn-cutting",
        bottom + 44 + len(lines) * 15 - 4,
        f"Cuts in piece {letters}, {species_name(first.offcut.species)}",
        told(pieces, display),
        [*parts, *notes],
    )


def told(pieces: Sequence[PieceInFill], display: Display) -> str:
    """The cuts in words, for who can't see the drawing."""
    marked = pieces[0].marked
    offcut = marked.offcut
    size = " × ".join(show(each, display) for each in (offcut.length, offcut.width, offcut.thickness))
    lengths = "; ".join(
        f"length {count} of {show(length.length, display)}: {_strips_told(len(length.strips), length.ripped, display)}"
        for count, length in enumerate(marked.lengths, 1)
    )
    left = "; ".join(
        f"{show(region.length, display)} × {show(region.width, display)} {region.use.value}"
        for region in marked.left_overs
    )
    return f"{size}. {lengths}. Left over: {left or 'nothing'}."


def _strips_told(count: int, ripped: Length, display: Display) -> str:
    return f"{count} {'strip' if count == 1 else 'strips'} {show(ripped, display)} wide"


def _unit_note(display: Display) -> str:
    return f"To scale, measures in {'inches' if display.unit is Unit.INCH else 'millimetres'}."


def _room(marked: MarkedPiece, display: Display) -> tuple[float, float]:
    """Where the piece begins, and how long it may be drawn, so that the widths beside it can be read."""
    before = max(svg.text_width(show(region.width, display, with_unit=False)) for region in marked.lengths[0].regions)
    after = svg.text_width(show(marked.offcut.width, display, with_unit=False))
    left = before + BESIDE
    return left, svg.DRAWN_WIDTH - left - after - BESIDE


def _scale(marked: MarkedPiece, room: float) -> float:
    """Units per mm: so that the length fits, unless the strips would then be too thin to be numbered."""
    length, width = (size / svg.NM_PER_MM for size in (marked.offcut.length, marked.offcut.width))
    narrowest = min(strip.width for each in marked.lengths for strip in each.strips) / svg.NM_PER_MM
    fits = min(room / length, TALLEST / width, LARGEST_SCALE)
    legible = min(max(LEAST_TALL / width, LEAST_STRIP / narrowest), TALLEST / width, LARGEST_SCALE)
    return max(fits, legible)


def _stretches(marked: MarkedPiece, scale: float, room: float) -> list[Stretch]:
    """The lengths, kerfs and what is left, from end to end; the long ones shortened until all fit."""
    parts = [(length.along, length.length, True) for length in marked.lengths]
    parts += [(kerf.along, kerf.length, False) for kerf in marked.crosscut_kerfs]
    if marked.left_over is not None:
        parts.append((marked.left_over.along, marked.left_over.length, True))
    parts.sort()
    fixed = sum(length for _, length, may in parts if not may)
    paper = round(room / scale * svg.NM_PER_MM) + 1
    longest = _longest_drawn([length for _, length, may in parts if may], paper - fixed)
    stretches: list[Stretch] = []
    at = 0
    for start, length, may in parts:
        drawn = min(length, longest) if may else length
        zigzag = drawn < length and drawn / svg.NM_PER_MM * scale >= ROOM_FOR_ZIGZAG
        stretches.append(Stretch(start, length, Length(at), Length(drawn), zigzag))
        at += drawn
    return stretches


def _longest_drawn(lengths: list[Length], room: int) -> Length:
    """The most that any of these may be drawn long so that together they fit; all of them whole where they do."""
    rest, share = room, 0
    for count, length in enumerate(sorted(lengths)):
        share = rest // (len(lengths) - count)
        if length > share:
            return Length(max(share, 1))
        rest -= length
    return max(lengths)


def _stretch_of(region: Region, stretches: list[Stretch]) -> Stretch:
    return next(stretch for stretch in stretches if stretch.start == region.along)


def _region(region: Region, stretches: list[Stretch], species: str, hatchings: Hatchings, drawing_id: str) -> Markup:
    stretch = _stretch_of(region, stretches)
    place = (stretch.at, region.across, stretch.drawn, region.width)
    match region.use:
        case Use.STRIP:
            return svg.box("ink-strip", *place, hatchings.paint(species, drawing_id))
        case Use.RIP_KERF | Use.CROSSCUT_KERF:
            return svg.box("ink-kerf", *place, "currentColor")
        case Use.JOINTED:
            return svg.box("ink-jointed", *place, "currentColor")
        case Use.KEPT:
            return svg.box("ink-kept", *place)
        case _:
            return svg.box("ink-lost", *place) + svg.crossed(*place)


def _zigzags(view: Scaled, stretches: list[Stretch], bottom: float) -> Iterator[Markup]:
    for stretch in stretches:
        if stretch.zigzag:
            x = view.across(stretch.at) + view.size(stretch.drawn) * 0.8
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
    view: Scaled, marked: MarkedPiece, pieces: Sequence[PieceInFill], stretches: list[Stretch]
) -> Iterator[Markup]:
    for length in marked.lengths:
        for region in length.strips:
            if region.strip is None:
                continue
            stretch = _stretch_of(region, stretches)
            room = view.size(stretch.clear)
            numbers = [str(number) for piece in pieces for number in piece.by_strip[region.strip]] or [SPARE]
            text = ", ".join(numbers)
            if svg.text_width(text, bold=True) > room:
                text = f"{numbers[0]} …" if len(numbers) > 1 else numbers[0]
            x = view.across(stretch.at) + room / 2
            yield svg.letters(x, view.down(Length(region.across + region.width // 2)), text, "ink-number")


def _words_on_the_rest(
    view: Scaled, marked: MarkedPiece, stretches: list[Stretch], display: Display
) -> Iterator[Markup]:
    """`keep` or `lost` with the sizes on what is left over, as far as there is room."""
    for region in marked.left_overs:
        stretch = _stretch_of(region, stretches)
        room, tall = view.size(stretch.clear), view.size(region.width)
        word = "keep" if region.use is Use.KEPT else "lost"
        size = f"{show(region.length, display, with_unit=False)} × {show(region.width, display, with_unit=False)}"
        x, y = view.across(stretch.at) + room / 2, view.down(Length(region.across + region.width // 2))
        if tall < 13 or svg.text_width(word, bold=True) > room:
            continue
        if svg.text_width(f"{word} {size}", bold=True) <= room:
            yield svg.letters(x, y, f"{word} {size}", "ink-rest")
        elif tall >= 30 and svg.text_width(size, bold=True) <= room:
            yield svg.letters(x, y - 7, word, "ink-rest")
            yield svg.letters(x, y + 8, size, "ink-rest")
        else:
            yield svg.letters(x, y, word, "ink-rest")


def _measures_along(view: Scaled, marked: MarkedPiece, stretches: list[Stretch], display: Display) -> Iterator[Markup]:
    """Over the piece: each length and what is left of it."""
    kerfs = {kerf.along for kerf in marked.crosscut_kerfs}
    for stretch in stretches:
        if stretch.start in kerfs:
            continue
        left, right = view.across(stretch.at), view.across(stretch.drawn_end)
        text = show(stretch.length, display, with_unit=False)
        if svg.text_width(text) <= right - left + 6:
            yield svg.measure_along(left, right, view.y - 8, text)


def _widths(view: Scaled, marked: MarkedPiece, display: Display) -> Iterator[Markup]:
    """Left of the piece: the first length's strips and what is left of its width."""
    last_bottom = -100.0
    for region in marked.lengths[0].regions:
        if region.use in (Use.RIP_KERF, Use.JOINTED):
            continue
        top, bottom = view.down(region.across), view.down(Length(region.across + region.width))
        middle = (top + bottom) / 2
        if middle - last_bottom < svg.LETTER:
            continue
        last_bottom = middle
        yield svg.measure_down(top, bottom, view.x - 8, show(region.width, display, with_unit=False), "before")


def _whole(view: Scaled, marked: MarkedPiece, stretches: list[Stretch], display: Display) -> list[Markup]:
    """Below and right of the piece: its length and width as measured."""
    right, bottom = view.across(stretches[-1].drawn_end), view.down(marked.offcut.width)
    y = bottom + 22
    return [
        svg.measure_along(view.x, right, y, show(marked.offcut.length, display, with_unit=False)),
        svg.measure_down(view.y, bottom, right + 8, show(marked.offcut.width, display, with_unit=False)),
    ]
