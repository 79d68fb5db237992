"""How the time of a search grows with the rack and the board, as a table and as a plot.

Measures the search alone: from the rack table, as it comes from the database, to the cuts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import log10
from statistics import median

from inventory.core.lengths import inches
from inventory.cutting.costs import Preference
from inventory.cutting.rack_table import build_table
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from tests.bench.timing import seconds
from tests.fill.racks import ON, ShopUnits, make_rack

RACKS = (100, 1_000, 10_000, 100_000)
WIDTHS = (6, 12, 20, 30, 40)
GRIDS = {"coarse": ShopUnits.SIXTEENTHS, "fine": ShopUnits.MIXED}
"""1/16 in; and inches mixed with millimeters, whose common grid is 3.125 µm."""

BOARD = BoardRequest(
    inches("16"), inches("12"), inches("1 1/4"), Grain.EDGE, prefer=(Preference.LEAST_WASTE,), fills=1, on=ON
)


@dataclass(frozen=True)
class GrowthPoint:
    """The time of one search; no seconds if the rack is too small for the board."""

    grid: str
    pieces: int
    width: int
    seconds: float | None

    @property
    def text(self) -> str:
        return "too few" if self.seconds is None else f"{self.seconds * 1000:.1f}"


def measure_growth(largest: int, times: int) -> Iterator[GrowthPoint]:
    """Every rack of up to `largest` pieces, every width and grid."""
    for grid, shop in GRIDS.items():
        for pieces in (each for each in RACKS if each <= largest):
            table = build_table(make_rack(1, pieces, shop))
            for width in WIDTHS:
                request = replace(BOARD, width=inches(str(width)))
                found = fill_rack(table, request).fills
                took = median(seconds(lambda t=table, r=request: fill_rack(t, r)) for _ in range(times))
                yield GrowthPoint(grid, pieces, width, took if found and found[0].proven else None)


def growth_table(points: Sequence[GrowthPoint]) -> Iterator[str]:
    """The table, line by line: milliseconds of CPU time."""
    racks = sorted({each.pieces for each in points})
    yield "| grid | width | " + " | ".join(f"{pieces:,}" for pieces in racks) + " |"
    yield "|---" * (len(racks) + 2) + "|"
    for grid in GRIDS:
        for width in WIDTHS:
            text = {each.pieces: each.text for each in points if (each.grid, each.width) == (grid, width)}
            yield f"| {grid} | {width} in | " + " | ".join(text[pieces] for pieces in racks) + " |"


# --- the plot ------------------------------------------------------------------------------------

_SIZE = (660, 420)
_LEFT, _TOP, _RIGHT, _BOTTOM = 64, 40, 150, 52
_LEAST_MS, _MOST_MS = 1.0, 1000.0
_COLORS = ("#1b6e5a", "#3f7fbf", "#8a5a00", "#a03060", "#333333")


def growth_svg(points: Sequence[GrowthPoint]) -> str:
    """A line for each width, solid on the coarse grid and dashed on the fine one; both axes are logarithmic."""
    width, height = _SIZE
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" font-family="sans-serif" '
        'font-size="12">',
        "<title>Milliseconds of one search, by pieces on the rack</title>",
        f"<desc>{'&#10;'.join(growth_table(points))}</desc>",
        f'<rect width="{width}" height="{height}" fill="#ffffff"/>',
        f'<text x="{_LEFT}" y="20" font-size="14">Milliseconds of one search (edge grain, least waste)</text>',
        f'<text x="{(_LEFT + width - _RIGHT) / 2:g}" y="{height - 12}" text-anchor="middle">pieces on the rack</text>',
    ]
    for pieces in RACKS:
        parts.append(_grid_line(_x(pieces), _x(pieces), _y(_LEAST_MS), _y(_MOST_MS)))
        parts.append(f'<text x="{_x(pieces):g}" y="{_y(_LEAST_MS) + 18:g}" text-anchor="middle">{pieces:,}</text>')
    for ms in (1, 10, 100, 1000):
        parts.append(_grid_line(_x(RACKS[0]), _x(RACKS[-1]), _y(ms), _y(ms)))
        parts.append(f'<text x="{_LEFT - 8}" y="{_y(ms) + 4:g}" text-anchor="end">{ms:,}</text>')
    for number, board in enumerate(WIDTHS):
        for grid in GRIDS:
            parts.append(_line([each for each in points if (each.grid, each.width) == (grid, board)], _COLORS[number]))
        parts.append(
            f'<text x="{width - _RIGHT + 16}" y="{_TOP + 16 + 18 * number}" fill="{_COLORS[number]}">'
            f"{board} in wide</text>"
        )
    for number, text in enumerate(("solid: 1/16 in", "dashed: inch and mm")):
        y = _TOP + 34 + 18 * (len(WIDTHS) + number)
        parts.append(f'<text x="{width - _RIGHT + 16}" y="{y}">{text}</text>')
    return "\n".join([*parts, "</svg>", ""])


def _x(pieces: float) -> float:
    share = log10(pieces / RACKS[0]) / log10(RACKS[-1] / RACKS[0])
    return round(_LEFT + share * (_SIZE[0] - _LEFT - _RIGHT), 1)


def _y(ms: float) -> float:
    share = log10(max(ms, _LEAST_MS) / _LEAST_MS) / log10(_MOST_MS / _LEAST_MS)
    return round(_SIZE[1] - _BOTTOM - share * (_SIZE[1] - _TOP - _BOTTOM), 1)


def _grid_line(x1: float, x2: float, y1: float, y2: float) -> str:
    return f'<path d="M{x1:g} {y1:g}L{x2:g} {y2:g}" stroke="#d8d8d8"/>'


def _line(points: Sequence[GrowthPoint], color: str) -> str:
    spots = [f"{_x(each.pieces):g} {_y(each.seconds * 1000):g}" for each in points if each.seconds is not None]
    dashes = ' stroke-dasharray="5 4"' if points and points[0].grid == "fine" else ""
    return f'<path d="M{"L".join(spots)}" fill="none" stroke="{color}" stroke-width="2"{dashes}/>' if spots else ""
