"""What became of the wood: what boards took and gave back, yield by month, and that nothing is counted twice."""

from __future__ import annotations

from fractions import Fraction

from inventory.core.lengths import inches, volume_mm3
from inventory.services.boards import making, yield_report
from inventory.services.boards.yield_report import PeriodYield
from inventory.services.rack import editing, stock_levels
from inventory.services.rack.editing import RemovalReason
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, OffcutRecord
from tests.services.fills import cut, now, tagged

# The board of tests.services.fills: 18 × 6 × 1 1/2 in = 162 in³.
BOARD_VOLUME = volume_mm3(inches("18"), inches("6"), inches("1 1/2"))
# 40 × 6 × 1 1/4 in and twice 23 1/2 × 3 1/4 × 13/16 in.
TOOK = volume_mm3(inches("40"), inches("6"), inches("1 1/4")) + 2 * volume_mm3(
    inches("23 1/2"), inches("3 1/4"), inches("13/16")
)


def finished(shop: Shop, aside: BoardRecord) -> BoardRecord:
    board = cut(shop, aside)
    return making.finish(shop, board.id, board.version)


def test_a_shop_without_wood_says_nothing(shop: Shop) -> None:
    life = yield_report.yield_report(shop)
    assert (life.boards, life.tagged, life.share, life.spread, life.all.share) == ((), 0, None, None, None)
    assert len(life.months) == 12


def test_a_board_that_is_only_on_hold_used_nothing(shop: Shop, aside: BoardRecord) -> None:
    life = yield_report.yield_report(shop)
    assert life.boards == ()
    assert life.here == life.tagged == stock_levels.stock_levels(shop).all.volume


def test_a_board_is_reported_by_what_it_took_and_what_came_back(shop: Shop, aside: BoardRecord) -> None:
    board = finished(shop, aside)
    came_back = stock_levels.stock_levels(shop).months[-1].back_volume
    assert came_back > 0
    life = yield_report.yield_report(shop)
    (made,) = life.boards
    assert (made.number, made.volume, made.took, made.came_back) == (board.id, BOARD_VOLUME, TOOK, came_back)
    assert made.share == Fraction(BOARD_VOLUME, TOOK - came_back)
    assert life.months[-1] == PeriodYield(shop.today().replace(day=1), 1, BOARD_VOLUME, TOOK - came_back)
    assert life.all.share == made.share
    assert life.spread is None


def test_all_wood_tagged_is_somewhere_and_nothing_is_counted_twice(
    shop: Shop, ash: OffcutRecord, aside: BoardRecord
) -> None:
    spare = tagged(shop, "pine 12 x 3 x 1")
    finished(shop, aside)
    editing.remove(shop, spare.code, spare.version, RemovalReason.SPOILED)
    editing.use_up(shop, ash.code, now(shop, ash).version, note="a wedge")
    life = yield_report.yield_report(shop)
    third = volume_mm3(inches("23 1/2"), inches("3 1/4"), inches("13/16"))
    pine = volume_mm3(inches("12"), inches("3"), inches("1"))
    assert life.tagged == TOOK + third + pine
    assert life.gone == third + pine
    assert life.here == stock_levels.stock_levels(shop).all.volume
    assert life.in_boards + life.in_cut + life.lost + life.here + life.gone == life.tagged
    assert life.share == Fraction(BOARD_VOLUME, life.tagged)


def test_a_board_that_is_cut_waits_outside_the_months_and_an_undone_cut_is_none(shop: Shop, aside: BoardRecord) -> None:
    board = cut(shop, aside)
    life = yield_report.yield_report(shop)
    assert life.boards[0].finished is None
    assert (life.in_boards, life.in_cut, life.months[-1].boards) == (0, BOARD_VOLUME, 0)
    making.undo(shop, board.id, board.version)
    assert yield_report.yield_report(shop).boards == ()
