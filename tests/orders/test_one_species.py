"""Boards of one species each: the best choice, and boards of one order that differ (cutting model, section 7)."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from inventory.core.lengths import Length, inches
from inventory.core.offcuts import Face, Offcut, species_key
from inventory.cutting.bands import FieldBand, StripeBand, bands_of_species
from inventory.cutting.costs import Preference
from inventory.fill.certainty import costs_of
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest, Grain, Mix
from inventory.orders.answer import fill_order, fill_rack
from inventory.orders.counting import count_boards
from tests.fill.racks import ON, ShopUnits, make_rack, make_request
from tests.verify import faults

NARROWEST = Length(20_000_000)


def seeded_case(seed: int) -> tuple[list[Offcut], BoardRequest]:
    """A rack of several species and a board of any of them."""
    random = Random(f"one species {seed}")
    shop, grain = random.choice(list(ShopUnits)), random.choice((Grain.EDGE, Grain.FACE))
    rack = make_rack(seed, random.randint(6, 60), shop)
    request = replace(make_request(seed, rack, shop, grain), bands=(), mix=Mix.ONE, fills=3)
    return rack, replace(request, width=max(Length(request.width // random.randint(1, 3)), NARROWEST))


def by_species(rack: list[Offcut], request: BoardRequest, preference: Preference) -> list[Fill]:
    """The fills of every species asked for alone, the cheapest first."""
    fills: list[Fill] = []
    for name in sorted({species_key(each.species) for each in rack}):
        alone = replace(request, bands=bands_of_species([name]), mix=Mix.FREE, prefer=(preference,))
        fills += fill_rack(rack, alone).fills
    return sorted(fills, key=lambda fill: costs_of(fill, request.on))


@pytest.mark.parametrize("seed", range(24))
def test_the_fills_are_the_best_of_all_species_asked_for_alone(seed: int) -> None:
    rack, request = seeded_case(seed)
    plan = fill_rack(rack, request)
    assert faults(plan, rack) == []
    for preference in Preference:
        alone = by_species(rack, request, preference)
        found = [fill for fill in plan.fills if fill.prefer is preference]
        assert [costs_of(fill, request.on) for fill in found] == [costs_of(fill, request.on) for fill in alone[:3]]
        assert all(fill.proven for fill in found) == all(fill.proven for fill in alone)
        if not found:
            continue
        best = {}
        for fill in alone:
            best.setdefault(fill.species_of_cuts, costs_of(fill, request.on)[0])
        if preference is not Preference.BEST_USE:
            assert not any(fill.other_species for fill in found)
            continue
        others = {species_key(each.species): each.cost for each in found[0].other_species}
        assert others == {name: cost for name, cost in best.items() if name != found[0].species}
        assert list(others.values()) == sorted(others.values())


def piece(species: str, count: int, tag: str) -> Offcut:
    """Four inches wide, 7/8 in clean: gives one length of two strips on edge for the board below."""
    sizes = inches("20"), inches("4"), inches("1")
    return Offcut(*sizes, species, Face.ROUGH, Face.ROUGH, count=count, tag=tag)


BOARD = BoardRequest(inches("18"), inches("6"), inches("1 1/2"), Grain.EDGE, on=ON, mix=Mix.ONE)
# 6 1/8 in wide with the side trim: seven strips of 7/8 in, from four pieces of two strips.


def test_wood_enough_for_a_mixed_board_alone_fills_none_of_one_species() -> None:
    rack = [piece("ash", 3, "0000011"), piece("oak", 2, "0000022")]
    assert len(fill_rack(rack, replace(BOARD, mix=Mix.FREE)).fills) > 0
    plan = fill_rack(rack, BOARD)
    assert plan.fills == () and plan.shortfall is not None
    assert plan.shortfall.by_mixing
    # Six strips of ash of 7/8 in; four of oak would be further off.
    [shortage] = plan.shortfall.shortages
    assert (shortage.species, shortage.width) == (("ash",), inches("6 1/8") - 6 * inches("7/8"))


def test_boards_of_one_order_may_be_of_different_species() -> None:
    rack = [piece("ash", 4, "0000011"), piece("oak", 4, "0000022")]
    plan = fill_order(rack, [replace(BOARD, count=2)])
    assert faults(plan, rack) == []
    assert {cut.offcut.species for cut in plan.fills[0].cuts} == {"ash", "oak"}
    assert fill_order(rack[:1], [replace(BOARD, count=2)]).fills == ()


def test_the_boards_of_all_species_are_counted() -> None:
    # Twelve strips of ash and ten of oak: one board of each, and three of all 22.
    rack = [piece("ash", 6, "0000011"), piece("oak", 5, "0000022")]
    *_, one = count_boards(rack, BOARD)
    *_, free = count_boards(rack, replace(BOARD, mix=Mix.FREE))
    assert (one.boards, one.upper_bound) == (2, 2)
    assert free.boards == 3
    assert one.plan is not None and faults(one.plan, rack) == []


def test_the_main_wood_and_a_stripe_are_each_of_one_species() -> None:
    bands = (FieldBand(), StripeBand((), 2, inches("1/4")), FieldBand())
    rack = [piece("ash", 4, "0000011"), piece("oak", 1, "0000022"), piece("walnut", 1, "0000033")]
    plan = fill_rack(rack, replace(BOARD, bands=bands))
    assert plan.fills and faults(plan, rack) == []
    for fill in plan.fills:
        for band in (0, 1):
            assert len({cut.offcut.species for cut in fill.cuts if cut.band == band}) == 1
