"""The largest end-grain board that a rack fills when one size is smaller (cutting model, sections 6 and 10).

Method: bisection. Filling all panels is slow; whether each of their pools has enough width is fast. So
a first bisection finds the largest size with enough width, an upper bound, and a second one, by
filling, a size that is filled. Sizes are steps of a tape measure; the result is within one part
in 32 of the largest size and usually equal to it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import islice

from inventory.core.lengths import NM_PER_INCH, NM_PER_MM, Length, Unit
from inventory.cutting.end_grain import MAX_PANELS
from inventory.fill.demands import max_reach
from inventory.fill.glue_ups import candidate_depths, glue_ups_for, with_depth
from inventory.fill.item_classes import ItemClasses
from inventory.fill.request import BoardRequest, InvalidRequest
from inventory.orders.strip_inventory import pool_parts

STEPS = {Unit.INCH: NM_PER_INCH // 16, Unit.MILLIMETER: NM_PER_MM}
MAX_TRIES = 5
SIZES = ("width", "length", "thickness")


def feasible_depths(request: BoardRequest, item_classes: ItemClasses) -> Iterator[BoardRequest]:
    """The request with each row depth at which every pool of the panels, taken alone, has enough width."""
    for depth in candidate_depths(request):
        deep = with_depth(request, depth)
        parts = [each.part for each in pool_parts(glue_ups_for([deep]))]
        if all(
            available >= part.demand.target
            for part, available in zip(parts, max_reach(parts, item_classes), strict=True)
        ):
            yield deep


def resized(request: BoardRequest, name: str, size: Length) -> BoardRequest:
    """The request with another width, length or thickness. Raises InvalidRequest."""
    match name:
        case "width":
            return replace(request, width=size)
        case "length":
            return replace(request, length=size)
        case _:
            return replace(request, thickness=size)


def largest_sizes(
    item_classes: ItemClasses, request: BoardRequest, fills: Callable[[BoardRequest], bool]
) -> dict[str, Length | None]:
    """By name, the largest width, length and thickness at which these item classes fill the request.

    `fills` says whether it does for a request with its row depth chosen.
    """
    return {name: _largest(request, name, item_classes, fills) for name in SIZES}


def enough_panels(
    item_classes: ItemClasses, request: BoardRequest, fills: Callable[[BoardRequest], bool]
) -> int | None:
    """From how many panels, more than asked for, the rack fills the request; None where that is not found.

    `fills` is as in `largest_sizes`. It is asked `MAX_TRIES` times at most.
    """
    more = (
        deep
        for panels in range(request.panel.panels + 1, MAX_PANELS + 1)
        for deep in feasible_depths(replace(request, panel=replace(request.panel, panels=panels)), item_classes)
    )
    return next((each.panel.panels for each in islice(more, MAX_TRIES) if fills(each)), None)


def _largest(
    request: BoardRequest, name: str, item_classes: ItemClasses, fills: Callable[[BoardRequest], bool]
) -> Length | None:
    asked = int(getattr(request, name))
    step = STEPS[request.unit]

    def board(steps: int) -> BoardRequest | None:
        try:
            return resized(request, name, Length(steps * step))
        except InvalidRequest:  # no board is so small, or the stripes alone are wider
            return None

    def has_wood(steps: int) -> bool:
        smaller = board(steps)
        return smaller is not None and any(True for _ in feasible_depths(smaller, item_classes))

    def filled(steps: int) -> bool:
        smaller = board(steps)
        return smaller is not None and any(fills(deep) for deep in feasible_depths(smaller, item_classes))

    most = _bisect(0, (asked - 1) // step + 1, has_wood, 64)
    if most == 0 or filled(most):
        return Length(most * step) if most else None
    found = _bisect(0, most, filled, MAX_TRIES)
    return Length(found * step) if found else None


def _bisect(holds: int, fails: int, ask: Callable[[int], bool], tries: int) -> int:
    """The largest number found for which `ask` holds, between one that holds and one that fails."""
    while fails - holds > 1 and tries:
        middle = (holds + fails) // 2
        holds, fails = (middle, fails) if ask(middle) else (holds, middle)
        tries -= 1
    return holds
