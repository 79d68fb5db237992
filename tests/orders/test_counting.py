"""How many of a board are in the rack: every combination of small racks is tried, and every plan recomputed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise, product
from random import Random

import pytest

from inventory.core.lengths import Length, inches
from inventory.core.offcuts import Offcut
from inventory.cutting.bands import FieldBand
from inventory.cutting.costs import Preference
from inventory.fill.request import MAX_BOARDS, BoardRequest, Grain, PanelSpec
from inventory.orders.counting import BoardCount, count_boards
from tests.fill.brute_force import FillPart, can_distribute, fill_parts
from tests.fill.calculation import CutChoice, piece_options
from tests.fill.racks import LONG_GRAIN, SPECIES, ShopUnits, make_rack, make_request
from tests.solver.hand_written import DAY, make_offcut
from tests.verify import faults
from tests.verify.asked import requirements_of
from tests.verify.glue_ups import glue_ups

SEEDS = range(3)
MOST_WAYS = 300
MAX_STRIPS = 14
BOARD = BoardRequest(inches("9"), inches("4"), inches("1 1/2"), Grain.EDGE, prefer=(Preference.LEAST_WASTE,), on=DAY)


def counted(rack: Sequence[Offcut], request: BoardRequest) -> BoardCount:
    """The last answer; those before it are never worse, and none of them is wrong."""
    answers = list(count_boards(rack, request))
    for before, after in pairwise(answers):
        assert before.boards <= after.boards and before.upper_bound >= after.upper_bound
    assert all(each.boards <= each.upper_bound for each in answers)
    best = answers[-1]
    if best.plan is not None:
        assert faults(best.plan, rack) == []
        assert best.plan.request.count == best.boards
    return best


def ways_to_give_all(rack: Sequence[Offcut], parts: Sequence[FillPart]) -> list[list[list[int]]]:
    """By piece and part: the strips that the piece gives to the part when it gives all; a part it can't serve is out.

    On edge a strip more does no harm, so nothing else need be tried.
    """
    ways = []
    for offcut in rack:
        whole = [
            max(piece_options(offcut, each.request, each.requirement).choices, key=_taken, default=None)
            for each in parts
        ]
        given = [[] if most is None else [most.adds // most.taken] * most.taken for most in whole]
        ways += [given] * (offcut.count if any(given) else 0)
    return ways


def _taken(choice: CutChoice) -> int:
    return choice.taken


def most_by_trying(rack: Sequence[Offcut], parts: Sequence[FillPart]) -> int:
    """Boards by the best of all ways to hand the pieces to the parts; one board more until every way fails."""
    ways, boards = ways_to_give_all(rack, parts), 0
    while any(_filled(ways, to, parts, boards + 1) for to in product(range(len(parts)), repeat=len(ways))):
        boards += 1
    return boards


def _filled(ways: Sequence[list[list[int]]], to: Sequence[int], parts: Sequence[FillPart], boards: int) -> bool:
    return all(
        can_distribute(
            [strip for given, place in zip(ways, to, strict=True) if place == number for strip in given[number]],
            [part.requirement.width] * part.copies * boards,
        )
        for number, part in enumerate(parts)
    )


def small_case(seed: int, shop: ShopUnits, kind: str) -> tuple[list[Offcut], BoardRequest, list[FillPart]]:
    """A rack to try every combination of, and a board of which it holds one or a few."""
    random = Random(f"count {seed} {shop.name} {kind}")
    while True:
        rack = make_rack(random.randrange(10**6), random.randint(3, 7), shop)
        request = make_request(random.randrange(10**6), rack, shop, Grain.EDGE)
        request = replace(request, prefer=(random.choice(list(Preference)),), bands=())
        request = replace(request, width=Length(request.width // random.choice((2, 3, 4))))
        if kind == "pools":
            first, second, third = random.sample(SPECIES, 3)
            request = replace(request, bands=(FieldBand((first, second)), FieldBand((second, third))))
        if kind == "panels":
            panel = PanelSpec(Grain.EDGE, random.choice((1, 2)), request.thickness)
            request = replace(request, grain=Grain.END, length=Length(request.length // 2), panel=panel)
            like = [each.made for each in glue_ups(request, panel.row_depth)]
            parts = [
                FillPart(made, requirement, like.count(made))
                for made in dict.fromkeys(like)
                for requirement in requirements_of(made)
            ]
        else:
            parts = fill_parts(request)
        ways = ways_to_give_all(rack, parts)
        strips = sum(max(map(len, given)) for given in ways)
        if len(parts) ** len(ways) <= MOST_WAYS and 2 <= strips <= MAX_STRIPS:
            return rack, request, parts


@pytest.mark.parametrize("kind", ["one wood", "pools", "panels"])
@pytest.mark.parametrize(
    "shop", [ShopUnits.SIXTEENTHS, ShopUnits.WHOLE_MM, ShopUnits.MIXED], ids=lambda shop: shop.name.lower()
)
def test_a_count_is_what_trying_everything_finds(shop: ShopUnits, kind: str) -> None:
    for seed in SEEDS:
        rack, request, parts = small_case(seed, shop, kind)
        best = counted(rack, request)
        right = most_by_trying(rack, parts)
        assert best.boards <= right <= best.upper_bound
        assert best.boards == right


@pytest.mark.parametrize("grain", LONG_GRAIN, ids=lambda grain: grain.value)
def test_on_larger_racks_the_count_is_close_below_what_can_be_proven(grain: Grain) -> None:
    reached = []
    for seed in range(3):
        rack = make_rack(seed, 60, ShopUnits.MIXED)
        request = replace(make_request(seed, rack, ShopUnits.MIXED, grain), prefer=(Preference.LEAST_WASTE,))
        best = counted(rack, request)
        assert best.boards
        reached.append(best.boards / best.upper_bound)
    assert sum(reached) / len(reached) >= 0.98


def test_an_empty_rack_holds_no_board() -> None:
    assert counted([], BOARD) == BoardCount(0, 0, None)


def test_as_many_as_strips_make_up_and_not_one_more() -> None:
    # ℓ = 10 in, s = 1 5/8 in: a length 6 in wide gives 3 strips of 13/16 in; 6 strips make 4 1/8 in,
    # so a board takes two lengths.
    ash = make_offcut("41", "6", "13/16", "ash", "AAAAAA1")
    assert counted([ash], BOARD).boards == 2
    # 12 lengths, 36 strips, 6 a board.
    bundle = counted([replace(ash, count=3)], BOARD)
    assert (bundle.boards, bundle.upper_bound) == (6, 6)


def test_more_boards_than_can_be_asked_for_are_not_counted() -> None:
    much = make_offcut("96", "12", "2", "ash", "AAAAAA1", count=999)
    small = replace(BOARD, length=inches("2"), width=inches("1 1/2"))
    first = next(iter(count_boards([much], small)))
    assert (first.boards, first.upper_bound) == (MAX_BOARDS, MAX_BOARDS)
    assert first.plan is not None and first.plan.request.count == MAX_BOARDS


def test_every_usual_row_depth_is_counted_where_none_was_asked_for() -> None:
    rack = [make_offcut("60", "5", "1 1/8", "ash", "AAAAAA1", count=2), make_offcut("48", "4", "1", "ash", "AAAAAA2")]
    open_depth = replace(BOARD, grain=Grain.END, length=inches("5"), panel=PanelSpec())
    best = counted(rack, open_depth)
    assert best.plan is not None
    depths = [replace(open_depth, panel=PanelSpec(row_depth=inches(depth))) for depth in ("1", "3/4")]
    assert best.boards >= max(counted(rack, each).boards for each in depths)
