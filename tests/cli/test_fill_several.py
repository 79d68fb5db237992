"""`rackful fill` of several boards: counted, filled together, with progress, and cut short by Ctrl-C."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from inventory.cli.program import NegativeResult
from inventory.cli.progress import best_answer
from inventory.fill.plan import Plan
from inventory.services.boards.several_boards import BatchSolution
from tests.cli.conftest import Rackful
from tests.solver.hand_written import EDGE_BOARD

RACK = (
    "tag,species,length,width,thickness,face_a,face_b,count\n"
    "0000011,ash,30 in,6 in,1 in,planed,planed,2\n"
    ",cherry,40 in,5 in,1 in,planed,rough,2\n"
)
BOARD = ("--length", "9 in", "--width", "3 in", "--thickness", "1 in")


@pytest.fixture
def rack(tmp_path: Path) -> Path:
    path = tmp_path / "rack.csv"
    path.write_text(RACK)
    return path


def request_file(tmp_path: Path, name: str, **asked: object) -> Path:
    path = tmp_path / name
    path.write_text(json.dumps({"length": "9 in", "width": "3 in", "thickness": "1 in", **asked}))
    return path


def test_the_number_of_boards_is_shown_with_the_plan_of_all(rackful: Rackful, rack: Path) -> None:
    done = rackful("fill", "--rack", rack, *BOARD, "--how-many", "--json")
    assert (done.code, done.err) == (0, "")
    counted = done.document["how_many"]
    assert counted["boards"] == counted["at_most"] == done.document["request"]["count"] > 3
    [fill] = done.document["fills"]
    assert {cut["board"] for cut in fill["cuts"]} == set(range(counted["boards"]))
    in_words = rackful("fill", "--rack", rack, *BOARD, "--how-many").out
    assert in_words.startswith(f"{counted['boards']} such boards are in the rack, and never more.\n\n")


def test_a_rack_without_such_a_board_exits_with_1(rackful: Rackful, rack: Path) -> None:
    done = rackful("fill", "--rack", rack, *BOARD, "--length", "50 in", "--how-many")
    assert done.code == 1
    assert done.out.startswith("No such board is in the rack.\n\nBoard 50 × 3 × 1 in, edge grain\n")
    assert done.err.startswith("The rack can't fill this board: 3 1/8 in of width is missing.")


def test_boards_of_several_requests_are_filled_together(rackful: Rackful, rack: Path, tmp_path: Path) -> None:
    board = request_file(tmp_path, "board.json", count=2)
    shelf = request_file(tmp_path, "shelf.json", width="4 in")
    asked = ("fill", "--rack", rack, "--request", board, "--request", shelf, "--prefer", "least-waste")
    done = rackful(*asked, "--json")
    assert (done.code, done.err) == (0, "")
    assert done.document["request"]["count"] == 2
    assert [each["width"] for each in done.document["beside"]] == ["101.6 mm"]
    assert {cut["board"] for cut in done.document["fills"][0]["cuts"]} == {0, 1, 2}
    text = rackful(*asked).out
    assert text.startswith("2 boards 9 × 3 × 1 in, edge grain\nBoard 9 × 4 × 1 in, edge grain\n\nFill 1: best by")
    assert "Glue-up 3, for board 3: 9 × 4 × 1 in" in text


def test_too_many_boards_together_lack_what_they_lack_together(rackful: Rackful, rack: Path) -> None:
    done = rackful("fill", "--rack", rack, *BOARD, "--count", 40)
    assert done.code == 1
    assert "The rack can't fill these boards together." in done.out
    assert done.err.startswith("The rack can't fill these boards together: ")


def test_several_requests_are_not_counted(rackful: Rackful, rack: Path, tmp_path: Path) -> None:
    board = request_file(tmp_path, "board.json")
    done = rackful("fill", "--rack", rack, "--request", board, "--request", board, "--how-many")
    assert (done.code, done.out) == (2, "")
    assert done.err == (
        "Boards of one kind can be counted, not of several. Name one board, or ask for all of them together.\n"
    )
    both = rackful("fill", "--rack", rack, *BOARD, "--count", 3, "--how-many")
    assert both.code == 2
    assert both.err.startswith("--how-many finds how many boards there are; --count asks for so many. Leave one out.")


class Terminal(io.StringIO):
    """Standard error that is a terminal."""

    def isatty(self) -> bool:
        return True


def interrupted_answers(*answers: BatchSolution) -> Iterator[BatchSolution]:
    """Answers, and then Ctrl-C."""
    yield from answers
    raise KeyboardInterrupt


def test_ctrl_c_takes_the_best_so_far_and_the_progress_leaves_no_trace(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = Plan(EDGE_BOARD, ())
    monkeypatch.setattr(sys, "stderr", terminal := Terminal())
    found, stopped = best_answer(interrupted_answers(BatchSolution(4, 9, plan)))
    assert (found, stopped) == (BatchSolution(4, 9, plan), True)
    line = "4 boards found so far, at most 9. Ctrl-C: this is enough"
    assert terminal.getvalue() == f"\r{line}\r{' ' * len(line)}\r"


def test_no_progress_is_shown_where_standard_error_is_no_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    plan = Plan(EDGE_BOARD, ())
    assert best_answer(iter([BatchSolution(4, 9, plan), BatchSolution(9, 9, plan)])) == (
        BatchSolution(9, 9, plan),
        False,
    )
    assert capsys.readouterr().err == ""


def test_ctrl_c_before_anything_was_found_says_so() -> None:
    with pytest.raises(NegativeResult) as ended:
        best_answer(interrupted_answers(BatchSolution(2, None, None)))
    assert str(ended.value) == "Stopped before anything was found. Give it longer, or ask for fewer boards."


def test_the_answer_of_a_shop_that_was_cut_short_says_so(
    rackful: Rackful, rack: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from inventory.services.boards import several_boards

    whole = several_boards.improving_answers

    def cut_short(*question: object) -> Iterator[BatchSolution]:
        best = next(each for each in whole(*question) if each.plan)  # type: ignore[arg-type]
        yield from interrupted_answers(best)

    monkeypatch.setattr(several_boards, "improving_answers", cut_short)
    done = rackful("fill", "--rack", rack, *BOARD, "--how-many")
    assert done.code == 0
    assert done.err == "Note: stopped; this is the best so far.\n"


def test_of_several_requests_the_wrong_file_is_named(rackful: Rackful, rack: Path, tmp_path: Path) -> None:
    board, shelf = request_file(tmp_path, "board.json"), request_file(tmp_path, "shelf.json", fills=0)
    done = rackful("fill", "--rack", rack, "--request", board, "--request", shelf)
    assert (done.code, done.out, done.err) == (2, "", '"shelf.json": fills must be 1 to 10, not 0.\n')
