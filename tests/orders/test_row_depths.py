"""The best row depth of an end-grain board under each preference (cutting model, section 6)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from inventory.core.lengths import Length, Unit, inches, millimeters
from inventory.core.offcuts import Offcut
from inventory.cutting.bands import FieldBand, StripeBand, bands_of_species
from inventory.cutting.costs import Preference
from inventory.fill.certainty import costs_of, primary_cost
from inventory.fill.glue_ups import with_depth
from inventory.fill.plan import Fill, RowDepthRunnerUp
from inventory.fill.plan_document import plan_document
from inventory.fill.request import BoardRequest, Grain, Mix, PanelSpec
from inventory.orders.answer import fill_order, fill_rack
from tests.fill.racks import METRIC_SHOP, ON, ShopUnits, make_rack
from tests.solver.hand_written import make_offcut
from tests.verify import faults

INCH_DEPTHS = [inches(text) for text in ("3/4", "7/8", "1", "1 1/4", "1 1/2", "1 3/4", "2")]
METRIC_DEPTHS = [millimeters(text) for text in ("18", "20", "22", "25", "30", "35", "40", "45", "50")]
INCH_BOARD = BoardRequest(inches("8"), inches("4"), inches("1"), Grain.END, on=ON)
METRIC_BOARD = BoardRequest(
    millimeters("200"), millimeters("100"), millimeters("25"), Grain.END, on=ON, allowances=METRIC_SHOP,
    unit=Unit.MILLIMETER,
)  # fmt: skip
LIGHT = ("ash", "hard maple", "white oak")
STRIPED = (FieldBand(LIGHT), StripeBand(("cherry", "walnut"), 1, millimeters("6")), FieldBand(LIGHT))


def pieces_of(fill: Fill) -> frozenset[tuple[str, int]]:
    return frozenset((cut.offcut.tag, cut.piece) for cut in fill.cuts)


def every_depth(rack: Sequence[Offcut], request: BoardRequest, preference: Preference) -> dict[Length, list[Fill]]:
    """The fills of each depth that is asked for by itself, where it fills the board."""
    depths = INCH_DEPTHS if request.unit is Unit.INCH else METRIC_DEPTHS
    one = replace(request, prefer=(preference,))
    plans = {depth: fill_rack(rack, with_depth(one, depth)) for depth in depths if depth <= request.length}
    return {depth: list(plan.fills) for depth, plan in plans.items() if plan.fills}


@pytest.mark.parametrize("panel", [Grain.EDGE, Grain.FACE], ids=lambda grain: grain.value)
@pytest.mark.parametrize("bands", [(), STRIPED], ids=["plain", "striped"])
@pytest.mark.parametrize("board", [INCH_BOARD, METRIC_BOARD], ids=["inches", "millimeters"])
def test_seeded_boards_get_the_best_depth_of_all_and_name_the_second_best(
    board: BoardRequest, bands: tuple[FieldBand | StripeBand, ...], panel: Grain
) -> None:
    for seed in range(4):
        rack = make_rack(seed, 16, ShopUnits.SIXTEENTHS if board.unit is Unit.INCH else ShopUnits.WHOLE_MM)
        request = replace(board, bands=bands, panel=PanelSpec(panel))
        plan = fill_rack(rack, request)
        assert faults(plan, rack) == []
        for preference in request.prefer:
            alone = every_depth(rack, request, preference)
            found = [fill for fill in plan.fills if fill.prefer is preference]
            assert bool(found) == bool(alone)
            if not found:
                continue
            every = [(*costs_of(fill, ON), fill) for fills in alone.values() for fill in fills]
            every.sort(key=lambda each: each[:2])
            distinct = {pieces_of(fill): cost for *cost, fill in reversed(every)}
            best = sorted(distinct.values())[: request.fills]
            assert [list(costs_of(fill, ON)) for fill in found] == best
            assert all(fill.proven and fill.bound == primary_cost(fill, ON) for fill in found)
            assert len({pieces_of(fill) for fill in found}) == len(found)
            second = found[0].row_depth_runner_up
            others = {
                depth: primary_cost(fills[0], ON) for depth, fills in alone.items() if depth != found[0].row_depth
            }
            assert (second and (second.cost, others[second.row_depth])) == (
                (min(others.values()), min(others.values())) if others else None
            )
            assert all(fill.row_depth_runner_up is None for fill in found[1:])


def test_each_preference_may_take_another_depth_and_every_fill_carries_its_own() -> None:
    plans = [
        fill_rack(make_rack(seed, 40, ShopUnits.SIXTEENTHS), replace(INCH_BOARD, width=inches("8"), fills=1))
        for seed in range(4)
    ]
    assert any(len({fill.row_depth for fill in plan.fills}) > 1 for plan in plans)
    for plan in plans:
        assert plan.request.panel.row_depth is None
        for fill in plan.fills:
            assert fill.row_depth is not None
            assert {each.request.thickness for each in fill.glue_ups} == {fill.row_depth}


def test_of_rows_that_cost_the_same_the_deeper_are_taken() -> None:
    # The one piece has no leftover that is kept: it costs the same at every depth.
    rack = [make_offcut("20", "6", "1", "ash", "AAAAAA1")]
    everything = INCH_BOARD.allowances.with_value("keep_length", inches("30"))
    request = replace(INCH_BOARD, length=inches("4"), prefer=(Preference.LEAST_WASTE,), allowances=everything)
    [fill] = fill_rack(rack, request).fills
    assert fill.row_depth == inches("2")
    assert (fill.row_depth_runner_up) == RowDepthRunnerUp(inches("1 3/4"), fill.loss)


def test_a_depth_that_was_asked_for_has_no_runner_up() -> None:
    rack = make_rack(1, 40, ShopUnits.SIXTEENTHS)
    for fill in fill_rack(rack, with_depth(INCH_BOARD, inches("1"))).fills:
        assert (fill.row_depth, fill.row_depth_runner_up) == (inches("1"), None)


def test_where_a_single_depth_fills_the_board_there_is_no_second_best() -> None:
    # Rows of 3/4 in are ripped 7/8 in wide and jointed 1/32 in: from these pieces, which give no deeper ones.
    rack = [make_offcut("15", "29/32", "1", "ash", "AAAAAA1", count=9)]
    plan = fill_rack(rack, replace(INCH_BOARD, prefer=(Preference.LEAST_WASTE,), fills=1))
    [fill] = plan.fills
    assert (fill.row_depth, fill.row_depth_runner_up) == (inches("3/4"), None)


def test_panels_filled_together_take_the_depth_that_costs_least_together() -> None:
    rack = make_rack(2, 60, ShopUnits.SIXTEENTHS)
    request = replace(INCH_BOARD, panel=PanelSpec(Grain.EDGE, 2))
    plan = fill_rack(rack, request)
    assert faults(plan, rack) == []
    assert [fill.prefer for fill in plan.fills] == list(request.prefer)
    for fill in plan.fills:
        costs = sorted(primary_cost(fills[0], ON) for fills in every_depth(rack, request, fill.prefer).values())
        assert primary_cost(fill, ON) == costs[0]
        assert fill.row_depth_runner_up is not None and fill.row_depth_runner_up.cost == costs[1]
        assert fill.bound <= costs[0]


def test_of_different_boards_each_takes_the_depth_that_is_best_for_it_alone() -> None:
    rack = make_rack(2, 60, ShopUnits.SIXTEENTHS)
    one, other = replace(INCH_BOARD, fills=1), replace(INCH_BOARD, length=inches("6"), fills=1)
    plan = fill_order(rack, [one, other])
    assert faults(plan, rack) == []
    for fill in plan.fills:
        alone = [fill_rack(rack, replace(each, prefer=(fill.prefer,))).fills[0].row_depth for each in (one, other)]
        assert [each.request.thickness for each in fill.glue_ups] == alone


def test_json_names_the_depth_and_the_runner_up() -> None:
    rack = make_rack(1, 40, ShopUnits.SIXTEENTHS)
    plan = fill_rack(rack, replace(INCH_BOARD, prefer=(Preference.LEAST_WASTE,), fills=1))
    [fill], [document] = plan.fills, plan_document(plan)["fills"]
    assert fill.row_depth is not None and fill.row_depth_runner_up is not None
    assert plan_document(plan)["request"]["panel"]["row_depth"] is None
    assert float(document["row_depth_mm"]) == fill.row_depth / 1e6
    assert set(document["row_depth_runner_up"]) == {"row_depth_mm", "cost"}
    assert document["row_depth_runner_up"]["cost"] == fill.row_depth_runner_up.cost
    plain = fill_rack(rack, replace(INCH_BOARD, grain=Grain.EDGE, fills=1))
    assert [(each["row_depth_mm"], each["row_depth_runner_up"]) for each in plan_document(plain)["fills"]] == [
        (None, None)
    ] * len(plain.fills)


def test_of_one_species_the_best_depth_is_the_best_of_every_species_and_depth() -> None:
    for seed in range(3):
        rack = make_rack(seed, 30, ShopUnits.SIXTEENTHS)
        request = replace(INCH_BOARD, mix=Mix.ONE)
        plan = fill_rack(rack, request)
        assert faults(plan, rack) == []
        for preference in request.prefer:
            costs: dict[Length, int] = {}
            for name in sorted({each.species for each in rack}):
                alone = replace(request, bands=bands_of_species([name]), mix=Mix.FREE)
                for depth, fills in every_depth(rack, alone, preference).items():
                    cost = primary_cost(fills[0], ON)
                    costs[depth] = min(cost, costs.get(depth, cost))
            best, *further = [fill for fill in plan.fills if fill.prefer is preference]
            assert best.proven and primary_cost(best, ON) == min(costs.values())
            others = {depth: cost for depth, cost in costs.items() if depth != best.row_depth}
            second = best.row_depth_runner_up
            assert second is not None and second.cost == others[second.row_depth] == min(others.values())
            assert all(fill.row_depth_runner_up is None for fill in further)
