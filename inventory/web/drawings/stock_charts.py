"""Charts of the stock: wood by species, sizes as dots, months in and out, ages, wood beside the storage limit."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from inventory.core.lengths import NM_PER_INCH, NM_PER_MM, Unit
from inventory.services.rack.stock_levels import AGES, MonthlyFlow, SizeRange, StockedTag, WoodTotal, age_label
from inventory.web.drawings.hatching import HatchPatterns, species_name
from inventory.web.drawings.svg import SVG_WIDTH, drawing, letters, line, number, text_width

LEFT = 4
BAR = 16
ROW = 38
NM = {Unit.INCH: NM_PER_INCH, Unit.MILLIMETER: NM_PER_MM}
STEPS = {Unit.INCH: (1, 2, 4, 6, 12, 24, 48, 96, 192), Unit.MILLIMETER: (10, 20, 50, 100, 200, 500, 1000, 2000, 5000)}
MAX_TICKS = 6
PLOT_LEFT, PLOT_TOP, PLOT_WIDTH, PLOT_HEIGHT = 34, 14, 258, 200
THIN, MIDDLE = 25.4, 50.8
"""In mm: up to an inch, up to two, above (common practice, no source)."""
RADII = (2.2, 3.6, 5.4)
FILL_OPACITIES = ("none", "0.35", "0.85")
"""How dark a dot is filled: under six months, under two years, older."""


def draw_species(
    by_species: Sequence[tuple[str, WoodTotal]], hatchings: HatchPatterns, format_value: Callable[[int], str]
) -> Markup:
    """A bar a species, as long as its wood; what is set aside is solid. `format_value` writes a volume."""
    most = max((wood.volume for _, wood in by_species), default=1) or 1
    parts = [hatchings.definitions("species", [name for name, _ in by_species], 1.0)]
    for row, (name, wood) in enumerate(by_species):
        top = row * ROW
        parts.append(label(top + 9, species_name(name), format_value(wood.volume)))
        parts.append(bar(top + 18, wood.volume / most, hatchings.paint(name, "species")))
        if wood.held_volume:
            parts.append(_filled(top + 18, wood.held_volume / most))
    sentence = "; ".join(f"{species_name(name)} {format_value(wood.volume)}" for name, wood in by_species)
    return drawing("species", "stock-species", max(len(by_species), 1) * ROW, "Wood by species", sentence, parts)


def draw_ages(by_age: Sequence[tuple[str, WoodTotal]], format_value: Callable[[int], str]) -> Markup:
    """A bar an age, as long as its wood."""
    most = max((wood.volume for _, wood in by_age), default=1) or 1
    parts: list[Markup] = []
    for row, (words, wood) in enumerate(by_age):
        top = row * ROW
        parts += [label(top + 9, words, format_value(wood.volume)), bar(top + 18, wood.volume / most)]
        if wood.held_volume:
            parts.append(_filled(top + 18, wood.held_volume / most))
    sentence = "; ".join(f"{words}: {format_value(wood.volume)}" for words, wood in by_age)
    return drawing("ages", "stock-ages", len(by_age) * ROW, "Wood by age", sentence, parts)


def draw_storage_used(taken: int, given: int, format_value: Callable[[int], str]) -> Markup:
    """The wood on the rack beside the storage limit."""
    most = max(taken, given, 1)
    mark = LEFT + (SVG_WIDTH - 2 * LEFT) * given / most
    parts = [
        label(9, f"taken {format_value(taken)}", f"given {format_value(given)}"),
        bar(18, taken / most),
        line(f"M{number(mark)} 14v{BAR + 8}", "ink-outline stock-given"),
    ]
    return drawing(
        "room", "stock-room", ROW + 8, "Room taken and given", f"{format_value(taken)} of {format_value(given)}", parts
    )


def draw_months(months: Sequence[MonthlyFlow], format_value: Callable[[int], str]) -> Markup:
    """A column a month: what came above the line, what went below it."""
    most = max((max(each.in_volume, each.out_volume) for each in months), default=1) or 1
    half, middle = 70, 84
    across = (SVG_WIDTH - 2 * LEFT) / max(len(months), 1)
    parts = [letters(LEFT, 6, f"in, up to {format_value(most)}", anchor="start")]
    for place, each in enumerate(months):
        x, width = LEFT + place * across + 3, across - 6
        up, back = each.in_volume / most * half, each.back_volume / most * half
        down, other = each.out_volume / most * half, each.other_volume / most * half
        parts += [
            rectangle(x, middle - up, width, up, "stock-in"),
            _hatched_column(x, middle - back, width, back),
            rectangle(x, middle + 18, width, down, "stock-out"),
            _hatched_column(x, middle + 18 + down - other, width, other),
            letters(x + width / 2, middle + 9, f"{each.first:%b}"[0]),
        ]
    parts.append(line(f"M{LEFT} {middle}H{SVG_WIDTH - LEFT}M{LEFT} {middle + 18}H{SVG_WIDTH - LEFT}"))
    parts.append(letters(LEFT, middle + 18 + half + 8, f"out, down to {format_value(most)}", anchor="start"))
    sentence = "; ".join(
        f"{each.first:%B} in {format_value(each.in_volume)}, out {format_value(each.out_volume)}" for each in months
    )
    return drawing("months", "stock-months", middle + 18 + half + 20, "In and out by month", sentence, parts)


@dataclass(frozen=True)
class ScatterPlot:
    """How far the dots reach, in nanometers, and the drawing. A script reads the reach to turn a drag into sizes."""

    longest: int
    widest: int
    drawing: Markup


def draw_sizes(tags: Sequence[StockedTag], region: SizeRange, unit: Unit) -> ScatterPlot:
    """A dot a tag: length along, width up; larger dots are thicker, darker ones older. The region is framed."""
    nm = NM[unit]
    along = _tick_spacing(max((each.length for each in tags), default=nm) / nm, unit)
    up = _tick_spacing(max((each.width for each in tags), default=nm) / nm, unit)
    longest = _axis_end(max((each.length for each in tags), default=nm), along * nm)
    widest = _axis_end(max((each.width for each in tags), default=nm), up * nm)
    parts = [*_ticks(longest, along * nm, widest, up * nm, nm), *_dots(tags, longest, widest)]
    if region.is_active:
        parts.append(_frame(region, longest, widest))
    format_value = (
        f"{len(tags)} tags; lengths up to {longest / nm:g} {unit.value}, widths up to {widest / nm:g} {unit.value}"
    )
    return ScatterPlot(
        longest, widest, drawing("sizes", "stock-sizes", PLOT_TOP + PLOT_HEIGHT + 34, "Sizes", format_value, parts)
    )


def _dots(tags: Iterable[StockedTag], longest: int, widest: int) -> list[Markup]:
    """All dots of a size and shade as one shape; equal ones are drawn once."""
    kinds: dict[tuple[int, int], dict[str, None]] = {}
    for each in tags:
        size = 0 if each.thickness <= THIN * NM_PER_MM else 1 if each.thickness <= MIDDLE * NM_PER_MM else 2
        age = [words for words, _ in AGES].index(age_label(each.days))
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
            else Markup('fill="currentColor" fill-opacity="{}"').format(FILL_OPACITIES[shade])
        )
        drawn.append(
            Markup('<path class="stock-dot" d="{}" {} stroke="currentColor" stroke-width="0.8"/>').format(
                circle.join(places) + circle, fill
            )
        )
    return drawn


def _tick_spacing(axis_end: float, unit: Unit) -> int:
    return next((step for step in STEPS[unit] if axis_end / step <= MAX_TICKS), STEPS[unit][-1])


def _axis_end(size: int, step: int) -> int:
    return -(-size // step) * step


def _ticks(longest: int, along: int, widest: int, up: int, nm: int) -> list[Markup]:
    bottom, right = PLOT_TOP + PLOT_HEIGHT, PLOT_LEFT + PLOT_WIDTH
    parts = [line(f"M{PLOT_LEFT} {PLOT_TOP}V{bottom}H{right}", "ink-outline")]
    for at in range(along, longest + 1, _tick_step(longest, along)):
        x = PLOT_LEFT + at / longest * PLOT_WIDTH
        anchor = "end" if right - x < 8 else "middle"
        parts += [line(f"M{number(x)} {bottom}v4"), letters(x, bottom + 12, f"{at / nm:g}", anchor=anchor)]
    for at in range(up, widest + 1, _tick_step(widest, up)):
        y = PLOT_TOP + PLOT_HEIGHT * (1 - at / widest)
        parts += [line(f"M{PLOT_LEFT} {number(y)}h-4"), letters(PLOT_LEFT - 6, y, f"{at / nm:g}", anchor="end")]
    parts.append(letters(PLOT_LEFT + PLOT_WIDTH / 2, bottom + 28, "length"))
    parts.append(letters(PLOT_LEFT + 6, 8, "width", anchor="start"))
    return parts


def _tick_step(axis_end: int, step: int) -> int:
    """Every step, or every so many where the last of STEPS is still too fine."""
    return step * -(-axis_end // (step * MAX_TICKS))


def _frame(region: SizeRange, longest: int, widest: int) -> Markup:
    left = PLOT_LEFT + PLOT_WIDTH * min((region.length_from or 0) / longest, 1)
    right = PLOT_LEFT + PLOT_WIDTH * min((region.length_to or longest) / longest, 1)
    top = PLOT_TOP + PLOT_HEIGHT * (1 - min((region.width_to or widest) / widest, 1))
    bottom = PLOT_TOP + PLOT_HEIGHT * (1 - min((region.width_from or 0) / widest, 1))
    return Markup(
        '<rect class="stock-region" x="{}" y="{}" width="{}" height="{}" fill="none" stroke="currentColor"/>'
    ).format(number(left), number(top), number(right - left), number(bottom - top))


def label(y: float, name: str, value: str) -> Markup:
    """The name of a bar, and at the other side how much it is; a long name is cut short."""
    room = SVG_WIDTH - 2 * LEFT - text_width(value) - 10
    while len(name) > 1 and text_width(name) > room:
        name = f"{name.removesuffix('…')[:-1]}…"
    return letters(LEFT, y, name, anchor="start") + letters(SVG_WIDTH - LEFT, y, value, anchor="end")


def bar(y: float, share: float, fill: str = "none") -> Markup:
    """A bar over this share of the drawing's width."""
    width = max((SVG_WIDTH - 2 * LEFT) * share, 0.5)
    return Markup(
        '<rect class="ink-strip" x="{}" y="{}" width="{}" height="{}" fill="{}" stroke="currentColor"/>'
    ).format(LEFT, number(y), number(width), BAR, fill)


def _filled(y: float, share: float) -> Markup:
    """The part of a bar, from its left end, whose wood is set aside: solid, as no species' grain is."""
    return Markup('<rect class="stock-aside" x="{}" y="{}" width="{}" height="{}" fill="currentColor"/>').format(
        LEFT, number(y), number((SVG_WIDTH - 2 * LEFT) * share), BAR
    )


def _hatched_column(x: float, y: float, width: float, height: float) -> Markup:
    """Strokes over a part of a column."""
    if height < 1:
        return Markup("")
    strokes = "".join(f"M{number(x)} {number(y + down)}h{number(width)}" for down in _positions(height, 4))
    return line(strokes, "ink-extension")


def _positions(length: float, step: int) -> list[float]:
    return [step * place for place in range(int(length // step) + 1)]


def rectangle(x: float, y: float, width: float, height: float, kind: str) -> Markup:
    """A column of the class `kind`."""
    return Markup('<rect class="{}" x="{}" y="{}" width="{}" height="{}" fill="none" stroke="currentColor"/>').format(
        kind, number(x), number(y), number(width), number(max(height, 0))
    )
