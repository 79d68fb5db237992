"""Two small pictures that explain edge grain and face grain: a corner of a board, with its year rings.

They say nothing that the words beside them don't say.
"""

from __future__ import annotations

from markupsafe import Markup

from inventory.fill.request import Grain
from inventory.web.drawings.svg import number

FRONT_TOP, FRONT_BOTTOM = 34.0, 62.0
LEFT, RIGHT = 4.0, 92.0
LEAN, RISE = 24.0, 26.0
"""How far the far end of the board is right of and above the near one."""

STRIPS = {Grain.EDGE: 7, Grain.FACE: 3}


def draw_grain(grain: Grain) -> Markup:
    """A board leaning away, its strips on edge or laid flat; hidden from screen readers."""
    strips = STRIPS[grain]
    width = (RIGHT - LEFT) / strips
    front = "".join(_front(LEFT + place * width, width, grain, place) for place in range(strips))
    seams = "".join(
        f"M{number(LEFT + place * width)} {number(FRONT_TOP)}l{number(LEAN)} {number(-RISE)}"
        for place in range(1, strips)
    )
    outline = (
        f"M{LEFT} {FRONT_TOP}H{RIGHT}V{FRONT_BOTTOM}H{LEFT}zM{LEFT} {FRONT_TOP}l{LEAN} {-RISE}H{RIGHT + LEAN}"
        f"L{RIGHT} {FRONT_TOP}M{RIGHT + LEAN} {FRONT_TOP - RISE}v{FRONT_BOTTOM - FRONT_TOP}L{RIGHT} {FRONT_BOTTOM}"
    )
    return Markup(
        '<svg class="grain-picture" viewBox="0 0 120 68" width="120" height="68" aria-hidden="true" fill="none" '
        'stroke="currentColor"><path class="grain-rings" stroke-width="0.7" d="{}"/>'
        '<path stroke-width="1.2" d="{}"/><path stroke-width="1.8" stroke-linejoin="round" d="{}"/></svg>'
    ).format(front, seams, outline)


def _front(x: float, width: float, grain: Grain, place: int) -> str:
    """One strip's end: flat-sawn rings are level in a flat strip and upright in one on edge."""
    seam = f"M{number(x)} {number(FRONT_TOP)}V{number(FRONT_BOTTOM)}" if place else ""
    tall = FRONT_BOTTOM - FRONT_TOP
    rings: list[str] = []
    for ring in (1, 2, 3):
        if grain is Grain.EDGE:
            at = x + width * ring / 4
            bend = 2.4 if place % 2 else -2.4
            rings.append(
                f"M{number(at)} {number(FRONT_TOP + 1)}q{number(bend)} {number(tall / 2 - 1)} 0 {number(tall - 2)}"
            )
        else:
            at = FRONT_TOP + tall * ring / 4
            bend = 5.0 if place % 2 else -5.0
            rings.append(f"M{number(x + 1)} {number(at)}q{number(width / 2 - 1)} {number(bend)} {number(width - 2)} 0")
    return seam + "".join(rings)
