"""The user's own order of the strips: the place of each, and which are turned or flipped.

`inventory.layout.strip_layout` checks that an order fits a fill: a strip stays within its band.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from inventory.core.errors import UserError
from inventory.layout.positions import FillLayout


class InvalidOrder(UserError):
    """An order that the strips of a fill can't have."""


@dataclass(frozen=True)
class StripPlacement:
    """One strip by what it is cut from, the `nth` that a piece gives, from 0; whether it is turned or flipped."""

    tag: str
    piece: int
    nth: int
    turned: bool = False
    flipped: bool = False


StripOrder = tuple[tuple[StripPlacement, ...], ...]
"""For each glue-up its strips, from the first edge to the last."""


def strip_order_of(fill_layout: FillLayout) -> StripOrder:
    """The order in which a fill is laid out."""
    return tuple(
        tuple(
            StripPlacement(strip.offcut.tag, strip.piece, strip.nth, strip.turned, strip.flipped)
            for strip in layout.strips
        )
        for layout in fill_layout.layouts
    )


def moved(order: StripOrder, glue_up: int, place: int, to: int) -> StripOrder:
    """The order with the strip at `place` of a glue-up taken out and put in again at `to`; both count from 0."""
    row = list(_row(order, glue_up, place, to))
    row.insert(to, row.pop(place))
    return _with_row(order, glue_up, row)


def turned(order: StripOrder, glue_up: int, place: int) -> StripOrder:
    """The order with one strip turned end for end, or back."""
    row = list(_row(order, glue_up, place))
    row[place] = replace(row[place], turned=not row[place].turned)
    return _with_row(order, glue_up, row)


def flipped(order: StripOrder, glue_up: int, place: int) -> StripOrder:
    """The order with one strip's other face up, or back."""
    row = list(_row(order, glue_up, place))
    row[place] = replace(row[place], flipped=not row[place].flipped)
    return _with_row(order, glue_up, row)


def _row(order: StripOrder, glue_up: int, *places: int) -> tuple[StripPlacement, ...]:
    if not 0 <= glue_up < len(order) or not all(0 <= place < len(order[glue_up]) for place in places):
        raise InvalidOrder("There is no strip in that place. Load the page again and choose one that it shows.")
    return order[glue_up]


def _with_row(order: StripOrder, glue_up: int, row: list[StripPlacement]) -> StripOrder:
    return (*order[:glue_up], tuple(row), *order[glue_up + 1 :])
