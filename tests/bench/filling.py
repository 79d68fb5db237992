"""The search beside a general-purpose integer solver, and a mixed rack beside racks of one unit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from statistics import median

from inventory.cutting.cost import Preference
from inventory.fill import fill_rack
from inventory.fill.plan import Plan
from inventory.fill.request import BoardRequest, Grain
from inventory.pieces import Offcut
from tests.bench.measuring import Compared, seconds, side_by_side
from tests.fill.brute import Key, key_of
from tests.fill.integer_programme import Question
from tests.fill.racks import Shop, make_rack, make_request

SEED = 1
OF_ONE_UNIT = (Shop.SIXTEENTHS, Shop.SIXTY_FOURTHS, Shop.WHOLE_MM)


def search_beside_solver(pieces: int, shop: Shop, times: int) -> Iterator[Compared]:
    """The best edge-grain fill of each preference, by both, from the very same rack; both must find the same.

    The search's time begins with the offcuts and ends with the cuts. The solver's is
    that of its solving alone: its model was built before, from what each piece can give.
    It is asked once for the first cost alone and once for the whole order.
    """
    rack = make_rack(SEED, pieces, shop)
    request = make_request(SEED, rack, shop, Grain.EDGE)
    question = Question(rack, request, closes=False)
    for prefer in Preference:
        what = f"{prefer.value}, {pieces:,} pieces, {shop.value}"
        yield from _one_preference(what, rack, replace(request, prefer=(prefer,), fills=1), question, times)


def _one_preference(
    what: str, rack: Sequence[Offcut], asked: BoardRequest, question: Question, times: int
) -> Iterator[Compared]:
    [prefer] = asked.prefer
    plans: list[Plan] = []
    best: list[Key | None] = []
    by_search = median(seconds(lambda: plans.append(fill_rack(rack, asked))) for _ in range(times))
    whole = seconds(lambda: best.append(question.best(prefer)))
    first = seconds(lambda: question.model.minimised(question.costs(prefer)[0]))
    [fill] = plans[0].fills
    if best != [key_of(fill, asked)] or not fill.proven:
        raise SystemExit(f"{prefer.value}: the search finds {key_of(fill, asked)}, the solver {best}.")
    yield Compared(what, "search", by_search, "solver, whole order", whole)
    yield Compared(what, "search", by_search, "solver, first cost alone", first)


def mixed_beside_one_unit(pieces: int, times: int) -> Iterator[Compared]:
    """All four preferences, three fills each: a rack in inches and mm beside racks that keep to one grid."""
    mixed_rack = make_rack(SEED, pieces, Shop.MIXED)
    for grain in (Grain.EDGE, Grain.FACE):
        mixed = make_request(SEED, mixed_rack, Shop.MIXED, grain)
        for shop in OF_ONE_UNIT:
            rack = make_rack(SEED, pieces, shop)
            request = make_request(SEED, rack, shop, grain)
            yield side_by_side(
                f"{grain.value} grain, {pieces:,} pieces, four preferences",
                (shop.value, lambda rack=rack, request=request: fill_rack(rack, request)),
                ("mixed", lambda mixed=mixed: fill_rack(mixed_rack, mixed)),
                times,
            )
