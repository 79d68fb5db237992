"""Two general-purpose solvers (HiGHS and OR-tools CP-SAT) find no better fill than the search, and one as good.

Small racks of every type of board, inch, metric and mixed, all five preferences. Boards laid flat by least waste
alone: what a part of a length costs by the others is no linear function of its width, and brute force judges them.
`python -m tests.bench agreement` asks the same of many more, and larger ones.
"""

from __future__ import annotations

import pytest

from inventory.cutting.costs import Preference
from tests.fill.cases import ALWAYS_PROVEN, CaseKind, make_case, verdict
from tests.fill.racks import ShopUnits

PIECES = {
    CaseKind.EDGE_BANDS: 9,
    CaseKind.FACE_BANDS: 9,
    CaseKind.TWO_SIZES: 5,
    CaseKind.TWO_GRAINS: 5,
    CaseKind.LIKE_BOARDS: 4,
    CaseKind.FLAT_BOARDS: 4,
}
USUAL_PIECES = 6
LAID_FLAT = tuple(
    kind
    for kind in CaseKind
    if kind not in (CaseKind.EDGE, CaseKind.EDGE_BANDS, CaseKind.EDGE_SHARED, CaseKind.LIKE_BOARDS, CaseKind.TWO_SIZES)
)
"""Or perhaps: the panels of end-grain boards are of either grain."""
FURTHER_BY = ("CP-SAT",)
"""The second and third best are asked of the quicker one alone."""

SEEDS = {CaseKind.EDGE: 2, CaseKind.FACE: 2, CaseKind.EDGE_BANDS: 2, CaseKind.FACE_BANDS: 2, CaseKind.END_GRAIN: 3}
"""Of the others one seed each: they take longest, and the benchmark asks more of them."""

CASES = [
    (kind, shop, prefer, seed)
    for kind in CaseKind
    for shop in (ShopUnits if kind in ALWAYS_PROVEN else (ShopUnits.SIXTEENTHS, ShopUnits.MIXED))
    for prefer in (tuple(Preference) if kind not in LAID_FLAT else (Preference.LEAST_WASTE,))
    for seed in range(SEEDS.get(kind, 1))
]


def test_a_hundred_and_ninety_cases_are_held_to_be_proven() -> None:
    assert sum(kind in ALWAYS_PROVEN for kind, *_ in CASES) >= 190


@pytest.mark.parametrize(
    ("kind", "shop", "prefer", "seed"), CASES, ids=lambda value: getattr(value, "name", str(value)).lower()
)
def test_the_best_fill_is_the_best_by_both_solvers(
    kind: CaseKind, shop: ShopUnits, prefer: Preference, seed: int
) -> None:
    case = make_case(kind, shop, prefer, seed, PIECES.get(kind, USUAL_PIECES))
    found = verdict(case, FURTHER_BY)
    assert found.wrong == ()
    assert found.inconclusive == 0
    assert found.proven or kind not in ALWAYS_PROVEN
