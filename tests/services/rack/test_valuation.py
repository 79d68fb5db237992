"""What wood is worth and weighs: sums calculated by hand, and what has no price named."""

from __future__ import annotations

from fractions import Fraction

from inventory.core.lengths import Unit
from inventory.core.prices import PriceList, read_prices
from inventory.services.rack import valuation
from inventory.services.rack.valuation import WeightTotal, Worth
from inventory.shop import Shop
from inventory.storage.records import BoardRecord
from tests.services.fills import cut

PRICES = PriceList("€", read_prices("ash 1000\nwhite oak 2000.40", Unit.MILLIMETER))


def test_wood_is_summed_exactly_and_what_has_no_price_is_named() -> None:
    # 0.001 m³ of ash at 1000, 0.0025 m³ of white oak at 2000.40: 1 + 5.001.
    wood = [("ash", 1_000_000), ("white oak", 2_500_000), ("elm", 7), ("", 5), ("elm", 9)]
    assert valuation.worth_of(wood, PRICES) == Worth(Fraction("6.001"), ("elm", ""))


def test_without_a_price_nothing_is_worth_anything() -> None:
    assert valuation.worth_of([("elm", 7)], PRICES) == Worth(None, ("elm",))
    assert valuation.worth_of([], PRICES) == Worth(None)


def test_weights_are_those_published_at_12_per_cent() -> None:
    # Wood Handbook, FPL-GTR-282, table 5-3: specific gravity of black cherry 0.50, so 560 kg a m³ at 12 %.
    assert valuation.weight_of(
        [("black cherry", 500_000_000), ("driftwood", 3), ("black cherry", 500_000_000)]
    ) == WeightTotal(Fraction(560), ("driftwood",))
    assert valuation.weight_of([("driftwood", 3)]) == WeightTotal(None, ("driftwood",))


def test_a_board_s_wood_is_its_own_volume_and_what_it_used_is_what_its_cuts_lose(
    shop: Shop, aside: BoardRecord
) -> None:
    board = cut(shop, aside)
    within = valuation.wood_in_boards(board.fill, board.request)
    assert {species for species, _ in within} == {"ash", "oak"}
    # Each share is rounded down by less than a mm³.
    assert 0 <= board.fill.board_volume - sum(volume for _, volume in within) < len(within)
    assert sum(volume for _, volume in valuation.wood_used(board.fill)) == board.fill.loss
