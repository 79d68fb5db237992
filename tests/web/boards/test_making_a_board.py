"""From fill to board: pick list, cut sheet, what is left, and every step back."""

import re
from dataclasses import replace
from fractions import Fraction
from html import unescape

import pytest
from werkzeug.test import TestResponse

from inventory.core.codes import format_code
from inventory.core.lengths import inches, typed_text
from inventory.core.offcuts import Face, Mark, State
from inventory.layout.strip_layout import lay_out_fill
from inventory.services.boards import filling, making
from inventory.services.labels import label_content
from inventory.services.rack import editing, queries, tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, BoardState
from tests.web.sample_rack import CODES, LONG_ASH, tag_sample_rack
from tests.web.visitor import HttpClient, visible_text

ASKED = {"length": "18", "width": "10", "thickness": "1 1/2", "prefer": ["least-milling"], "fills": 1}


@pytest.fixture
def board(shop: Shop) -> BoardRecord:
    """A board of ash from three tags, one of them a bundle, set aside."""
    tag_sample_rack(shop)
    asked = filling.request(shop, ASKED | {"bands": [{"species": ["ash"]}]})
    return making.set_aside(shop, asked, filling.fill(shop, asked).fills[0], "Stair tread")


def step(visitor: HttpClient, shop: Shop, what: str) -> TestResponse:
    version = making.board(shop, 1).version
    return visitor.post(f"/boards/1/{what}", {"version": str(version)})


def as_proposed(page: TestResponse) -> dict[str, str]:
    """The form of what is left, as it stands on the page."""
    fields = {
        name: unescape(value)
        for name, value in re.findall(r'name="(version|left-[^"]+)" type="text"[^>]*? value="([^"]*)"', page.text)
    }
    fields |= dict(re.findall(r'name="(version)" value="(\d+)"', page.text))
    fields |= dict.fromkeys(re.findall(r'name="(left-[^"]+-keep)" value="yes" checked', page.text), "yes")
    return fields


def test_no_board_yet_leads_to_the_bench(visitor: HttpClient) -> None:
    page = visitor.get("/boards")
    assert "No board is on its way" in visible_text(page)
    assert 'href="/bench"' in page.text


@pytest.mark.usefixtures("board")
def test_boards_are_listed_by_how_far_they_have_come(shop: Shop, visitor: HttpClient) -> None:
    assert "Set aside, to be cut 1 board Stair tread" in visible_text(visitor.get("/boards"))
    step(visitor, shop, "abandon")
    said = visible_text(visitor.get("/boards"))
    assert "Abandoned 1 board Stair tread" in said
    assert "to be cut" not in said


def test_the_pick_list_goes_from_place_to_place(board: BoardRecord, visitor: HttpClient) -> None:
    page = visitor.get("/boards/1").text
    places = re.findall(r'class="pick-place">([^<]+)<', page)
    assert places == sorted(places, key=lambda place: (place == "no place noted", place not in ("wall 2",), place))
    fetched = re.findall(r"Fetched (\S+)</span>", page)
    assert sorted(fetched) == sorted(format_code(taken.code) for taken in board.taken)
    assert page.count("data-keep-tick=") == len(fetched)


def test_the_pick_list_says_how_many_of_a_bundle(board: BoardRecord, visitor: HttpClient) -> None:
    taken = {each.code: each.pieces for each in board.taken}
    assert CODES["bundle"] in taken
    assert f"take {taken[CODES['bundle']]} of 4 like pieces" in visible_text(visitor.get("/boards/1"))


def test_drawing_cut_sheet_and_steps_number_the_strips_alike(board: BoardRecord, visitor: HttpClient) -> None:
    fill_layout = lay_out_fill(board.fill, board.request)
    numbers = [str(strip.number) for strip in fill_layout.strips]
    for path in ("/boards/1", "/boards/1/sheet"):
        page = visitor.get(path).text
        [glue_up] = re.findall(r'<svg class="drawn drawn-glue-up".*?</svg>', page, re.DOTALL)
        assert re.findall(r'class="ink-number"[^>]*>(\d+)<', glue_up) == numbers * 2
        cuts = re.findall(r'<svg class="drawn drawn-cutting".*?</svg>', page, re.DOTALL)
        drawn = [number for cut in cuts for number in re.findall(r'class="ink-number"[^>]*>([\d, …]+)<', cut)]
        assert len(cuts) == len(fill_layout.identical_pieces)
        assert drawn


