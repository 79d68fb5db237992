"""Boards of different sizes in one batch: held by the verifier, and by every combination of small racks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from random import Random

import pytest

from inventory.core.lengths import Length, inches
from inventory.core.offcuts import Offcut
from inventory.cutting.bands import FieldBand, StripeBand
from inventory.cutting.costs import Preference
from inventory.fill.plan import Plan, Shortfall
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from inventory.orders.answer import fill_order, fill_rack
from tests.fill.brute_force import FillPart, best_cost_keys, combinations, cost_key, fill_parts
from tests.fill.racks import ShopUnits, make_rack, make_request
from tests.solver.hand_written import DAY, make_offcut
from tests.verify import faults

SEEDS = range(2)
MOST_COMBINATIONS = 4_000
RACK = [
    make_offcut("44", "5 1/4", "13/16", "ash", "AAAAAA1"),
    make_offcut("30", "6", "1 1/8", "ash", "AAAAAA2", count=2),
    make_offcut("21", "3", "1 1/4", "cherry", "BBBBBB1"),
]
EDGE = BoardRequest(inches("16"), inches("6"), inches("1 1/2"), Grain.EDGE, on=DAY)
FACE = replace(EDGE, grain=Grain.FACE, thickness=inches("5/8"))


def _batch(seed: int, shop: ShopUnits, *, same_length: bool) -> tuple[list[Offcut], list[BoardRequest], list[FillPart]]:
    """Two boards on edge of which one is wider, or longer, and a rack to try every combination of."""
    random = Random(f"mixed {seed} {shop.name} {same_length}")
    while True:
        rack = make_rack(random.randrange(10**6), random.randint(3, 7), shop)
        first = make_request(random.randrange(10**6), rack, shop, Grain.EDGE)
        first = replace(first, width=Length(first.width // 2))
        if same_length:
            other = replace(first, width=Length(first.width // random.choice((2, 3))))
            [part] = fill_parts(first)
            parts = [replace(part, other_widths=(fill_parts(other)[0].requirement.width,))]
        else:
            other = replace(first, length=Length(first.length // 2))
            parts = fill_parts(first) + fill_parts(other)
        if 20 <= combinations(rack, parts) <= MOST_COMBINATIONS:
            return rack, [first, other], parts


@pytest.mark.parametrize("same_length", [True, False], ids=["other-width", "other-length"])
@pytest.mark.parametrize("shop", list(ShopUnits), ids=lambda shop: shop.name.lower())
@pytest.mark.parametrize("seed", SEEDS)
def test_different_boards_are_filled_as_well_as_they_say(seed: int, shop: ShopUnits, same_length: bool) -> None:
    rack, requests, parts = _batch(seed, shop, same_length=same_length)
    plan = fill_order(rack, requests)
    assert faults(plan, rack) == []
    for prefer, best in best_cost_keys(rack, parts).items():
        fills = [fill for fill in plan.fills if fill.prefer is prefer]
        assert len(fills) == bool(best), prefer.value
        for fill in fills:
            key = cost_key(fill, requests[0])
            assert fill.bound <= best[0][0] <= key[0], prefer.value
            assert not fill.proven or key == best[0], prefer.value


STRIPED = (FieldBand(("ash",)), StripeBand(("cherry",), 1, inches("1/4")), FieldBand(("ash",)))
MIXED: dict[str, Sequence[BoardRequest]] = {
    "two widths on edge": (EDGE, replace(EDGE, width=inches("4"))),
    "two lengths on edge": (EDGE, replace(EDGE, length=inches("10"), count=2)),
    "on edge and laid flat": (EDGE, FACE),
    "laid flat, with parts of lengths": (replace(FACE, width=inches("6 1/2")), replace(FACE, width=inches("3 1/4"))),
    "plain and striped": (EDGE, replace(EDGE, bands=STRIPED, length=inches("12"))),
    "on edge and of end grain": (
        EDGE,
        replace(EDGE, grain=Grain.END, length=inches("5"), panel=PanelSpec(Grain.EDGE, 1, inches("3/4"))),
    ),
}


@pytest.mark.parametrize("mixed", MIXED, ids=lambda mixed: mixed.replace(" ", "-"))
def test_every_preference_fills_a_batch_of(mixed: str) -> None:
    plan = fill_order(RACK, MIXED[mixed])
    assert faults(plan, RACK) == []
    assert [fill.prefer for fill in plan.fills] == list(Preference)
    assert plan.requests == tuple(MIXED[mixed])


def test_every_board_laid_flat_may_have_a_part_of_a_length_of_its_own() -> None:
    plan = fill_order(RACK, MIXED["laid flat, with parts of lengths"])
    best = next(fill for fill in plan.fills if fill.prefer is Preference.LEAST_WASTE)
    closed = {share.glue_up for cut in best.cuts if cut.part for share in cut.shares}
    assert closed == {0, 1}


def test_different_boards_that_are_too_much_together_lack_what_they_lack_together() -> None:
    much = [replace(EDGE, width=inches("10")), replace(EDGE, width=inches("8"))]
    assert all(fill_rack(RACK, each).fills for each in much)
    plan = fill_order(RACK, much)
    assert faults(plan, RACK) == []
    assert plan.shortfall is not None
    # Of s = 1 5/8 in and ℓ = 17 in: 2·3 strips of 13/16 in, 2·3 of 1 1/8 in and one of 1 1/4 in.
    assert plan.shortfall.missing == inches("18 1/4") - 6 * inches("13/16") - 6 * inches("1 1/8") - inches("1 1/4")


def test_a_shortfall_of_different_boards_that_can_be_filled_one_after_another_is_found() -> None:
    nothing = Shortfall((), {}, (), None, None, None)
    small = replace(EDGE, width=inches("4"))
    assert faults(Plan(EDGE, (), nothing, (small,)), RACK) == [
        "The rack holds enough for every glue-up, one after another, yet the plan has no fill."
    ]


def test_a_piece_for_boards_of_different_length_is_found() -> None:
    longer = replace(EDGE, width=inches("4"))
    plan = fill_order(RACK, [replace(EDGE, prefer=EDGE.prefer[:1]), longer])
    assert faults(plan, RACK) == []
    shared = [cut for cut in plan.fills[0].cuts if len(cut.shares) == 2]
    assert shared, "no piece gives strips to both boards: the case says nothing"
    short = replace(longer, length=inches("15"))
    glue_ups = (plan.fills[0].glue_ups[0], replace(plan.fills[0].glue_ups[1], request=short))
    planted = replace(plan, fills=(replace(plan.fills[0], glue_ups=glue_ups),), other_requests=(short,))
    assert f"offcut {shared[0].offcut.tag}" in " ".join(faults(planted, RACK))
    assert "is cut for glue-ups of different sizes." in " ".join(faults(planted, RACK))


def test_a_board_left_out_of_a_batch_is_found() -> None:
    plan = fill_order(RACK, [replace(EDGE, prefer=EDGE.prefer[:1]), replace(EDGE, width=inches("4"))])
    planted = replace(plan, other_requests=())
    assert "it states 2 glue-ups; asked for were 1." in " ".join(faults(planted, RACK))
