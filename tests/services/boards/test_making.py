"""From fill to board: set aside, cut, finish, abandon."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from fractions import Fraction
from threading import Barrier, Thread

import pytest

from inventory.core.errors import Conflict
from inventory.core.lengths import Length, inches
from inventory.core.offcuts import Face, Mark, State
from inventory.fill.plan import Fill
from inventory.services.boards import making, pick_lists
from inventory.services.boards.making import (
    ConfirmedLeftover,
    InvalidBoardName,
    InvalidLeftover,
    InvalidTransition,
    NoSuchBoard,
)
from inventory.services.labels import label_content
from inventory.services.rack import editing, queries
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, BoardState, EventKind, OffcutRecord, TakenPiece
from tests.conftest import Clock
from tests.services.fills import BOARD, confirm_all, cut, dashed, latest, make_fill, now, tagged


def test_setting_aside_takes_the_pieces_out_of_the_search(
    shop: Shop, oak: OffcutRecord, ash: OffcutRecord, fill: Fill, aside: BoardRecord
) -> None:
    assert (aside.name, aside.state, aside.request, aside.fill) == ("stair tread", BoardState.ON_HOLD, BOARD, fill)
    assert aside.taken == (TakenPiece(oak.id, oak.code, 1), TakenPiece(ash.id, ash.code, 2))
    assert (aside.created_at, aside.cut_at) == (datetime(2030, 1, 31, 10, tzinfo=UTC), None)
    assert (now(shop, oak).state, now(shop, oak).free) == (State.ON_HOLD, 0)
    assert (now(shop, ash).state, now(shop, ash).free) == (State.ON_RACK, 1)
    assert latest(shop, oak.code) == (EventKind.ON_HOLD, f'for board {aside.id}, "stair tread"')
    assert latest(shop, ash.code) == (EventKind.ON_HOLD, f'2 of 3 for board {aside.id}, "stair tread"')
    assert making.board(shop, aside.id) == aside


def test_a_board_without_a_name_has_its_sizes_for_one(shop: Shop, fill: Fill) -> None:
    assert making.set_aside(shop, BOARD, fill, "  ").name == "18 × 6 × 1 1/2 in, edge grain"


def test_a_name_that_is_too_long_is_refused(shop: Shop, fill: Fill) -> None:
    with pytest.raises(InvalidBoardName) as refused:
        making.set_aside(shop, BOARD, fill, "n" * 61)
    assert str(refused.value) == "The board's name is longer than 60 letters. Shorten it."
    assert making.boards(shop) == ()


def test_a_form_sent_twice_sets_aside_once(shop: Shop, fill: Fill) -> None:
    first = making.set_aside(shop, BOARD, fill, "tread", form="one")
    assert making.set_aside(shop, BOARD, fill, "tread", form="one") == first
    assert len(making.boards(shop)) == 1


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (lambda shop, oak: editing.use_up(shop, oak.code, 1), "is no longer on the rack"),
        (
            lambda shop, oak: editing.change(shop, oak.code, 1, replace(oak.offcut, face_a=Face.PLANED)),
            "was changed since this answer was found",
        ),
        (lambda shop, oak: making.set_aside(shop, BOARD, make_fill(BOARD, [(oak, 1)])), "is no longer free"),
    ],
)
def test_a_fill_is_not_on_hold_once_a_piece_of_it_is_not_to_be_had(
    shop: Shop,
    oak: OffcutRecord,
    ash: OffcutRecord,
    fill: Fill,
    spoil: Callable[[Shop, OffcutRecord], object],
    why: str,
) -> None:
    spoil(shop, oak)
    before = queries.all_pieces(shop, queries.StatusFilter.ALL)
    with pytest.raises(Conflict) as refused:
        making.set_aside(shop, BOARD, fill, form="one")
    assert str(refused.value) == f"{dashed(oak.code)} {why}: nothing was set aside. Ask for the board again."
    assert queries.all_pieces(shop, queries.StatusFilter.ALL) == before
    assert ash in before


def test_a_bundle_with_too_few_free_pieces_is_reported(shop: Shop, ash: OffcutRecord, fill: Fill) -> None:
    editing.use_up(shop, ash.code, 1, pieces=2)
    with pytest.raises(Conflict) as refused:
        making.set_aside(shop, BOARD, fill)
    assert str(refused.value) == (
        f"{dashed(ash.code)} has too few free pieces: nothing was set aside. Ask for the board again."
    )


def test_a_piece_that_only_moved_is_still_on_hold(shop: Shop, oak: OffcutRecord, fill: Fill) -> None:
    editing.change(shop, oak.code, 1, replace(oak.offcut, location="cart", notes="heavy"))
    assert making.set_aside(shop, BOARD, fill).state is BoardState.ON_HOLD


def test_of_eight_boards_that_want_a_piece_at_once_one_gets_it(shop: Shop, oak: OffcutRecord) -> None:
    fill = make_fill(BOARD, [(oak, 1)])
    start = Barrier(8)
    text: list[str] = []

    def want() -> None:
        start.wait()
        try:
            text.append(making.set_aside(shop, BOARD, fill).state.value)
        except Conflict:
            text.append("refused")

    benches = [Thread(target=want) for _ in range(8)]
    for each in benches:
        each.start()
    for each in benches:
        each.join()
    assert sorted(text) == ["refused"] * 7 + ["set aside"]
    assert len(making.boards(shop)) == 1
    assert now(shop, oak).set_aside == 1


def test_the_pick_list_goes_from_place_to_place(shop: Shop) -> None:
    lines = ["9x3x2 @ wall 10", "9x3x2", "9x3x2 @ Wall 2", "9x3x2 @ bin"]
    short = replace(BOARD, length=inches("6"))
    pieces = [tagged(shop, line) for line in lines]
    board = making.set_aside(shop, short, make_fill(short, [(piece, 1) for piece in pieces]))
    assert [pick.location for pick in pick_lists.pick_list(board)] == ["bin", "Wall 2", "wall 10", ""]
    assert {(pick.offcut.tag, pick.pieces) for pick in pick_lists.pick_list(board)} == {(p.code, 1) for p in pieces}


def test_what_is_left_is_proposed_from_where_the_parent_lies_now(
    shop: Shop, oak: OffcutRecord, ash: OffcutRecord, aside: BoardRecord
) -> None:
    editing.change(shop, oak.code, 2, replace(oak.offcut, location="cart"))
    proposed = making.proposed_leftovers(shop, aside.id)
    assert {(each.parent, each.location) for each in proposed} == {(oak.code, "cart"), (ash.code, "wall 2")}
    first = proposed[0]
    # oak 40 × 6: two strips of 1 5/8 from one length of 19, kerf 1/8: 40 − 19 1/8 is left of the length
    assert (first.cut, first.remainder, first.length, first.width) == (0, 0, inches("20 7/8"), inches("6"))
    assert (first.species, first.face_a, first.face_b, first.keep) == ("oak", Face.ROUGH, Face.PLANED, True)
    assert [each.keep for each in proposed] == [left.kept for text in aside.fill.cuts for left in text.leftovers]


def test_cutting_brings_what_is_kept_back_with_tags_of_its_own(
    shop: Shop, clock: Clock, oak: OffcutRecord, ash: OffcutRecord, aside: BoardRecord
) -> None:
    label_content.mark_printed(shop, [oak.code, ash.code])
    clock.add(days=2)
    board = cut(shop, aside)
    assert (board.state, board.cut_at, board.version) == (BoardState.CUT, clock(), 2)
    assert (now(shop, oak).state, now(shop, oak).offcut.count) == (State.USED_UP, 1)
    assert (now(shop, ash).state, now(shop, ash).offcut.count, now(shop, ash).set_aside) == (State.ON_RACK, 1, 0)
    assert latest(shop, ash.code) == (EventKind.CUT, f'2 of 3 for board {board.id}, "stair tread"')
    kept = [each for each in making.proposed_leftovers(shop, board.id) if each.keep]
    assert len(board.left_over) == len(kept) > 1
    for code, plan in zip(board.left_over, kept, strict=True):
        record = queries.record(shop, code)
        assert (record.offcut.length, record.offcut.width, record.offcut.thickness) == (
            plan.length,
            plan.width,
            plan.thickness,
        )
        assert (record.offcut.species, record.offcut.location, record.offcut.faces) == (
            plan.species,
            plan.location,
            (plan.face_a, plan.face_b),
        )
        assert (record.parent_tag, record.from_board, record.offcut.count) == (plan.parent, board.id, 1)
        assert record.offcut.tagged_on == clock().date()
    assert [record.code for record in label_content.queue(shop)] == list(board.left_over)
    assert latest(shop, board.left_over[0]) == (
        EventKind.LEFTOVER,
        f'left over from {dashed(oak.code)}, for board {board.id}, "stair tread": '
        "oak 20 7/8 x 6 x 1 1/4 in rough planed @ wall 10",
    )


def test_what_is_measured_at_the_saw_counts_not_the_plan(shop: Shop, aside: BoardRecord) -> None:
    measured = ConfirmedLeftover(
        0, 0, inches("12"), inches("5"), inches("1"), True, " bin  3", Face.PLANED, Face.PLANED, "a crack\n"
    )
    board = making.cut(shop, aside.id, 1, [measured])
    [code] = board.left_over
    offcut = queries.record(shop, code).offcut
    assert (offcut.length, offcut.width, offcut.thickness) == (inches("12"), inches("5"), inches("1"))
    assert (offcut.faces, offcut.location, offcut.notes) == ((Face.PLANED, Face.PLANED), "bin 3", "a crack")


def test_a_leftover_carries_what_its_parent_did_but_to_be_kept(shop: Shop, oak: OffcutRecord) -> None:
    board = making.set_aside(shop, BOARD, make_fill(BOARD, [(oak, 2)]))
    parent = now(shop, oak)
    carried = replace(parent.offcut, marks=(Mark.KEEP, Mark.OILY), moisture=Fraction(8), batch="elm 2029")
    editing.change(shop, oak.code, parent.version, carried)
    board = cut(shop, board)
    [left] = {queries.record(shop, code).offcut.marks for code in board.left_over}
    assert left == (Mark.OILY,)
    offcut = queries.record(shop, board.left_over[0]).offcut
    assert (offcut.moisture, offcut.moisture_on, offcut.batch) == (8, date(2030, 1, 31), "elm 2029")


def test_what_is_not_kept_does_not_come_back(shop: Shop, aside: BoardRecord) -> None:
    thrown = [replace(each, keep=False, length=Length(0)) for each in confirm_all(shop, aside)]
    assert making.cut(shop, aside.id, 1, thrown).left_over == ()


@pytest.mark.parametrize(
    ("wrong", "what", "sentence"),
    [
        ({"length": Length(0)}, "length", "The length is 0. Type the length as measured."),
        (
            {"width": inches("6 1/8")},
            "width",
            "The width of what is left of {oak} is more than it had before. Measure it again.",
        ),
        ({"location": "l" * 61}, "location", "The location is longer than 60 letters. Shorten it."),
        ({"cut": 9}, "", "This is no remainder of the board. Open its page anew."),
        ({"remainder": 9}, "", "This is no remainder of the board. Open its page anew."),
    ],
)
def test_a_leftover_that_cannot_be_is_reported_and_nothing_is_cut(
    shop: Shop, oak: OffcutRecord, aside: BoardRecord, wrong: dict[str, object], what: str, sentence: str
) -> None:
    given = confirm_all(shop, aside)
    given[0] = replace(given[0], **wrong)  # type: ignore[arg-type]
    with pytest.raises(InvalidLeftover) as refused:
        making.cut(shop, aside.id, 1, given)
    assert (str(refused.value), refused.value.what) == (sentence.format(oak=dashed(oak.code)), what)
    assert (refused.value.cut, refused.value.remainder) == (given[0].cut, given[0].remainder)
    assert making.board(shop, aside.id) == aside
    assert now(shop, oak).state is State.ON_HOLD


def test_a_leftover_confirmed_twice_is_refused(shop: Shop, aside: BoardRecord) -> None:
    given = confirm_all(shop, aside)
    with pytest.raises(InvalidLeftover):
        making.cut(shop, aside.id, 1, [*given, given[0]])


def test_abandoning_puts_all_back(shop: Shop, oak: OffcutRecord, ash: OffcutRecord, aside: BoardRecord) -> None:
    board = making.abandon(shop, aside.id, 1)
    assert board.state is BoardState.ABANDONED
    assert (now(shop, oak).free, now(shop, ash).free) == (1, 3)
    assert latest(shop, oak.code) == (EventKind.RELEASED, f'not needed: for board {board.id}, "stair tread"')


def test_two_boards_share_a_bundle(shop: Shop, ash: OffcutRecord, aside: BoardRecord) -> None:
    other = making.set_aside(shop, BOARD, make_fill(BOARD, [(ash, 1)]), "riser")
    assert (now(shop, ash).state, now(shop, ash).set_aside) == (State.ON_HOLD, 3)
    cut(shop, aside)
    assert (now(shop, ash).state, now(shop, ash).offcut.count, now(shop, ash).set_aside) == (State.ON_HOLD, 1, 1)
    making.abandon(shop, other.id, 1)
    assert (now(shop, ash).state, now(shop, ash).free) == (State.ON_RACK, 1)


STEPS: dict[str, Callable[[Shop, int, int], BoardRecord]] = {
    "cut": lambda shop, number, version: making.cut(shop, number, version, []),
    "finished": making.finish,
    "abandoned": making.abandon,
}


@pytest.mark.parametrize(
    ("reach", "step", "after"),
    [
        (["abandoned"], "cut", "set aside"),
        (["cut"], "cut", "set aside"),
        (["cut", "finished"], "abandoned", "set aside"),
        (["cut"], "abandoned", "set aside"),
        ([], "finished", "cut"),
        (["cut", "finished"], "finished", "cut"),
    ],
)
def test_a_step_that_does_not_follow_is_reported(
    shop: Shop, aside: BoardRecord, reach: list[str], step: str, after: str
) -> None:
    board = aside
    for each in reach:
        board = STEPS[each](shop, board.id, board.version)
    with pytest.raises(InvalidTransition) as refused:
        STEPS[step](shop, board.id, board.version)
    assert str(refused.value) == (
        f'"stair tread" is {board.state.value} and can\'t be {step}: only a board that is {after} can. '
        "Look at it as it is now."
    )
    assert making.board(shop, board.id) == board


@pytest.mark.parametrize("act", [*STEPS.values(), making.undo, lambda s, n, v: making.rename(s, n, v, "other")])
def test_the_second_of_two_who_take_a_step_is_reported(
    shop: Shop, aside: BoardRecord, act: Callable[[Shop, int, int], BoardRecord]
) -> None:
    first = making.rename(shop, aside.id, 1, "mine")
    assert (first.name, first.version, first.state) == ("mine", 2, BoardState.ON_HOLD)
    with pytest.raises(Conflict) as refused:
        act(shop, aside.id, 1)
    assert str(refused.value) == (
        '"mine" was changed by somebody else since this page was shown: what you sent was not saved. '
        "Look at it as it is now, then do it again."
    )
    assert making.board(shop, aside.id) == first


@pytest.mark.parametrize("number", [0, -1, 77, 2**70])
def test_a_board_that_is_not_there_is_reported(shop: Shop, number: int) -> None:
    with pytest.raises(NoSuchBoard) as refused:
        making.board(shop, number)
    assert str(refused.value) == f"There is no board {number}. Look for it in the list of boards."


def test_boards_are_listed_by_the_latest_step(shop: Shop, clock: Clock, oak: OffcutRecord, ash: OffcutRecord) -> None:
    first = making.set_aside(shop, BOARD, make_fill(BOARD, [(oak, 2)]), "first")
    clock.add(minutes=1)
    making.set_aside(shop, BOARD, make_fill(BOARD, [(ash, 1), (ash, 1)]), "second")
    assert [each.name for each in making.boards(shop)] == ["second", "first"]
    clock.add(minutes=1)
    cut(shop, first)
    listed = making.boards(shop)
    assert [(each.name, each.state.value, each.pieces) for each in listed] == [
        ("first", "cut", 1),
        ("second", "set aside", 2),
    ]
    assert (listed[0].length, listed[0].width, listed[0].thickness) == (inches("18"), inches("6"), inches("1 1/2"))
    assert listed[0].changed_at > listed[0].created_at
    assert [each.name for each in making.boards(shop, BoardState.CUT)] == ["first"]


def test_boards_are_listed_by_the_moment_not_by_what_the_clock_showed(
    shop: Shop, clock: Clock, oak: OffcutRecord, ash: OffcutRecord
) -> None:
    """In autumn the clock is set back: half past two comes twice."""
    clock.set(datetime(2030, 10, 27, 2, 50, tzinfo=timezone(timedelta(hours=2))))
    making.set_aside(shop, BOARD, make_fill(BOARD, [(oak, 2)]), "before")
    clock.set(datetime(2030, 10, 27, 2, 10, tzinfo=timezone(timedelta(hours=1))))
    making.set_aside(shop, BOARD, make_fill(BOARD, [(ash, 1), (ash, 1)]), "after")
    assert [each.name for each in making.boards(shop)] == ["after", "before"]
