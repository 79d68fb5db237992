"""Checks on seeded boards of every kind that two general solvers agree with every fill that is proven."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import cycle, product

from inventory.cutting.costs import Preference
from tests.bench.timing import Comparison
from tests.fill.cases import ALWAYS_PROVEN, CaseKind, make_case, make_demanding_case, verdict
from tests.fill.racks import ShopUnits


def check_agreement(pieces: int, cases: int) -> Iterator[Comparison]:
    """For each kind of board `cases` cases, units and preferences in turn, on racks of up to `pieces` pieces.

    Then as many whose request rules out some pieces and demands others.

    Racks are half as large where strips are distributed among several glue-ups. Exits at the first fill that a solver
    disproves.
    """
    for kind, (demands, make) in product(CaseKind, (("", make_case), (", demanding", make_demanding_case))):
        proven = filled = inconclusive = 0
        by_search = by_solvers = 0.0
        most = pieces if kind in ALWAYS_PROVEN else pieces // 2
        turns = cycle(product(ShopUnits, Preference))
        for seed, (shop, prefer) in zip(range(cases), turns, strict=False):
            found = verdict(make(kind, shop, prefer, seed, max(most - seed % (most // 2 + 1), 3)))
            if found.wrong:
                raise SystemExit(f"{kind.value}{demands}, {shop.name}, {prefer.value}, seed {seed}: {found.wrong}")
            proven, filled, inconclusive = (
                proven + found.proven,
                filled + found.filled,
                inconclusive + found.inconclusive,
            )
            by_search += found.search_seconds
            by_solvers += found.solver_seconds
        what = f"{kind.value}{demands}: {cases} cases, {filled} filled, {proven} fills proven"
        what += ", with which both solvers agree"
        what += f", {inconclusive} times a solver failed by rounding" if inconclusive else ""
        yield Comparison(what, "search", by_search, "both solvers", by_solvers)