@pytest.mark.usefixtures("board")
def test_the_cut_sheet_has_the_steps_in_order(visitor: HttpClient) -> None:
    said = visible_text(visitor.get("/boards/1/sheet"))
    steps = [
        "1. Fetch",
        "2. Check for metal and old finish",
        "3. Crosscut to length",
        "4. Flatten the lengths",
        "5. Rip to strips, and number them",
        "6. Glue up",
        "7. Back to the rack",
    ]
    assert [said.index(step) for step in steps] == sorted(said.index(step) for step in steps)


def test_the_cut_sheet_warns_of_an_old_finish_on_the_pieces_that_have_one(
    board: BoardRecord, visitor: HttpClient
) -> None:
    said = visible_text(visitor.get("/boards/1/sheet"))
    for piece in lay_out_fill(board.fill, board.request).pieces:
        warned = f"{piece.letter}: no metal, old finish known and safe to take off" in said
        assert warned is (Face.FINISHED in piece.offcut.faces)


def test_marks_moisture_and_notes_stand_beside_the_piece_in_pick_list_steps_and_cut_sheet(
    board: BoardRecord, shop: Shop, visitor: HttpClient
) -> None:
    record = queries.record(shop, board.taken[0].code)
    carries = {"marks": (Mark.METAL, Mark.KNOTS), "moisture": Fraction(9), "notes": "a nail was here"}
    editing.change(shop, record.code, record.version, replace(record.offcut, **carries))
    for path in ("/boards/1", "/boards/1/sheet"):
        page = visitor.get(path).text
        [line] = re.findall(rf'class="pick">(?:(?!</li>).)*{record.code}.*?</li>', page, re.DOTALL)
        assert "metal, knots · 9 % moisture" in line and "a nail was here" in line
    assert visible_text(visitor.get("/boards/1")).count("a nail was here") >= 2


@pytest.mark.usefixtures("board")
def test_a_board_is_given_another_name(shop: Shop, visitor: HttpClient) -> None:
    version = making.board(shop, 1).version
    answer = visitor.post("/boards/1/name", {"version": str(version), "name": "  Lowest   tread "})
    assert answer.status_code == 303
    assert making.board(shop, 1).name == "Lowest tread"


@pytest.mark.usefixtures("board")
def test_a_name_that_is_too_long_comes_back_as_typed(shop: Shop, visitor: HttpClient) -> None:
    version = making.board(shop, 1).version
    answer = visitor.post("/boards/1/name", {"version": str(version), "name": "x" * 61})
    assert answer.status_code == 422
    assert f'value="{"x" * 61}"' in answer.text
    assert "The board's name is longer than 60 letters. Shorten it." in unescape(answer.text)


@pytest.mark.usefixtures("board")
def test_what_is_left_is_proposed_as_planned(shop: Shop, visitor: HttpClient) -> None:
    page = visitor.get("/boards/1/cut")
    fields = as_proposed(page)
    for each in making.proposed_leftovers(shop, 1):
        assert fields[f"left-{each.cut}-{each.remainder}-location"] == each.location
        assert (f"left-{each.cut}-{each.remainder}-keep" in fields) is each.keep


def test_after_the_cut_what_is_kept_is_back_with_a_tag_a_parent_and_a_label_to_print(
    board: BoardRecord, shop: Shop, visitor: HttpClient
) -> None:
    kept = [each for each in making.proposed_leftovers(shop, 1) if each.keep]
    answer = visitor.post("/boards/1/cut", as_proposed(visitor.get("/boards/1/cut")))
    assert (answer.status_code, answer.headers["Location"]) == (303, "/boards/1")
    done = making.board(shop, 1)
    assert done.state is BoardState.CUT
    assert len(done.left_over) == len(kept) > 0
    page = visitor.get("/boards/1")
    for code in done.left_over:
        record = queries.record(shop, code)
        assert record.parent_tag in {cut.offcut.tag for cut in board.fill.cuts}
        assert record in label_content.queue(shop)
        assert f'href="/t/{code}"' in page.text
    assert unescape(re.findall(r'href="(/labels/sheet[^"]+)"', page.text)[0]) == "/labels/sheet?" + "&".join(
        f"tag={code}" for code in done.left_over
    )


