"""Times of the search compared with two general-purpose solvers, and of a mixed rack with racks of one unit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from statistics import median

from inventory.core.offcuts import Offcut
from inventory.cutting.costs import Preference
from inventory.cutting.rack_table import build_table
from inventory.fill.plan import Plan
from inventory.fill.request import BoardRequest, Grain
from inventory.orders.answer import fill_rack
from tests.bench.timing import Comparison, compare_times, seconds
from tests.fill.brute_force import CostKey, cost_key
from tests.fill.integer_programs import FillProgram
from tests.fill.racks import ShopUnits, make_rack, make_request
from tests.solver.general_solvers import SOLVERS, OutOfTime, Solver

SEED = 1
SINGLE_UNITS = (ShopUnits.SIXTEENTHS, ShopUnits.SIXTY_FOURTHS, ShopUnits.WHOLE_MM)


def compare_with_solvers(pieces: int, shop: ShopUnits, times: int, limit: float) -> Iterator[Comparison]:
    """The best edge-grain fill of each preference, by all three from the same rack; all must find the same.

    The search is timed from the rack table, as the database gives it, to the cuts. A solver is timed for solving
    alone: its model, with equal pieces as one item class, was built before. It minimizes lexicographically: the
    first cost, then the second. A solver without a proof after `limit` seconds of wall-clock time gives up, and the
    row shows the CPU time that it has used.
    """
    rack = make_rack(SEED, pieces, shop)
    request = make_request(SEED, rack, shop, Grain.EDGE)
    for prefer in Preference:
        what = f"{prefer.value}, {pieces:,} pieces, {shop.value}"
        yield from _one_preference(what, rack, replace(request, prefer=(prefer,), fills=1), times, limit)


def _one_preference(
    what: str, rack: Sequence[Offcut], asked: BoardRequest, times: int, limit: float
) -> Iterator[Comparison]:
    [prefer] = asked.prefer
    plans: list[Plan] = []
    table = build_table(rack)
    by_search = median(seconds(lambda: plans.append(fill_rack(table, asked))) for _ in range(times))
    [fill] = plans[0].fills
    own = cost_key(fill, asked)
    question = FillProgram(rack, [asked], prefer)
    for name, solver in SOLVERS.items():
        found: list[CostKey | None] = []
        took = seconds(lambda solver=solver, found=found: found.append(_best(question, solver, limit)))
        if found not in ([None], [own]) or not fill.proven:
            raise SystemExit(f"{what}: the search finds {own}, {name} {found}.")
        yield Comparison(what, "search", by_search, name, took, found == [None])


def _best(question: FillProgram, solver: Solver, limit: float) -> CostKey | None:
    """The cost of the best fill; None if the solver has no proof within the limit."""
    try:
        found = question.best(solver, limit)
    except OutOfTime:
        return None
    return None if found is None else found[0]


def compare_mixed_units(pieces: int, times: int) -> Iterator[Comparison]:
    """All four preferences, three fills each: a rack in inches and mm compared with racks of one unit."""
    mixed_rack = make_rack(SEED, pieces, ShopUnits.MIXED)
    for grain in (Grain.EDGE, Grain.FACE):
        mixed = make_request(SEED, mixed_rack, ShopUnits.MIXED, grain)
        for shop in SINGLE_UNITS:
            rack = make_rack(SEED, pieces, shop)
            request = make_request(SEED, rack, shop, grain)
            yield compare_times(
                f"{grain.value} grain, {pieces:,} pieces, four preferences",
                (shop.value, lambda rack=rack, request=request: fill_rack(rack, request)),
                ("mixed", lambda mixed=mixed: fill_rack(mixed_rack, mixed)),
                times,
            )
