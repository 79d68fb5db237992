"""What half an allowance would bring, on boards that the rack fills (cutting model, section 10)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from inventory.core.lengths import Length, Unit, inches, millimeters
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.costs import Preference
from inventory.fill.certainty import primary_cost
from inventory.fill.plan import Fill, Nearly
from inventory.fill.plan_document import plan_document
from inventory.fill.request import BoardRequest, Grain
from inventory.orders import nearly
from inventory.orders.answer import fill_order, fill_rack
from inventory.orders.nearly import halved, with_nearly
from tests.fill.calculation import piece_options
from tests.fill.racks import LONG_GRAIN, METRIC_SHOP, ShopUnits, make_rack, make_request


def board(length: str, width: str, thickness: str, grain: Grain = Grain.FACE) -> BoardRequest:
    return BoardRequest(inches(length), inches(width), inches(thickness), grain, prefer=(Preference.LEAST_WASTE,))


def planed(tag: str, length: str, width: str, thickness: str, count: int = 1) -> Offcut:
    sizes = (inches(length), inches(width), inches(thickness))
    return Offcut(*sizes, "ash", Face.PLANED, Face.PLANED, count, tag)


def test_pieces_that_are_1_16_in_too_thin_would_serve_with_half_to_flatten() -> None:
    # 7/8 in is planed to 3/4 in; with 1/16 in to flatten, 13/16 in is enough.
    thick = planed("THICK", "19", "6 3/8", "2")
    thin = planed("THIN", "19", "3 1/4", "13/16", count=2)
    request = board("18", "6", "3/4")

    [best] = with_nearly(fill_rack([thick, thin], replace(request, fills=1)), [thick, thin]).fills

    assert [cut.offcut.tag for cut in best.cuts] == ["THICK"]
    [hint] = best.nearly
    assert (hint.allowance, hint.to, hint.tags, hint.pieces_more) == ("flattening", inches("1/16"), ("THIN",), 2)
    # The thin ones are 19 × 3 1/4 × 13/16 in, both used up: 100.34375 in³ for a board of 81 in³.
    assert hint.cost == 2 * (19 * 13 * 13 * 25_400_000**3 // 64 // 10**18)
    assert round(hint.yield_share, 3) == round(81 / 100.34375, 3)
    assert hint.pieces == 2


def test_a_tenth_less_is_enough_and_a_nanometer_of_thickness_less_is_not() -> None:
    def hints(thickness: int) -> Sequence[Nearly]:
        thick = replace(planed("THICK", "19", "6 3/8", "1"), thickness=Length(thickness))
        rack = [thick, planed("THIN", "19", "6 3/8", "13/16")]
        [best] = with_nearly(fill_rack(rack, replace(board("18", "6", "3/4"), fills=1)), rack).fills
        assert [cut.offcut.tag for cut in best.cuts] == ["THICK"]
        return best.nearly

    face = inches("19") * inches("6 3/8")
    thin = face * inches("13/16") // 10**18
    # The least loss of which nine tenths, in whole mm³, are the thin one, and the thickness that has it.
    thickness = -(-(-(-10 * thin // 9) * 10**18) // face)
    [hint] = hints(thickness)
    assert (hint.allowance, hint.cost) == ("flattening", thin)
    assert hints(thickness - 1) == ()


def test_where_the_same_pieces_give_more_no_tag_is_named() -> None:
    # 21 1/8 in is one length of 11 in, or two of 10 1/2 in and a kerf; each adds 4 in.
    rack = [planed("A", "21 1/8", "4 1/16", "1", count=2)]
    request = replace(board("10", "7 7/8", "3/4"), prefer=(Preference.FEWEST_PIECES,), fills=1)
    [best] = with_nearly(fill_rack(rack, request), rack).fills
    assert best.pieces == 2
    assert [(each.allowance, each.to, each.tags, each.pieces) for each in best.nearly] == [
        ("end_trim", inches("1/2"), (), 1)
    ]


def test_half_is_rounded_down_to_a_64th_or_a_tenth_of_a_millimeter() -> None:
    request = board("18", "6", "3/4")
    odd = request.allowances.with_value("side_trim", inches("3/64"))
    assert halved(replace(request, allowances=odd))["side_trim"] == inches("1/64")
    assert halved(replace(request, allowances=METRIC_SHOP, unit=Unit.MILLIMETER)) == {
        "flattening": millimeters("1.5"),
        "end_trim": millimeters("12.5"),
        "side_trim": millimeters("1.5"),
    }
    assert halved(replace(request, unit=Unit.MILLIMETER))["flattening"] == millimeters("1.5")


def test_an_allowance_of_which_half_is_nothing_is_left_alone() -> None:
    request = board("18", "6", "3/4")
    small = request.allowances.with_value("side_trim", inches("1/64")).with_value("end_trim", Length(0))
    assert list(halved(replace(request, allowances=small))) == ["flattening"]


def test_only_the_best_fill_of_a_preference_says_what_would_be_nearly_better() -> None:
    rack = make_rack(3, 40, ShopUnits.SIXTEENTHS)
    request = make_request(3, rack, ShopUnits.SIXTEENTHS, Grain.FACE)
    plan = with_nearly(fill_rack(rack, request), rack)
    first = {fill.prefer: fill for fill in reversed(plan.fills)}
    assert any(fill.nearly for fill in plan.fills)
    assert all(not fill.nearly or fill is first[fill.prefer] for fill in plan.fills)


def test_on_a_large_rack_only_the_first_preference_is_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    rack = make_rack(3, 40, ShopUnits.SIXTEENTHS)
    plan = fill_rack(rack, make_request(3, rack, ShopUnits.SIXTEENTHS, Grain.FACE))
    every = [fill.prefer for fill in with_nearly(plan, rack).fills if fill.nearly]
    monkeypatch.setattr(nearly, "LARGE", len(rack) - 1)
    first = [fill.prefer for fill in with_nearly(plan, rack).fills if fill.nearly]
    assert first == every[:1] == [plan.request.prefer[0]]
    monkeypatch.setattr(nearly, "LARGE", len(rack))
    assert [fill.prefer for fill in with_nearly(plan, rack).fills if fill.nearly] == every


def test_an_order_of_several_boards_is_left_as_it_is() -> None:
    rack = make_rack(3, 40, ShopUnits.SIXTEENTHS)
    request = replace(board("12", "4", "3/4"), fills=1)
    plan = fill_order(rack, [request, replace(request, length=inches("10"))])
    assert plan.fills and with_nearly(plan, rack) == plan
    lacking = fill_rack([], request)
    assert with_nearly(lacking, []) == lacking


def test_json_writes_the_allowance_as_a_request_would_name_it() -> None:
    rack = [planed("THICK", "19", "6 3/8", "2"), planed("THIN", "19", "3 1/4", "13/16", count=2)]
    plan = with_nearly(fill_rack(rack, replace(board("18", "6", "3/4"), fills=1)), rack)
    [hint] = plan_document(plan)["fills"][0]["nearly"]
    cost = plan.fills[0].nearly[0].cost
    assert hint == {
        "allowance": "flattening",
        "to": "1/16 in",
        "tags": ["THIN"],
        "cost": cost,
        "yield": 0.8072,
        "pieces": 2,
    }


@pytest.mark.parametrize("grain", LONG_GRAIN, ids=lambda grain: grain.value)
@pytest.mark.parametrize("shop", list(ShopUnits), ids=lambda shop: shop.name.lower())
def test_seeded_hints_are_those_that_a_search_with_each_half_finds(shop: ShopUnits, grain: Grain) -> None:
    for seed in range(3):
        rack = make_rack(seed, 14, shop)
        request = make_request(seed, rack, shop, grain)
        plan = with_nearly(fill_rack(rack, request), rack)
        best = {fill.prefer: fill for fill in reversed(plan.fills)}
        for preference, fill in best.items():
            assert _stated(fill) == _searched(rack, request, preference, fill)


def _stated(fill: Fill) -> list[tuple[str, int, tuple[str, ...]]]:
    return [(each.allowance, each.cost, each.tags) for each in fill.nearly]


def _searched(
    rack: Sequence[Offcut], request: BoardRequest, preference: Preference, fill: Fill
) -> list[tuple[str, int, tuple[str, ...]]]:
    step = 25_400_000 // 64 if request.unit is Unit.INCH else 100_000
    before, found = primary_cost(fill, request.on), []
    for name in ("flattening", "end_trim", "side_trim"):
        to = Length(getattr(request.allowances, name) // 2 // step * step)
        smaller = replace(request, allowances=request.allowances.with_value(name, to), prefer=(preference,), fills=1)
        [better] = fill_rack(rack, smaller).fills
        after = primary_cost(better, request.on)
        better_by_count = preference is Preference.FEWEST_PIECES and after < before
        if better_by_count or (preference is not Preference.FEWEST_PIECES and before > 0 and 10 * after <= 9 * before):
            tags = tuple(each.tag for each in rack if _serves(each, smaller) and not _serves(each, request))
            found.append((name, after, tags))
    return found


def _serves(offcut: Offcut, request: BoardRequest) -> bool:
    options = piece_options(offcut, request)
    return bool(options.choices or options.partial_cuts)
