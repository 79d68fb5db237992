"""The pile in pictures: wood by species, sizes as dots, months in and out, ages, room taken.

Knows how counts are laid on paper, readable without colour. Counts nothing itself;
floats place ink and decide nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from inventory.core.lengths import NM_PER_INCH, NM_PER_MM, Unit
from inventory.services.rack.stock_levels import AGES, Lying, Month, Region, Wood, age_words
from inventory.web.drawings.hatching import Hatchings, species_name
from inventory.web.drawings.svg import DRAWN_WIDTH, drawing, letters, line, number, text_width

LEFT = 4
BAR = 16
ROW = 38
NM = {Unit.INCH: NM_PER_INCH, Unit.MILLIMETRE: NM_PER_MM}
STEPS = {Unit.INCH: (1, 2, 4, 6, 12, 24, 48, 96, 192), Unit.MILLIMETRE: (10, 20, 50, 100, 200, 500, 1000, 2000, 5000)}
MOST_TICKS = 6
PLOT_LEFT, PLOT_TOP, PLOT_WIDTH, PLOT_HEIGHT = 34, 14, 258, 200
THIN, MIDDLE = 25.4, 50.8
"""In mm: up to an inch, up to two, above (common practice, no source)."""
RADII = (2.2, 3.6, 5.4)
SHADES = ("none", "0.35", "0.85")
"""How dark a dot is filled: under six months, under two years, older."""


def draw_species(by_species: Sequence[tuple[str, Wood]], hatchings: Hatchings, told: Callable[[int], str]) -> Markup:
    """A bar a species, as long as its wood; what is set aside is solid. `told` writes a volume."""
    most = max((wood.volume for _, wood in by_species), default=1) or 1
    parts = [hatchings.definitions("species", [name for name, _ in by_species], 1.0)]
    for row, (name, wood) in enumerate(by_species):
        top = row * ROW
        parts.append(label(top + 9, species_name(name), told(wood.volume)))
        parts.append(bar(top + 18, wood.volume / most, hatchings.paint(name, "species")))
        if wood.aside_volume:
            parts.append(_filled(top + 18, wood.aside_volume / most))
    sentence = "; ".join(f"{species_name(name)} {told(wood.volume)}" for name, wood in by_species)
    return drawing("species", "pile-species", max(len(by_species), 1) * ROW, "Wood by species", sentence, parts)


def draw_ages(by_age: Sequence[tuple[str, Wood]], told: Callable[[int], str]) -> Markup:
    """A bar an age, as long as its wood."""
    most = max((wood.volume for _, wood in by_age), default=1) or 1
    parts: list[Markup] = []
    for row, (words, wood) in enumerate(by_age):
        top = row * ROW
        parts += [label(top + 9, words, told(wood.volume)), bar(top + 18, wood.volume / most)]
        if wood.aside_volume:
            parts.append(_filled(top + 18, wood.aside_volume / most))
    sentence = "; ".join(f"{words}: {told(wood.volume)}" for words, wood in by_age)
    return drawing("ages", "pile-ages", len(by_age) * ROW, "Wood by age", sentence, parts)


def draw_room(taken: int, given: int, told: Callable[[int], str]) -> Markup:
    """The wood that is there beside the room that is given to it."""
    most = max(taken, given, 1)
    mark = LEFT + (DRAWN_WIDTH - 2 * LEFT) * given / most
    parts = [
        label(9, f"taken {told(taken)}", f"given {told(given)}"),
        bar(18, taken / most),
        line(f"M{number(mark)} 14v{BAR + 8}", "ink-outline pile-given"),
    ]
    return drawing("room", "pile-room", ROW + 8, "Room taken and given", f"{told(taken)} of {told(given)}", parts)


def draw_months(months: Sequence[Month], told: Callable[[int], str]) -> Markup:
    """A column a month: what came stands above the line, what went hangs below it."""
    most = max((max(each.in_volume, each.out_volume) for each in months), default=1) or 1
    half, middle = 70, 84
    across = (DRAWN_WIDTH - 2 * LEFT) / max(len(months), 1)
    parts = [letters(LEFT, 6, f"in, up to {told(most)}", anchor="start")]
    for place, each in enumerate(months):
        x, width = LEFT + place * across + 3, across - 6
        up, back = each.in_volume / most * half, each.back_volume / most * half
        down, other = each.out_volume / most * half, each.other_volume / most * half
        parts += [
            rectangle(x, middle - up, width, up, "pile-in"),
            _slanted(x, middle - back, width, back),
            rectangle(x, middle + 18, width, down, "pile-out"),
            _slanted(x, middle + 18 + down - other, width, other),
            letters(x + width / 2, middle + 9, f"{each.first:%b}"[0]),
        ]
    parts.append(line(f"M{LEFT} {middle}H{DRAWN_WIDTH - LEFT}M{LEFT} {middle + 18}H{DRAWN_WIDTH - LEFT}"))
    parts.append(letters(LEFT, middle + 18 + half + 8, f"out, down to {told(most)}", anchor="start"))
    sentence = "; ".join(f"{each.first:%B} in {told(each.in_volume)}, out {told(each.out_volume)}" for each in months)
    return drawing("months", "pile-months", middle + 18 + half + 20, "In and out by month", sentence, parts)


@dataclass(frozen=True)
class Plot:
    """How far the dots reach, in nanometres, and the drawing. A script reads the reach to turn a drag into sizes."""

    longest: int
    widest: int
    drawing: Markup


def draw_sizes(lying: Sequence[Lying], region: Region, unit: Unit) -> Plot:
    """A dot a tag: length along, width up; larger dots are thicker, darker ones older. The region is framed."""
    nm = NM[unit]
    along = _step(max((each.length for each in lying), default=nm) / nm, unit)
    up = _step(max((each.width for each in lying), default=nm) / nm, unit)
    longest = _reach(max((each.length for each in lying), default=nm), along * nm)
    widest = _reach(max((each.width for each in lying), default=nm), up * nm)
    parts = [*_ticks(longest, along * nm, widest, up * nm, nm), *_dots(lying, longest, widest)]
    if region.narrows:
        parts.append(_frame(region, longest, widest))
    told = f"{len(lying)} tags; lengths up to {longest / nm:g} {unit.value}, widths up to {widest / nm:g} {unit.value}"
    return Plot(longest, widest, drawing("sizes", "pile-sizes", PLOT_TOP + PLOT_HEIGHT + 34, "Sizes", told, parts))


def _dots(lying: Iterable[Lying], longest: int, widest: int) -> list[Markup]:
    """All dots of a size and shade as one shape; equal ones are drawn once."""
    kinds: dict[tuple[int, int], dict[str, None]] = {}
    for each in lying:
        size = 0 if each.thickness <= THIN * NM_PER_MM else 1 if each.thickness <= MIDDLE * NM_PER_MM else 2
        age = [words for words, _ in AGES].index(age_words(each.days))
        shade = 0 if age < 3 else 1 if age < 5 else 2
        x = PLOT_LEFT + each.length / longest * PLOT_WIDTH
        y = PLOT_TOP + PLOT_HEIGHT * (1 - each.width / widest)
        kinds.setdefault((size, shade), {})[f"M{x - RADII[size]:.1f} {y:.1f}"] = None
    drawn = []
    for (size, shade), places in sorted(kinds.items(), reverse=True):
        r = RADII[size]
        circle = f"a{r} {r} 0 1 0 {2 * r:g} 0a{r} {r} 0 1 0 {-2 * r:g} 0z"
        fill = (
            Markup('fill="none"')
            if shade == 0
            else Markup('fill="currentColor" fill-opacity="{}"').format(SHADES[shade])
        )
        drawn.append(
            Markup('<path class="pile-dot" d="{}" {} stroke="currentColor" stroke-width="0.8"/>').format(
                circle.join(places) + circle, fill
            )
        )
    return drawn


def _step(reach: float, unit: Unit) -> int:
    return next((step for step in STEPS[unit] if reach / step <= MOST_TICKS), STEPS[unit][-1])


def _reach(size: int, step: int) -> int:
    return -(-size // step) * step


def _ticks(longest: int, along: int, widest: int, up: int, nm: int) -> list[Markup]:
    bottom, right = PLOT_TOP + PLOT_HEIGHT, PLOT_LEFT + PLOT_WIDTH
    parts = [line(f"M{PLOT_LEFT} {PLOT_TOP}V{bottom}H{right}", "ink-outline")]
    for at in range(along, longest + 1, _every(longest, along)):
        x = PLOT_LEFT + at / longest * PLOT_WIDTH
        anchor = "end" if right - x < 8 else "middle"
        parts += [line(f"M{number(x)} {bottom}v4"), letters(x, bottom + 12, f"{at / nm:g}", anchor=anchor)]
    for at in range(up, widest + 1, _every(widest, up)):
        y = PLOT_TOP + PLOT_HEIGHT * (1 - at / widest)
        parts += [line(f"M{PLOT_LEFT} {number(y)}h-4"), letters(PLOT_LEFT - 6, y, f"{at / nm:g}", anchor="end")]
    parts.append(letters(PLOT_LEFT + PLOT_WIDTH / 2, bottom + 28, "length"))
    parts.append(letters(PLOT_LEFT + 6, 8, "width", anchor="start"))
    return parts


def _every(reach: int, step: int) -> int:
    """Every step, or every so many where the last of STEPS is still too fine."""
    return step * -(-reach // (step * MOST_TICKS))


def _frame(region: Region, longest: int, widest: int) -> Markup:
    left = PLOT_LEFT + PLOT_WIDTH * min((region.length_from or 0) / longest, 1)
    right = PLOT_LEFT + PLOT_WIDTH * min((region.length_to or longest) / longest, 1)
    top = PLOT_TOP + PLOT_HEIGHT * (1 - min((region.width_to or widest) / widest, 1))
    bottom = PLOT_TOP + PLOT_HEIGHT * (1 - min((region.width_from or 0) / widest, 1))
    return Markup(
        '<rect class="pile-region" x="{}" y="{}" width="{}" height="{}" fill="none" stroke="currentColor"/>'
    ).format(number(left), number(top), number(right - left), number(bottom - top))


def label(y: float, name: str, value: str) -> Markup:
    """What a bar stands for, and at the other side how much it is; a long name is cut short."""
    room = DRAWN_WIDTH - 2 * LEFT - text_width(value) - 10
    while len(name) > 1 and text_width(name) > room:
        name = f"{name.removesuffix('…')[:-1]}…"
    return letters(LEFT, y, name, anchor="start") + letters(DRAWN_WIDTH - LEFT, y, value, anchor="end")


def bar(y: float, share: float, fill: str = "none") -> Markup:
    """A bar over this share of the drawing's width."""
    width = max((DRAWN_WIDTH - 2 * LEFT) * share, 0.5)
    return Markup(
        '<rect class="ink-strip" x="{}" y="{}" width="{}" height="{}" fill="{}" stroke="currentColor"/>'
    ).format(LEFT, number(y), number(width), BAR, fill)


def _filled(y: float, share: float) -> Markup:
    """The part of a bar, from its left end, whose wood is set aside: solid, as no species' grain is."""
    return Markup('<rect class="pile-aside" x="{}" y="{}" width="{}" height="{}" fill="currentColor"/>').format(
        LEFT, number(y), number((DRAWN_WIDTH - 2 * LEFT) * share), BAR
    )


def _slanted(x: float, y: float, width: float, height: float) -> Markup:
    """Strokes over a part of a column."""
    if height < 1:
        return Markup("")
    strokes = "".join(f"M{number(x)} {number(y + down)}h{number(width)}" for down in _every_so_far(height, 4))
    return line(strokes, "ink-extension")


def _every_so_far(length: float, step: int) -> list[float]:
    return [step * place for place in range(int(length // step) + 1)]


def rectangle(x: float, y: float, width: float, height: float, kind: str) -> Markup:
    """A column of the class `kind`."""
    return Markup('<rect class="{}" x="{}" y="{}" width="{}" height="{}" fill="none" stroke="currentColor"/>').format(
        kind, number(x), number(y), number(width), number(max(height, 0))
    )