@pytest.mark.usefixtures("board")
def test_a_leftover_is_corrected_as_measured(shop: Shop, visitor: HttpClient) -> None:
    fields = as_proposed(visitor.get("/boards/1/cut"))
    name = next(name for name in fields if name.endswith("-keep")).removesuffix("keep")
    changed = fields | {f"{name}length": "7 3/8", f"{name}location": "bin 9", f"{name}faces": "planed"}
    visitor.post("/boards/1/cut", changed)
    cut, remainder = (int(part) for part in name.split("-")[1:3])
    kept = [each for each in making.proposed_leftovers(shop, 1) if each.keep]
    place = [(each.cut, each.remainder) for each in kept].index((cut, remainder))
    offcut = queries.record(shop, making.board(shop, 1).left_over[place]).offcut
    assert (offcut.length, offcut.location, offcut.faces) == (inches("7 3/8"), "bin 9", (Face.PLANED, Face.PLANED))


def test_what_is_ripped_off_a_flattened_length_says_how_thick_it_is_then(shop: Shop, visitor: HttpClient) -> None:
    tagging.tag_all(shop, [NewPiece(replace(LONG_ASH, face_a=Face.ROUGH, width=inches("8")), CODES["long"])])
    asked = filling.request(shop, ASKED | {"length": "30", "width": "4", "bands": [{"species": ["ash"]}]})
    making.set_aside(shop, asked, filling.fill(shop, asked).fills[0])
    crosscut, *ripped = making.proposed_leftovers(shop, 1)
    clean = asked.allowances.clean_thickness(replace(LONG_ASH, face_a=Face.ROUGH))
    assert (crosscut.width, crosscut.flattened) == (inches("8"), None)
    assert {each.flattened for each in ripped} == {clean}
    assert all(each.width < inches("8") and clean < each.thickness for each in ripped)
    page = visitor.get("/boards/1/cut")
    assert page.text.count("if flattened") == len(ripped) > 0
    assert f"{typed_text(clean, shop.settings().unit)} in if flattened" in visible_text(page)


@pytest.mark.usefixtures("board")
def test_a_leftover_that_is_not_ticked_does_not_come_back(shop: Shop, visitor: HttpClient) -> None:
    fields = {name: value for name, value in as_proposed(visitor.get("/boards/1/cut")).items() if "keep" not in name}
    visitor.post("/boards/1/cut", fields)
    assert making.board(shop, 1).left_over == ()
    assert "Nothing came back to the rack." in visible_text(visitor.get("/boards/1"))


@pytest.mark.usefixtures("board")
def test_a_size_that_cannot_be_read_keeps_everything_as_typed(shop: Shop, visitor: HttpClient) -> None:
    fields = as_proposed(visitor.get("/boards/1/cut"))
    name = next(name for name in fields if name.endswith("-keep")).removesuffix("keep")
    answer = visitor.post("/boards/1/cut", fields | {f"{name}length": "7 3/0", f"{name}location": "bin 9"})
    assert answer.status_code == 422
    assert '"7 3/0" is not a length: the fraction has 0 below the line. Type 23 1/2, 23.5 in or 597 mm.' in unescape(
        answer.text
    )
    assert 'value="7 3/0"' in answer.text and 'value="bin 9"' in answer.text
    assert making.board(shop, 1).state is BoardState.ON_HOLD


@pytest.mark.usefixtures("board")
def test_a_leftover_larger_than_its_offcut_is_refused_beside_its_field(shop: Shop, visitor: HttpClient) -> None:
    fields = as_proposed(visitor.get("/boards/1/cut"))
    name = next(name for name in fields if name.endswith("-keep")).removesuffix("keep")
    answer = visitor.post("/boards/1/cut", fields | {f"{name}width": "30"})
    assert answer.status_code == 422
    assert f'id="fault-{name}width"' in answer.text
    assert "is more than it had before. Measure it again." in answer.text


