"""The largest end-grain board that a rack fills when one of its sizes gives way (cutting model, sections 6 and 10).

Knows that panels are filled together. Knows no rule of cutting.

Method: whether all panels can be filled is seen only by filling them, which takes its
time; whether each of their pools has wood enough is seen at once. So the size is
halved down to the largest for which there is wood enough, which nothing exceeds, and
from there, by filling, to one that is filled. Sizes are whole steps of a tape measure; the
answer is within one part in 32 of the largest there is, and mostly it is that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from inventory.core.lengths import NM_PER_INCH, Length
from inventory.core.offcuts import Offcut
from inventory.fill.demands import max_reach
from inventory.fill.glue_ups import candidate_depths, glue_ups_for, with_depth
from inventory.fill.item_classes import ItemClasses, group_offcuts
from inventory.fill.request import BoardRequest, InvalidRequest
from inventory.orders.strip_inventory import pool_parts

STEPS = {True: NM_PER_INCH // 16, False: 1_000_000}
"""A sixteenth of an inch where the board is asked for in such, else a millimetre."""
MAX_TRIES = 5
SIZES = ("width", "length", "thickness")


def feasible_depths(request: BoardRequest, item_classes: ItemClasses) -> Iterator[BoardRequest]:
    """The request with each row depth at which every pool of the panels has wood enough if it had it alone."""
    for depth in candidate_depths(request):
        deep = with_depth(request, depth)
        parts = [each.part for each in pool_parts(glue_ups_for([deep]))]
        if all(
            available >= part.demand.target
            for part, available in zip(parts, max_reach(parts, item_classes), strict=True)
        ):
            yield deep


def resized(request: BoardRequest, name: str, size: Length) -> BoardRequest:
    """The request with another width, length or thickness. Raises NotARequest."""
    match name:
        case "width":
            return replace(request, width=size)
        case "length":
            return replace(request, length=size)
        case _:
            return replace(request, thickness=size)


def largest_sizes(
    rack: Sequence[Offcut], request: BoardRequest, fills: Callable[[BoardRequest], bool]
) -> dict[str, Length | None]:
    """By name, the largest width, length and thickness at which the rack fills the request.

    `fills` says whether it does at a row depth that is chosen.
    """
    eligible = [each for each in rack if request.accepts(each.species)]
    item_classes = group_offcuts(eligible, request.allowances, request.on, by_age=False)
    return {name: _largest(request, name, item_classes, fills) for name in SIZES}


def _largest(
    request: BoardRequest, name: str, item_classes: ItemClasses, fills: Callable[[BoardRequest], bool]
) -> Length | None:
    asked = int(getattr(request, name))
    step = STEPS[asked % STEPS[True] == 0]

    def board(steps: int) -> BoardRequest | None:
        try:
            return resized(request, name, Length(steps * step))
        except InvalidRequest:  # no board so small, or the accents alone are wider
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
    """The largest for which `ask` was seen to hold, between one that holds and one that fails."""
    while fails - holds > 1 and tries:
        middle = (holds + fails) // 2
        holds, fails = (middle, fails) if ask(middle) else (holds, middle)
        tries -= 1
    return holds
