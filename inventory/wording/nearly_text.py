"""What a smaller allowance would bring, in one sentence for pages and command line."""

from __future__ import annotations

from datetime import date

from inventory.core.lengths import Display, exact_text
from inventory.cutting.costs import Preference
from inventory.fill.certainty import primary_cost
from inventory.fill.plan import Fill, Nearly

_PURPOSES = {
    "flattening": "to flatten",
    "end_trim": "to trim off the ends",
    "side_trim": "to trim off the sides",
}


def nearly_sentence(nearly: Nearly, fill: Fill, on: date, display: Display) -> str:
    """What this fill would become; `on` is the day up to which the days on the rack count.

    `With 1/16 in to flatten, 7 more pieces serve: 70 % yield instead of 48 %.`
    """
    more = f"{nearly.pieces_more} more piece{' serves' if nearly.pieces_more == 1 else 's serve'}"
    serving = f", {more}" if nearly.pieces_more else ""
    purpose = f"{exact_text(nearly.to, display.unit)} {_PURPOSES[nearly.allowance]}"
    return f"With {purpose}{serving}: {_gain(nearly, fill, on)}."


def _gain(nearly: Nearly, fill: Fill, on: date) -> str:
    by_yield = f"{nearly.yield_share * 100:.0f} % yield instead of {fill.yield_share * 100:.0f} %"
    if fill.prefer is Preference.FEWEST_PIECES:
        return f"{nearly.pieces} offcut{'' if nearly.pieces == 1 else 's'} instead of {fill.pieces}"
    if fill.prefer is Preference.LEAST_WASTE:
        return by_yield
    less = 100 - -(-100 * nearly.cost // primary_cost(fill, on))
    what = "to plane away" if fill.prefer is Preference.LEAST_MILLING else "worth used"
    return f"{less} % less {what}, {by_yield}"


def row_depth_sentence(fill: Fill, on: date, display: Display) -> str:
    """Which row depth was taken, and what the next best one would cost; empty where one was asked for.

    `Rows 1 3/4 in deep are best, then 1 1/2 in: 4 % more wood.`
    """
    second = fill.row_depth_runner_up
    if fill.row_depth is None or second is None:
        return ""
    best, then = (exact_text(depth, display.unit) for depth in (fill.row_depth, second.row_depth))
    return f"Rows {best} deep are best, then {then}: {_extra(second.cost, fill, on)}."


def _extra(cost: int, fill: Fill, on: date) -> str:
    before = primary_cost(fill, on)
    if cost == before:
        return "just as good"
    if fill.prefer is Preference.FEWEST_PIECES:
        return f"{cost} offcuts instead of {before}"
    what = {Preference.LEAST_WASTE: "wood", Preference.LEAST_MILLING: "to plane away"}
    more = what.get(fill.prefer, "worth used")
    percent = round(100 * (cost - before) / before) if before else 0
    return f"{percent} % more {more}" if percent else f"a little more {more}"
