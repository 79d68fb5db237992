"""`rackful prune`: what to prune, from a shop and from files alone, with plain errors."""

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Rackful

RACK = (
    "tag,species,length,width,thickness,face_a,face_b,count,location,notes\n"
    "0000011,ash,30 in,6 in,1 1/2 in,planed,planed,1,wall 1,\n"
    "0000022,ash,28 in,5 in,1 1/2 in,planed,rough,1,wall 1,\n"
    "0000033,pine,40 in,9 in,3/4 in,finished,finished,1,wall 2,an old door\n"
    "0000044,ash,7 in,1 in,1/2 in,rough,rough,6,wall 2,\n"
)
BOARD = {"length": "18 in", "width": "6 in", "thickness": "1 in", "bands": [{"species": ["ash"]}]}
QUICK = ("--years", "40")


@pytest.fixture
def rack(tmp_path: Path) -> Path:
    path = tmp_path / "rack.csv"
    path.write_text(RACK)
    return path


@pytest.fixture
def board(tmp_path: Path) -> Path:
    path = tmp_path / "board.json"
    path.write_text(json.dumps(BOARD))
    return path


def test_what_no_board_needs_goes_first_and_the_old_door_is_not_for_the_stove(
    rackful: Rackful, rack: Path, board: Path
) -> None:
    done = rackful("prune", "--rack", rack, "--board", f"{board}=2", "--pieces", 2, *QUICK, "--json")
    assert (done.code, done.err) == (0, "")
    document = done.document
    assert {each["tag"]: each["pieces"] for each in document["let_go"]} == {"0000033": 1, "0000044": 6}
    door = next(each for each in document["let_go"] if each["tag"] == "0000033")
    assert door["reason"] == "Fits none of the usual boards."
    assert door["ways"] == ["given away", "bin"]
    assert document["simulated_years"] == 40 and document["rack_pieces"] == 9 and document["fits"]
    assert document["kept"]["lost_points"] == 0.0
    assert document["keep"] == [{"tag": "0000011", "pieces": 1}, {"tag": "0000022", "pieces": 1}]
    assert document["chances"]["0000033"]["24_months"] == {"times": 0, "of": 20, "share": 0.0, "error": 0.0466}
    assert document["boards"][0]["name"] == "board"


def test_the_same_question_has_the_same_answer(rackful: Rackful, rack: Path, board: Path) -> None:
    asked = ("prune", "--rack", rack, "--board", f"{board}=2", "--volume", "60%", *QUICK, "--json")
    assert rackful(*asked).document == rackful(*asked).document


def test_a_shop_is_pruned_in_words_and_nothing_is_changed(rackful: Rackful, rack: Path, board: Path) -> None:
    rackful("import", rack)
    done = rackful("prune", "--board", f"{board}=2", "--shelf", "wall 2=1 in", *QUICK)
    assert (done.code, done.err) == (0, "")
    first, *lines = done.out.splitlines()
    assert first == "5 pieces may go (1.97 bd ft), least needed first; 40 years were simulated."
    assert any("Fits none of the usual boards." in line for line in lines)
    assert any(line.startswith("  000-0033  ") for line in lines)
    assert any(line.startswith("  This advice: fills ") for line in lines)
    assert len(rackful("export", "-").out.splitlines()) == 5


def test_usual_boards_go_out_and_come_in(rackful: Rackful, rack: Path, board: Path, tmp_path: Path) -> None:
    listed = tmp_path / "usual.json"
    request = json.loads(board.read_text())
    boards = [{"name": "tread", "a_year": "2.5", "months": [3, 4], "request": request}]
    listed.write_text(json.dumps({"boards": boards}))
    assert rackful("import", "--usual", listed, "--json").document == {"usual_boards": ["tread"]}
    out = tmp_path / "out.json"
    assert rackful("export", "--usual", out).out == f'1 usual board written to "{out}".\n'
    document = json.loads(out.read_text())
    assert (document["boards"][0]["a_year"], document["boards"][0]["months"]) == ("2.5", [3, 4])
    again = rackful("import", "--usual", out)
    assert (again.code, again.err) == (2, 'There is a usual board "tread" already. Type another name.\n')


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        (
            ("--pieces", "3"),
            "There is no usual board yet, so nothing says what will be needed. "
            "Keep a board that you make again and again as a usual board, with how many a year.",
        ),
        (("--pieces", "3", "--board", "{board}=0"), '"board" is made 0 times a year and so needs no wood. Type how '
         "many a year (0.5 is one in two years), or leave it off the list."),
        (("--pieces", "3", "--board", "{board}=1000000"), '"board" can\'t be made 1000000 times a year from offcuts. '
         "Type a number up to 1000."),
        (("--volume", "lots", "--board", "{board}=1"), '"lots" is no volume. Type one such as 40 bd ft, 0.1 m³, '
         "or 60 % of what is there."),
        (("--shelf", "loft=1 in", "--shelf", "loft=2 in", "--board", "{board}=1"),
         '--shelf names "loft" twice. Give its shelf once.'),
        (("--board", "{board}=1"), "Give the room in one way: --volume, --pieces or --shelf."),
    ],
    ids=["no usual board", "a rate of 0", "a rate of a million", "no volume", "shelf twice", "no room"],
)  # fmt: skip
def test_wrong_input_is_reported_plainly(
    rackful: Rackful, rack: Path, board: Path, asked: tuple[str, ...], sentence: str
) -> None:
    rackful("import", rack)
    done = rackful("prune", *(each.replace("{board}", str(board)) for each in asked))
    assert done.code == 2
    assert sentence in done.err


def test_an_empty_rack_and_a_board_that_nothing_fits_are_reported_plainly(
    rackful: Rackful, rack: Path, board: Path, tmp_path: Path
) -> None:
    empty = tmp_path / "empty.csv"
    empty.write_text(RACK.splitlines()[0] + "\n")
    done = rackful("prune", "--rack", empty, "--board", f"{board}=1", "--pieces", 1)
    assert done.code == 2
    assert done.err == "The rack is empty: there is nothing to let go. Tag the first offcut at the saw.\n"
    board.write_text(json.dumps(BOARD | {"length": "90 in"}))
    done = rackful("prune", "--rack", rack, "--board", f"{board}=30", "--pieces", 8, *QUICK)
    assert done.code == 0
    assert '"board" could not be filled once: nothing on the rack holds it.' in done.out.splitlines()
