"""Several boards at once: filled together or counted, found better and better beside the pages."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest

from inventory.core.errors import Conflict
from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.cutting.costs import Preference
from inventory.fill.request import BoardRequest, Grain, PanelSpec
from inventory.services.boards import filling, making, several_boards
from inventory.services.boards.several_boards import BatchSolution, BoardOrder, InvalidBatch, TooManySearches
from inventory.services.jobs import Jobs, JobState
from inventory.services.rack import editing
from inventory.shop import Shop
from inventory.storage.records import BoardState
from inventory.storage.repositories.free_pieces import free_pieces
from tests.services.fills import tagged
from tests.solver.hand_written import EDGE_BOARD, make_offcut
from tests.verify import faults

RACK = [
    make_offcut("44", "5 1/4", "13/16", "ash", "AAAAAA1"),
    make_offcut("30", "6", "1 1/8", "ash", "AAAAAA2", count=3),
    make_offcut("21", "3", "1 1/4", "cherry", "BBBBBB1"),
]
BOARD = replace(EDGE_BOARD, length=inches("9"), width=inches("4"), prefer=(Preference.LEAST_WASTE,))


def last(rack: list[Offcut], question: BoardOrder) -> BatchSolution:
    *_, found = several_boards.improving_answers(rack, question)
    return found


def test_all_of_a_board_are_counted_and_filled() -> None:
    found = last(RACK, BoardOrder((BOARD,), how_many=True))
    assert found.plan is not None and found.is_optimal
    assert found.boards == found.plan.request.count == len(found.plan.fills[0].glue_ups)
    assert faults(found.plan, RACK) == []
    more = last(RACK, BoardOrder((replace(BOARD, count=found.boards + 1),)))
    assert more.plan is not None and more.plan.shortfall is not None
    assert found.message == f"{found.boards} boards found so far, and there are never more"
    assert more.message == "No way to fill them all was found yet"
    assert found.activity_text == "Looking for a way to lose less wood"
    assert replace(found, upper_bound=found.boards + 2).activity_text == f"Looking for board {found.boards + 1}"


def test_of_a_board_that_is_not_there_the_shortfall_is_reported() -> None:
    found = last(RACK, BoardOrder((replace(BOARD, length=inches("60")),), how_many=True))
    assert (found.boards, found.upper_bound) == (0, 0)
    assert found.plan is not None and found.plan.shortfall is not None


def test_boards_of_different_sizes_are_filled_together() -> None:
    question = BoardOrder((BOARD, replace(BOARD, width=inches("3"), count=2)))
    found = last(RACK, question)
    assert found.boards == 3 and found.plan is not None
    assert found.plan.requests == question.requests
    assert faults(found.plan, RACK) == []
    assert found.message == f"All 3 boards are filled, {found.plan.fills[0].yield_share * 100:.0f} % yield so far"


@pytest.mark.parametrize(
    ("requests", "how_many", "sentence"),
    [
        ((), False, "There is no board on the list. Put one on it."),
        (
            (BOARD, BOARD),
            True,
            "Boards of one kind can be counted, not of several. Name one board, or ask for all of them together.",
        ),
        ((BOARD,) * 13, False, "A list holds at most 12 kinds of boards. Fill them in two batches."),
        (
            (replace(BOARD, count=999), BOARD),
            False,
            "These are 1,000 boards; at most 999 can be asked for together.",
        ),
    ],
)
def test_what_is_no_batch_is_refused(requests: tuple[BoardRequest, ...], how_many: bool, sentence: str) -> None:
    with pytest.raises(InvalidBatch) as refused:
        BoardOrder(requests, how_many)
    assert str(refused.value) == sentence


@pytest.fixture
def stocked(shop: Shop) -> Shop:
    tagged(shop, "6 of ash 30 x 6 x 1 1/8 @ wall 2")
    tagged(shop, "cherry 44 x 5 1/4 x 13/16 @ wall 3")
    return shop


def test_a_look_beside_the_pages_ends_with_all_boards_and_one_press_sets_them_aside(stocked: Shop) -> None:
    jobs = Jobs()
    asked = filling.request(stocked, {"length": "9", "width": "4", "thickness": "1 1/2", "fills": 1})
    question = BoardOrder((asked, replace(asked, width=inches("3"), count=2)))
    begun = several_boards.start(stocked, jobs, question)
    done = jobs.wait(begun.key, 60)
    assert done == several_boards.job_of(jobs, question.key)
    assert done is not None and done.state is JobState.DONE
    plan = done.outcome.plan
    board = making.set_aside(stocked, plan.request, plan.fills[0], beside=plan.other_requests)
    assert (board.name, board.boards, board.requests) == ("3 boards of 2 kinds", 3, question.requests)
    assert making.board(stocked, board.id).beside == plan.other_requests
    [line] = making.boards(stocked, BoardState.ON_HOLD)
    assert (line.boards, line.alike, line.pieces) == (3, False, plan.fills[0].pieces)


def test_the_cautions_of_a_batch_are_those_of_the_shop(stocked: Shop) -> None:
    settings = stocked.settings()
    stocked.save_settings(replace(settings, workshop=replace(settings.workshop, planer_width=inches("2"))))
    asked = filling.request(stocked, {"length": "9", "width": "4", "thickness": "1 1/2", "count": 2})
    *_, found = several_boards.search_rack(stocked, BoardOrder((asked,)))
    assert found.plan is not None
    assert any("wider than the planer (2 in)" in caution for caution in found.plan.fills[0].cautions)


def test_a_look_is_only_at_what_is_free(stocked: Shop) -> None:
    asked = filling.request(stocked, {"length": "9", "width": "4", "thickness": "1 1/2", "fills": 1})
    *_, found = several_boards.search_rack(stocked, BoardOrder((asked,), how_many=True))
    assert found.plan is not None
    making.set_aside(stocked, found.plan.request, found.plan.fills[0])
    with stocked.reading() as connection:
        left = free_pieces(connection).all_offcuts()
    *_, again = several_boards.search_rack(stocked, BoardOrder((asked,), how_many=True))
    assert again.boards == 0 and again.plan is not None and again.plan.shortfall is not None
    assert again.plan.shortfall.reasons["set aside"] == found.plan.fills[0].pieces
    assert sum(each.count for each in left) == 7 - found.plan.fills[0].pieces


def test_the_same_question_is_asked_once_at_a_time_and_others_wait_their_turn(stocked: Shop) -> None:
    may_go_on = threading.Event()

    class Waiting(Jobs):
        def start(self, key, title, work):  # type: ignore[no-untyped-def]
            def slow():  # type: ignore[no-untyped-def]
                may_go_on.wait(20)
                return (yield from work())

            return super().start(key, title, slow)

    jobs = Waiting()
    asked = filling.request(stocked, {"length": "9", "width": "4", "thickness": "1 1/2", "fills": 1})
    questions = [BoardOrder((replace(asked, count=count),)) for count in (1, 2, 3)]
    first = several_boards.start(stocked, jobs, questions[0])
    assert several_boards.start(stocked, jobs, questions[0]).number == first.number
    several_boards.start(stocked, jobs, questions[1])
    with pytest.raises(TooManySearches) as refused:
        several_boards.start(stocked, jobs, questions[2])
    assert str(refused.value) == (
        "2 looks through the rack are under way already. Stop one of them, or wait until it is done."
    )
    several_boards.stop(jobs, questions[1].key)
    may_go_on.set()
    ended = [jobs.wait(f"batch {each.key}", 60) for each in questions[:2]]
    assert [each.state for each in ended if each] == [JobState.DONE, JobState.STOPPED]
    jobs.close()


def test_an_end_grain_board_beside_an_edge_grain_board_keeps_its_own_sizes(stocked: Shop) -> None:
    asked = filling.request(stocked, {"length": "9", "width": "4", "thickness": "1 1/2", "fills": 1})
    panel = PanelSpec(Grain.EDGE, 1, inches("3/4"))
    end = replace(asked, length=inches("4"), grain=Grain.END, thickness=inches("1 1/4"), panel=panel)
    *_, found = several_boards.search_rack(stocked, BoardOrder((asked, end)))
    assert found.plan is not None and found.plan.fills
    text = found.plan.fills[0].glue_ups
    assert [each.board_length for each in text] == [None, inches("4")]
    board = making.set_aside(stocked, found.plan.request, found.plan.fills[0], beside=found.plan.other_requests)
    # What else would do is not kept with a board.
    assert making.board(stocked, board.id).fill == replace(found.plan.fills[0], other_species=())


def test_a_piece_that_went_meanwhile_keeps_all_of_them_from_being_on_hold(stocked: Shop) -> None:
    asked = filling.request(stocked, {"length": "9", "width": "4", "thickness": "1 1/2", "fills": 1})
    *_, found = several_boards.search_rack(stocked, BoardOrder((asked,), how_many=True))
    assert found.plan is not None
    gone = found.plan.fills[0].cuts[0].offcut.tag
    editing.remove(stocked, gone, 1, editing.RemovalReason.NOT_FOUND)
    with pytest.raises(Conflict) as refused:
        making.set_aside(stocked, found.plan.request, found.plan.fills[0])
    assert "nothing was set aside" in str(refused.value)
