"""The state of the pile: what is counted as lying, as come and as gone, and what is done with a part of it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inventory.core.codes import format_code
from inventory.core.errors import Conflict
from inventory.core.lengths import inches, volume_mm3
from inventory.core.offcuts import State
from inventory.services.boards import making
from inventory.services.labels import label_content
from inventory.services.pruning import prune_advice
from inventory.services.rack import editing, queries, stock_levels
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.stock_levels import (
    BulkAction,
    MonthlyFlow,
    NothingSelected,
    SizeRange,
    age_label,
)
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, EventKind, OffcutRecord
from tests.services.fills import cut, latest, now, tagged


def one(record: OffcutRecord) -> int:
    """The volume of one piece."""
    offcut = record.offcut
    return volume_mm3(offcut.length, offcut.width, offcut.thickness)


def this_month(shop: Shop) -> MonthlyFlow:
    return stock_levels.stock_levels(shop).months[-1]


def test_an_empty_shop_has_an_empty_pile_and_twelve_quiet_months(shop: Shop) -> None:
    state = stock_levels.stock_levels(shop)
    assert (state.tags, state.by_species, state.all) == ((), (), stock_levels.WoodTotal())
    assert len(state.months) == 12
    assert state.months[-1] == MonthlyFlow(shop.today().replace(day=1))
    assert [each.first.day for each in state.months] == [1] * 12
    assert sorted(each.first for each in state.months) == [each.first for each in state.months]


def test_what_lies_there_is_summed_by_species_with_what_is_on_hold(
    shop: Shop, oak: OffcutRecord, ash: OffcutRecord, aside: BoardRecord
) -> None:
    state = stock_levels.stock_levels(shop)
    assert dict(state.by_species) == {
        "oak": stock_levels.WoodTotal(1, one(oak), 1, one(oak)),
        "ash": stock_levels.WoodTotal(3, 3 * one(ash), 2, 2 * one(ash)),
    }
    assert state.all.pieces == 4 and state.all.volume == one(oak) + 3 * one(ash)
    assert dict(state.by_age)["under a month"] == state.all
    totals = queries.find(shop, queries.RackFilter())
    assert (state.all.pieces, state.all.volume) == (totals.pieces, totals.volume)


def test_what_came_is_what_lies_there_and_what_went(
    shop: Shop, oak: OffcutRecord, ash: OffcutRecord, aside: BoardRecord
) -> None:
    assert this_month(shop) == MonthlyFlow(shop.today().replace(day=1), came=4, came_volume=one(oak) + 3 * one(ash))
    board = cut(shop, aside)
    month = this_month(shop)
    assert (month.came, month.cut, month.cut_volume) == (4, 3, one(oak) + 2 * one(ash))
    assert month.back == len(board.left_over) > 0
    editing.use_up(shop, ash.code, now(shop, ash).version, note="a wedge")
    month = this_month(shop)
    assert (month.came, month.other, month.other_volume) == (4, 1, one(ash))
    lying = stock_levels.stock_levels(shop).all.volume
    assert month.in_volume - month.out_volume == lying


def test_a_cut_that_was_undone_counts_as_nothing(shop: Shop, aside: BoardRecord) -> None:
    before = this_month(shop)
    board = cut(shop, aside)
    assert this_month(shop) != before
    making.undo(shop, board.id, board.version)
    assert this_month(shop) == before


def test_part_of_a_bundle_went_and_a_piece_taken_back_never_left(
    shop: Shop, oak: OffcutRecord, ash: OffcutRecord
) -> None:
    editing.use_up(shop, ash.code, ash.version, pieces=2, note="wedges")
    editing.remove(shop, oak.code, oak.version, RemovalReason.GIVEN_AWAY, "2 of 3 thought it good")
    month = this_month(shop)
    assert (month.came, month.other, month.other_volume) == (4, 3, one(oak) + 2 * one(ash))
    editing.undo_removal(shop, oak.code, now(shop, oak).version)
    month = this_month(shop)
    assert (month.came, month.other) == (4, 2)


def test_a_part_is_picked_out_by_its_sizes_and_species(shop: Shop, oak: OffcutRecord, ash: OffcutRecord) -> None:
    lying = stock_levels.stock_levels(shop).tags
    region = SizeRange(length_from=inches("23 1/2"), length_to=inches("30"), width_to=inches("4"))
    assert [each.code for each in lying if region.holds(each)] == [ash.code]
    assert not any(replace(region, species="oak").holds(each) for each in lying)
    assert all(SizeRange().holds(each) for each in lying) and not SizeRange().is_active


def shown(shop: Shop, *records: OffcutRecord) -> dict[str, int]:
    """What the page shows of these pieces."""
    return {each.code: now(shop, each).version for each in records}


def test_pieces_picked_out_get_labels_pins_or_go_together(shop: Shop, oak: OffcutRecord, ash: OffcutRecord) -> None:
    label_content.mark_printed(shop, [oak.code, ash.code])
    assert stock_levels.act(shop, shown(shop, oak, ash), BulkAction.LABEL) == 2
    assert {each.code for each in label_content.queue(shop)} == {oak.code, ash.code}
    stock_levels.act(shop, shown(shop, ash), BulkAction.PIN)
    assert prune_advice.pinned(shop) == {ash.code}
    before = shown(shop, oak, ash)
    editing.change(shop, ash.code, before[ash.code], replace(ash.offcut, location="loft"))
    with pytest.raises(Conflict, match=f"{format_code(ash.code)} was changed by somebody else"):
        stock_levels.act(shop, before, BulkAction.REMOVE, RemovalReason.SPOILED)
    assert now(shop, oak).state is State.ON_RACK
    stock_levels.act(shop, shown(shop, oak, ash), BulkAction.REMOVE, RemovalReason.SPOILED)
    assert {now(shop, each).state for each in (oak, ash)} == {State.GONE}
    assert latest(shop, oak.code) == (EventKind.REMOVED, "split, rotten or wormy")
    with pytest.raises(NothingSelected, match="is let go by now: nothing was done with any of them"):
        stock_levels.act(shop, shown(shop, oak), BulkAction.LABEL)


def test_one_piece_that_is_on_hold_keeps_all_from_going(shop: Shop, ash: OffcutRecord, aside: BoardRecord) -> None:
    free = tagged(shop, "pine 12 x 3 x 1")
    with pytest.raises(NothingSelected, match=r"is set aside for a board: nothing was let go\."):
        stock_levels.act(shop, shown(shop, free, ash), BulkAction.REMOVE, RemovalReason.OTHER)
    assert now(shop, free).state is State.ON_RACK
    with pytest.raises(NothingSelected, match="No piece is ticked"):
        stock_levels.act(shop, {}, BulkAction.PIN)
    with pytest.raises(NothingSelected, match="No reason is chosen"):
        stock_levels.act(shop, shown(shop, free), BulkAction.REMOVE)


def test_ages_part_at_the_days_named() -> None:
    edges = [0, 30, 31, 91, 92, 182, 183, 364, 365, 730, 731, 1095, 1096]
    text = [age_label(days) for days in edges]
    assert text[0] == text[1] == "under a month"
    assert [text[i] for i in range(1, 13, 2)] == [words for words, _ in stock_levels.AGES[:-1]]
    assert [text[i] for i in range(2, 13, 2)] == [words for words, _ in stock_levels.AGES[1:]]


def test_a_narrow_part_is_found_at_its_very_bounds(shop: Shop, oak: OffcutRecord) -> None:
    at = SizeRange(length_from=inches("40"), length_to=inches("40"), width_from=inches("6"), width_to=inches("6"))
    assert [each.code for each in stock_levels.stock_levels(shop).tags if at.holds(each)] == [oak.code]


def test_a_note_that_reads_like_a_part_of_a_bundle_counts_no_pieces(shop: Shop) -> None:
    for note in ("a wedge", "3 of 4, the stool"):
        piece = tagged(shop, "ash 20x3x1")
        editing.use_up(shop, piece.code, piece.version, note=note)
    month = this_month(shop)
    assert (month.came, month.other) == (2, 2)
