"""Yield by month as columns, and where the wood went as bars."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from markupsafe import Markup

from inventory.services.boards.yield_report import PeriodYield
from inventory.web.drawings.stock_charts import LEFT, ROW, bar, label, rectangle
from inventory.web.drawings.svg import SVG_WIDTH, drawing, letters, line

HALF_LEFT, TOP, HEIGHT = 26, 18, 110


def draw_monthly_yield(months: Sequence[PeriodYield], format_value: Callable[[float], str]) -> Markup:
    """A column a month, as high as its yield: the top line is all of the wood used. `format_value` writes a share."""
    across = (SVG_WIDTH - HALF_LEFT - LEFT) / max(len(months), 1)
    bottom, right = TOP + HEIGHT, SVG_WIDTH - LEFT
    parts = [line(f"M{HALF_LEFT} {TOP}H{right}M{HALF_LEFT} {TOP + HEIGHT / 2:g}H{right}", "ink-extension")]
    for share, words in ((1.0, "100"), (0.5, "50"), (0.0, "0 %")):
        parts.append(letters(HALF_LEFT - 4, bottom - share * HEIGHT, words, anchor="end"))
    for place, each in enumerate(months):
        x = HALF_LEFT + place * across
        if each.share is not None:
            high = min(float(each.share), 1) * HEIGHT
            parts.append(rectangle(x + 4, bottom - high, across - 8, high, "stock-in"))
            parts.append(letters(x + across / 2, bottom - high - 8, f"{float(each.share) * 100:.0f}"))
        if each.first is not None:
            parts.append(letters(x + across / 2, bottom + 10, f"{each.first:%b}"[0]))
    parts.append(line(f"M{HALF_LEFT} {bottom}H{right}", "ink-outline"))
    known = [
        f"{each.first:%B} {format_value(float(each.share))}" for each in months if each.first and each.share is not None
    ]
    sentence = "; ".join(known) or "no board was finished"
    return drawing("yields", "stock-months", bottom + 20, "Yield by month", sentence, parts)


def draw_wood_use(rows: Sequence[tuple[str, int]], format_value: Callable[[int], str]) -> Markup:
    """A bar a place where wood went, as long as its share of all of it. `format_value` writes a volume."""
    most = max((volume for _, volume in rows), default=1) or 1
    parts: list[Markup] = []
    for row, (words, volume) in enumerate(rows):
        parts += [label(row * ROW + 9, words, format_value(volume)), bar(row * ROW + 18, max(volume, 0) / most)]
    sentence = "; ".join(f"{words}: {format_value(volume)}" for words, volume in rows)
    return drawing("where", "stock-ages", len(rows) * ROW, "What became of the wood", sentence, parts)
