"""The greedy heuristic beside the exact search: it fills what can be filled, and at what price."""

from dataclasses import replace
from statistics import mean

import numpy as np
import pytest

from inventory.cutting.costs import Preference
from inventory.fill.request import Grain
from inventory.orders.answer import fill_rack
from inventory.pruning.forecast import simulation_of
from inventory.pruning.greedy_fill import fill_greedily, sort_alternatives
from inventory.pruning.simulation import Arrivals, Simulation
from inventory.pruning.usual_boards import UsualBoard
from tests.fill.racks import ON, ShopUnits, make_rack, make_request
from tests.pruning.seeded_shops import seeded_shop

MOST_OVER = 1.02
"""On average over the boards of a preference: the loss by the greedy heuristic over the loss by the search."""


def first_fill(years: Simulation) -> list[tuple[int, int]] | None:
    """What the greedy heuristic takes for the only board from the whole rack, and what each piece of it loses."""
    left = years.left.copy()
    taken = []
    for place in years.variants[0][0][0]:
        board_demand = years.wants[place]
        shelf, continuous = years.demand_alternatives[place]
        found = fill_greedily(
            shelf,
            left,
            board_demand.target,
            equality=board_demand.equality,
            continuous=() if continuous is None else (continuous,),
        )
        if found is None:
            return None
        for each in found.picks:
            left[each.row] -= 1
            offcut = years.kinds.kinds[each.row].offcut
            cuts = board_demand.part.construction.cuts(offcut, 1, each.take, each.width, board_demand.part.glue_up)  # type: ignore[arg-type]
            taken.append((each.row, sum(cut.loss for cut in cuts)))
            assert sum(cut.adds for cut in cuts) > 0
    return taken


@pytest.mark.parametrize("prefer", [Preference.LEAST_WASTE, Preference.FEWEST_PIECES], ids=lambda each: each.value)
def test_it_is_within_two_per_cent_of_the_best_on_average(prefer: Preference) -> None:
    over = []
    for seed in range(6):
        rack = make_rack(seed, 60, ShopUnits.SIXTEENTHS)
        for grain in (Grain.EDGE, Grain.FACE):
            request = replace(make_request(seed, rack, ShopUnits.SIXTEENTHS, grain), prefer=(prefer,), fills=1)
            plan = fill_rack(rack, request)
            taken = first_fill(simulation_of(rack, [UsualBoard("board", request, _ONE)], ON, Arrivals()))
            assert (taken is not None) == bool(plan.fills)
            if taken is not None:
                if prefer is Preference.FEWEST_PIECES:
                    over.append(len(taken) / plan.fills[0].pieces)
                over.append(sum(loss for _, loss in taken) / plan.fills[0].loss)
    assert mean(over) <= MOST_OVER


_ONE = seeded_shop(0, 12).boards[0].a_year


def test_it_covers_wherever_all_pieces_together_do() -> None:
    """Cheap little pieces first would strand it: each of them shuts a wide one out."""
    row = np.array([0, 0, 1, 1])
    shelf = sort_alternatives(
        row, np.array([1, 5, 1, 5]), np.array([10, 50, 10, 50]), np.array([1.0, 500.0, 1.0, 500.0])
    )
    found = fill_greedily(shelf, np.array([1, 1]), 100, equality=False)
    assert found is not None
    assert sorted((each.row, each.take) for each in found.picks) == [(0, 5), (1, 5)]
    assert fill_greedily(shelf, np.array([1, 1]), 101, equality=False) is None


def test_strips_that_are_counted_are_met_exactly() -> None:
    shelf = sort_alternatives(np.array([0, 0, 1]), np.array([1, 2, 1]), np.array([1, 2, 1]), np.array([1.0, 2.0, 5.0]))
    found = fill_greedily(shelf, np.array([1, 1]), 3, equality=True)
    assert found is not None and sum(each.adds for each in found.picks) == 3


def test_every_band_of_a_board_is_filled_or_none_of_its_pieces_is_cut() -> None:
    shop = seeded_shop(3, 40)
    years = simulation_of(shop.rack, shop.boards, ON, Arrivals())
    replication = next(years.replications(5))
    filled = [made for made in replication.made if made.filled]
    assert filled and all(sum(use.share for use in made.uses) >= 0.99 for made in filled)
    assert all(not made.uses for made in replication.made if not made.filled)
