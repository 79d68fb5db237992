"""A board taken back step by step, and what stands in the way."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from inventory.core.errors import Conflict
from inventory.core.lengths import inches
from inventory.core.offcuts import State
from inventory.services.boards import making
from inventory.services.labels import label_content
from inventory.services.rack import editing, queries
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, BoardState, EventKind, OffcutRecord
from tests.services.fills import BOARD, cut, dashed, latest, make_fill, now


def test_a_finished_board_is_taken_back_step_by_step(
    shop: Shop, oak: OffcutRecord, ash: OffcutRecord, aside: BoardRecord
) -> None:
    before = now(shop, oak), now(shop, ash)
    board = cut(shop, aside)
    came_back = board.left_over
    board = making.finish(shop, board.id, board.version)
    assert board.state is BoardState.FINISHED and board.finished_at is not None
    board = making.undo(shop, board.id, board.version)
    assert (board.state, board.finished_at, board.left_over) == (BoardState.CUT, None, came_back)
    board = making.undo(shop, board.id, board.version)
    assert (board.state, board.cut_at, board.left_over) == (BoardState.ON_HOLD, None, ())
    for code in came_back:
        assert queries.record(shop, code).state is State.GONE
        assert latest(shop, code) == (EventKind.CUT_UNDONE, f'the cut for board {board.id}, "stair tread" was undone')
    assert [record.code for record in label_content.queue(shop)] == [oak.code, ash.code]
    for one, other in zip((now(shop, oak), now(shop, ash)), before, strict=True):
        assert replace(one, version=other.version) == other
    board = making.undo(shop, board.id, board.version)
    assert board.state is BoardState.ABANDONED and board.abandoned_at is not None
    assert (now(shop, oak).free, now(shop, ash).free) == (1, 3)
    board = making.undo(shop, board.id, board.version)
    assert (board.state, board.abandoned_at) == (BoardState.ON_HOLD, None)
    assert (now(shop, oak).free, now(shop, ash).free) == (0, 1)
    again = cut(shop, board)
    assert len(again.left_over) == len(came_back)
    assert not set(again.left_over) & set(came_back)


@pytest.mark.parametrize(
    "touch",
    [
        lambda shop, record: editing.change(shop, record.code, 1, replace(record.offcut, notes="mine")),
        lambda shop, record: editing.use_up(shop, record.code, 1),
        lambda shop, record: making.set_aside(shop, SHORT, make_fill(SHORT, [(record, 1)])),
    ],
)
def test_a_cut_is_not_undone_once_what_came_back_was_touched(
    shop: Shop, aside: BoardRecord, touch: Callable[[Shop, OffcutRecord], object]
) -> None:
    board = cut(shop, aside)
    first = queries.record(shop, board.left_over[0])
    touch(shop, first)
    before = queries.all_pieces(shop, queries.StatusFilter.ALL)
    with pytest.raises(Conflict) as refused:
        making.undo(shop, board.id, board.version)
    assert str(refused.value) == (
        f"{dashed(first.code)} came back from this cut and was changed or used since, so the cut can't be undone. "
        "Correct the pieces one by one instead."
    )
    assert queries.all_pieces(shop, queries.StatusFilter.ALL) == before
    assert making.board(shop, board.id) == board


SHORT = replace(BOARD, length=inches("8"))


def test_printing_the_labels_of_what_came_back_leaves_the_cut_to_be_undone(shop: Shop, aside: BoardRecord) -> None:
    board = cut(shop, aside)
    label_content.mark_printed(shop, board.left_over)
    assert making.undo(shop, board.id, board.version).state is BoardState.ON_HOLD


def test_a_cut_is_undone_beside_what_became_of_the_rest_of_a_bundle(
    shop: Shop, ash: OffcutRecord, aside: BoardRecord
) -> None:
    board = cut(shop, aside)
    editing.remove(shop, ash.code, now(shop, ash).version, editing.RemovalReason.BURNT)
    making.undo(shop, board.id, board.version)
    assert (now(shop, ash).state, now(shop, ash).offcut.count, now(shop, ash).set_aside) == (State.ON_HOLD, 2, 2)


@pytest.mark.parametrize("emptied", [True, False])
def test_a_cut_is_not_undone_once_a_parent_is_another_piece(
    shop: Shop, oak: OffcutRecord, ash: OffcutRecord, aside: BoardRecord, emptied: bool
) -> None:
    board = cut(shop, aside)
    parent = oak if emptied else ash
    if emptied:
        editing.undo_removal(shop, oak.code, now(shop, oak).version)
    else:
        editing.change(shop, ash.code, now(shop, ash).version, replace(now(shop, ash).offcut, width=inches("3")))
    with pytest.raises(Conflict) as refused:
        making.undo(shop, board.id, board.version)
    assert str(refused.value) == (
        f"{dashed(parent.code)} was changed since the cut, so the cut can't be undone. "
        "Correct the pieces one by one instead."
    )


def test_two_cuts_from_one_bundle_are_undone_in_either_order(shop: Shop, ash: OffcutRecord) -> None:
    for first, second in ((0, 1), (1, 0)):
        fills = [make_fill(BOARD, [(ash, 1)]), make_fill(BOARD, [(ash, 1), (ash, 1)])]
        cuts = [cut(shop, making.set_aside(shop, BOARD, each)) for each in fills]
        assert now(shop, ash).state is State.USED_UP
        for which in (first, second):
            undone = making.undo(shop, cuts[which].id, cuts[which].version)
            assert undone.state is BoardState.ON_HOLD
            making.abandon(shop, undone.id, undone.version)
        assert (now(shop, ash).state, now(shop, ash).offcut.count, now(shop, ash).free) == (State.ON_RACK, 3, 3)


def test_a_cut_that_would_make_a_bundle_too_large_is_not_undone(
    shop: Shop, ash: OffcutRecord, aside: BoardRecord
) -> None:
    board = cut(shop, aside)
    editing.change(shop, ash.code, now(shop, ash).version, replace(now(shop, ash).offcut, count=998))
    with pytest.raises(Conflict) as refused:
        making.undo(shop, board.id, board.version)
    assert str(refused.value) == (
        f"{dashed(ash.code)} would stand for more than 999 pieces, so the cut can't be undone. "
        "Correct the pieces one by one instead."
    )
