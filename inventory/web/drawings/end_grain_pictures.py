"""Two small pictures that explain end grain: a board of blocks, and how a panel becomes one.

They say nothing that the words beside them don't say, and are not to scale.
"""

from __future__ import annotations

from markupsafe import Markup

from inventory.web.drawings.svg import number

SLICES = 4
PANEL_AT, SLICES_AT, TURNED_AT = 8.0, 112.0, 224.0
PANEL_TOP, SLICE_TALL = 16.0, 60.0
STRIP_EDGES = (10.0, 20.0, 42.0)
"""Where strips meet across the panel; no two halves are alike, so that a turned slice is seen to be turned."""


def draw_end_grain() -> Markup:
    """A board leaning away, the ends of its blocks upwards; hidden from screen readers."""
    across, deep = 6, 4
    left, top, wide, lean, rise, thick = 4.0, 40.0, 88.0, 24.0, 34.0, 20.0
    cells = "".join(
        f"M{number(left + wide * place / across)} {number(top)}l{number(lean)} {number(-rise)}"
        for place in range(1, across)
    ) + "".join(
        f"M{number(left + lean * place / deep)} {number(top - rise * place / deep)}h{number(wide)}"
        for place in range(1, deep)
    )
    sides = "".join(
        f"M{number(left + wide * place / across)} {number(top)}v{number(thick)}" for place in range(1, across)
    )
    rings = "".join(
        _ring(left, top, wide / across, lean / deep, rise / deep, place, row)
        for place in range(across)
        for row in range(deep)
    )
    outline = (
        f"M{left} {top}H{left + wide}V{top + thick}H{left}zM{left} {top}l{lean} {-rise}h{wide}l{-lean} {rise}"
        f"M{left + wide + lean} {top - rise}v{thick}l{-lean} {rise}"
    )
    return Markup(
        '<svg class="grain-picture" viewBox="0 0 120 68" width="120" height="68" aria-hidden="true" fill="none" '
        'stroke="currentColor"><path class="grain-rings" stroke-width="0.7" d="{}"/>'
        '<path stroke-width="1.2" d="{}"/><path stroke-width="1.8" stroke-linejoin="round" d="{}"/></svg>'
    ).format(rings, cells + sides, outline)


def _ring(left: float, top: float, wide: float, lean: float, rise: float, place: int, row: int) -> str:
    """Two year rings on the end of one block, bent to one side and, in every second row, to the other."""
    x, y = left + wide * place + lean * row, top - rise * row
    bend = 3.0 if (place + row) % 2 else -3.0
    return "".join(
        f"M{number(x + wide * part + 1)} {number(y - 1)}q{number(lean / 2 + bend)} {number(-rise / 2)} "
        f"{number(lean - 1)} {number(-rise + 2)}"
        for part in (0.35, 0.65)
    )


def draw_slicing_steps() -> Markup:
    """A panel, the panel sliced, the slices turned up: three steps from left to right."""
    lines: list[str] = []
    grain: list[str] = []
    for x, wide in ((PANEL_AT, 76.0), *((SLICES_AT + 21.0 * place, 16.0) for place in range(SLICES))):
        lines.append(_outline(x, wide, SLICE_TALL))
        lines += [f"M{number(x)} {number(PANEL_TOP + at)}h{number(wide)}" for at in STRIP_EDGES]
        grain += [
            f"M{number(x + 2)} {number(PANEL_TOP + at - 4)}h{number(wide - 4)}" for at in (*STRIP_EDGES, SLICE_TALL)
        ]
    for place in range(SLICES):
        x = TURNED_AT + 19.0 * place
        lines.append(_outline(x, 19.0, SLICE_TALL))
        for at in STRIP_EDGES:
            here = PANEL_TOP + (SLICE_TALL - at if place % 2 else at)
            lines.append(f"M{number(x)} {number(here)}h19")
            grain.append(f"M{number(x + 4)} {number(here - 3)}q5 -5 11 0")
    arrows = "".join(f"M{number(x)} 46h12m-4 -4l4 4l-4 4" for x in (90.0, 204.0))
    words = Markup("").join(
        Markup('<text class="ink-caption" x="{}" y="92" text-anchor="middle" fill="currentColor">{}</text>').format(
            number(x), text
        )
        for x, text in ((46.0, "1 glue a panel"), (152.0, "2 slice it across"), (262.0, "3 turn up, glue"))
    )
    return Markup(
        '<svg class="drawn drawn-turning" viewBox="0 0 310 98" role="img" aria-label="{}" fill="none" '
        'stroke="currentColor"><path class="grain-rings" stroke-width="0.7" d="{}"/>'
        '<path stroke-width="1.2" stroke-linejoin="round" d="{}"/><g stroke="none">{}</g></svg>'
    ).format(SLICING_DESCRIPTION, "".join(grain), "".join(lines) + arrows, words)


def _outline(x: float, wide: float, tall: float) -> str:
    return f"M{number(x)} {number(PANEL_TOP)}h{number(wide)}v{number(tall)}h{number(-wide)}z"


SLICING_DESCRIPTION = (
    "First a panel is glued up. Then it is sliced across its grain. The slices are turned up, "
    "every second one end for end, and glued again."
)