@pytest.mark.usefixtures("board")
def test_two_people_at_one_board_and_nothing_typed_is_lost(shop: Shop, visitor: HttpClient) -> None:
    fields = as_proposed(visitor.get("/boards/1/cut"))
    name = next(name for name in fields if name.endswith("-keep")).removesuffix("keep")
    making.rename(shop, 1, making.board(shop, 1).version, "Upper tread")
    answer = visitor.post("/boards/1/cut", fields | {f"{name}location": "bin 9"})
    assert answer.status_code == 409
    assert 'value="bin 9"' in answer.text
    assert making.board(shop, 1).state is BoardState.ON_HOLD
    again = as_proposed(answer)
    assert visitor.post("/boards/1/cut", again).status_code == 303
    assert making.board(shop, 1).state is BoardState.CUT


@pytest.mark.usefixtures("board")
def test_the_form_of_what_is_left_leads_back_once_the_board_is_cut(shop: Shop, visitor: HttpClient) -> None:
    visitor.post("/boards/1/cut", as_proposed(visitor.get("/boards/1/cut")))
    answer = visitor.get("/boards/1/cut")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/boards/1")


def test_every_step_is_undone_until_the_next(board: BoardRecord, shop: Shop, visitor: HttpClient) -> None:
    states = []
    visitor.post("/boards/1/cut", as_proposed(visitor.get("/boards/1/cut")))
    came_back = making.board(shop, 1).left_over
    for what in ("finish", "undo", "undo", "abandon", "undo"):
        assert step(visitor, shop, what).status_code == 303
        states.append(making.board(shop, 1).state)
    assert states == [
        BoardState.FINISHED,
        BoardState.CUT,
        BoardState.ON_HOLD,
        BoardState.ABANDONED,
        BoardState.ON_HOLD,
    ]
    assert all(queries.record(shop, code).state is State.GONE for code in came_back)
    assert all(queries.record(shop, each.code).set_aside == each.pieces for each in board.taken)


def test_abandoning_a_board_puts_all_back(board: BoardRecord, shop: Shop, visitor: HttpClient) -> None:
    step(visitor, shop, "abandon")
    assert all(queries.record(shop, each.code).set_aside == 0 for each in board.taken)
    assert "All its offcuts went back to the rack." in visible_text(visitor.get("/boards/1"))


@pytest.mark.usefixtures("board")
def test_a_step_that_does_not_follow_is_reported_on_the_board_as_it_stands(shop: Shop, visitor: HttpClient) -> None:
    assert step(visitor, shop, "finish").status_code == 303
    said = visible_text(visitor.get("/boards/1"))
    assert (
        '"Stair tread" is set aside and can\'t be finished: only a board that is cut can. Look at it as it is now.'
        in said
    )
    assert making.board(shop, 1).state is BoardState.ON_HOLD


@pytest.mark.usefixtures("board")
def test_a_cut_is_not_undone_once_a_leftover_was_changed(shop: Shop, visitor: HttpClient) -> None:
    visitor.post("/boards/1/cut", as_proposed(visitor.get("/boards/1/cut")))
    code = making.board(shop, 1).left_over[0]
    record = queries.record(shop, code)
    editing.change(shop, code, record.version, replace(record.offcut, location="moved"))
    step(visitor, shop, "undo")
    assert f"{format_code(code)} came back from this cut" in visible_text(visitor.get("/boards/1"))
    assert making.board(shop, 1).state is BoardState.CUT


@pytest.mark.usefixtures("board")
def test_an_old_page_changes_nothing(shop: Shop, visitor: HttpClient) -> None:
    for version in ("0", "x", "99999999999"):
        visitor.post("/boards/1/abandon", {"version": version})
        assert making.board(shop, 1).state is BoardState.ON_HOLD


@pytest.mark.parametrize("path", ["/boards/7", "/boards/7/sheet", "/boards/7/cut", "/boards/99999999999999999999"])
def test_a_board_that_is_not_there_is_said(visitor: HttpClient, path: str) -> None:
    answer = visitor.get(path)
    assert answer.status_code == 404
    assert "There is no board" in answer.text


def test_a_step_for_a_board_that_is_not_there_is_said(visitor: HttpClient) -> None:
    assert visitor.post("/boards/7/finish", {"version": "1"}).status_code == 404
