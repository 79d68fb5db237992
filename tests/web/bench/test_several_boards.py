"""Several boards at once on the pages: the list, the look that goes on beside them, all of them set aside."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from html import unescape
from urllib.parse import parse_qs, urlsplit

import pytest
from werkzeug.test import TestResponse

from inventory.layout import rounds
from inventory.services.boards import making, several_boards
from inventory.services.boards.several_boards import BatchSolution, BoardOrder
from inventory.services.rack import tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.web.request_context import _JOBS
from tests.web.sample_rack import LONG_ASH, tag_sample_rack
from tests.web.visitor import HttpClient, visible_text

SMALL = "length=8&width=3&thickness=1+1/2&prefer=least-waste"
LIST = "/several-boards?board=length%3D8%26width%3D3%26thickness%3D1%2B1%252F2%26prefer%3Dleast-waste%26count%3D2"
TWO_KINDS = LIST + "&board=length%3D6%26width%3D2%26thickness%3D1%2B1%252F2%26count%3D1"


@pytest.fixture(autouse=True)
def rack(shop: Shop) -> None:
    tag_sample_rack(shop)


def looked(visitor: HttpClient) -> None:
    """Waits until the looks that are under way have ended."""
    jobs = visitor.app.extensions[_JOBS]
    for job in jobs.running():
        jobs.wait(job.key, 60)


def fields(page: TestResponse, form: str) -> dict[str, list[str]]:
    """The hidden and typed fields of the form with this action."""
    found = re.search(rf'<form method="post" action="{re.escape(form)}".*?</form>', unescape(page.text), re.DOTALL)
    assert found, form
    kept: dict[str, list[str]] = {}
    for tag in re.findall(r"<input[^>]*>", found.group()):
        name, value = re.search(r'name="([^"]+)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and value:
            kept.setdefault(name[1], []).append(value[1])
    return kept


def request_all(visitor: HttpClient, address: str = LIST, **typed: str) -> TestResponse:
    page = visitor.get(address)
    return visitor.post("/several-boards", fields(page, "/several-boards") | {"do": "look"} | typed, page=address)


def test_how_many_there_are_is_asked_from_the_answer_at_the_bench(shop: Shop, visitor: HttpClient) -> None:
    page = visitor.get(f"/bench?{SMALL}")
    action = unescape(re.findall(r'action="(/several-boards/answer[^"]+)"', page.text)[0])
    begun = visitor.post(action, {"do": "look"}, page=f"/bench?{SMALL}")
    assert begun.status_code == 303
    looked(visitor)
    answer = visitor.get(begun.headers["Location"])
    found = visible_text(answer)
    assert f'href="/bench?{SMALL}"' in unescape(answer.text).replace("%2F", "/"), "the way back keeps the board"
    assert "How many are in the rack? Boards 8 × 3 × 1 1/2 in , edge grain." in found
    of_ash = visitor.get(unescape(action).replace("%26prefer", "%26species%3Dash%26prefer"))
    assert "Boards 8 × 3 × 1 1/2 in , edge grain, ash." in visible_text(of_ash)
    boards = int(re.findall(r"(\d+) boards Proven: the rack never gives more of them\.", found)[0])
    assert boards > 2
    done = visitor.post(
        begun.headers["Location"],
        fields(answer, begun.headers["Location"]) | set_of(answer),
        page=begun.headers["Location"],
    )
    assert done.status_code == 303
    board = making.board(shop, 1)
    assert board.boards == boards == len(board.fill.glue_ups)
    printed = visitor.get("/boards/1/sheet")
    assert printed.text.count('class="piece-outline"') == len(board.taken), "no piece has a photo: each is drawn"
    sheet = visible_text(printed)
    # Boards that are glued up alike are drawn once: "Boards 1 and 2 of 3", then a line for each of the others.
    drawn = re.findall(rf"Boards? ([\d, andto]+) of {boards}", sheet)
    numbers = [int(number) for each in drawn for number in re.findall(r"\d+", each)]
    assert {1, boards} <= set(numbers) and len(drawn) < boards
    assert len(drawn) + len(re.findall(r"Board \d+: strips [\d to]+, in the same order\.", sheet)) == boards
    assert f"{boards} boards" in visible_text(visitor.get("/boards"))


def test_how_many_there_are_of_the_only_board_is_asked_from_the_list_too(visitor: HttpClient) -> None:
    listed = visitor.get(f"/several-boards/add?{SMALL}").headers["Location"]
    assert visitor.get("/bench").text.count('formaction="/several-boards/add"') == 1
    begun = request_all(visitor, listed, do="how-many")
    assert begun.status_code == 303 and begun.headers["Location"].endswith("&how_many=yes")
    looked(visitor)
    assert "Proven: the rack never gives more of them." in visible_text(visitor.get(begun.headers["Location"]))
    assert "How many of these" not in visitor.get(TWO_KINDS).text


def set_of(page: TestResponse) -> dict[str, str]:
    """What the first press on "Set aside all of them" sends."""
    found = re.search(r'name="form_token" value="(\w+)"/?>.*?name="set" value="(\w+)"', page.text, re.DOTALL)
    assert found
    return {"form_token": found[1], "set": found[2], "do": "set-aside"}


def test_boards_of_two_kinds_are_looked_for_together_and_on_hold_as_one(shop: Shop, visitor: HttpClient) -> None:
    begun = request_all(visitor, TWO_KINDS)
    assert begun.status_code == 303
    here = begun.headers["Location"]
    looked(visitor)
    answer = visitor.get(here)
    assert "All 3 boards can be filled" in visible_text(answer)
    press = set_of(answer)
    first = visitor.post(here, press, page=here)
    again = visitor.post(here, press, page=here)
    assert first.headers["Location"] == again.headers["Location"] == "/boards/1"
    assert [each.id for each in making.boards(shop)] == [1]
    said = visible_text(visitor.get("/boards/1"))
    assert "3 boards of 2 kinds" in said
    assert "2 of 8 × 3 × 1 1/2 in , edge grain; 1 of 6 × 2 × 1 1/2 in , edge grain" in said
    sheet = visible_text(visitor.get("/boards/1/sheet"))
    assert "Boards 1 and 2 of 3" in sheet and "Board 3 of 3" in sheet


def test_a_board_that_was_taken_meanwhile_is_reported_and_nothing_is_on_hold(shop: Shop, visitor: HttpClient) -> None:
    here = request_all(visitor).headers["Location"]
    looked(visitor)
    answer = visitor.get(here)
    press = set_of(answer)
    visitor.post(here, press, page=here)
    refused = visitor.post(here, press | {"form_token": "another"}, page=here)
    assert refused.status_code == 409
    assert "nothing was set aside" in visible_text(refused)
    assert len(making.boards(shop)) == 1


def test_what_the_rack_has_not_is_reported(visitor: HttpClient) -> None:
    here = request_all(visitor, count1="900").headers["Location"]
    looked(visitor)
    said = visible_text(visitor.get(here))
    assert "The rack can't fill them all" in said and "of width of ash is missing." in said
    assert "How many are there?" in said


def test_of_boards_of_several_sizes_nobody_asks_how_many_there_are(visitor: HttpClient) -> None:
    here = request_all(visitor, TWO_KINDS, count1="90").headers["Location"]
    looked(visitor)
    said = visible_text(visitor.get(here))
    assert "The rack can't fill them all" in said and "How many are there?" not in said


@pytest.mark.parametrize("typed", ["0", "many", "1000", "1.5", ""])
def test_a_count_that_can_not_be_comes_back_as_typed(visitor: HttpClient, typed: str) -> None:
    refused = request_all(visitor, count1=typed)
    assert refused.status_code == 422
    assert f'"{typed}" is no number of boards. Type 1 to 999.' in visible_text(refused)
    assert f'name="count1" type="text" value="{typed}"' in refused.text


def test_too_many_boards_are_refused(visitor: HttpClient) -> None:
    refused = request_all(visitor, TWO_KINDS, count1="999")
    assert refused.status_code == 422
    assert "These are 1,000 boards; at most 999 can be asked for together." in visible_text(refused)


def test_boards_are_taken_off_the_list_changed_and_added_at_the_bench(visitor: HttpClient) -> None:
    page = visitor.get(TWO_KINDS)
    sent = fields(page, "/several-boards") | {"count1": "7"}
    off = visitor.post("/several-boards", sent | {"do": "remove-2"}, page=TWO_KINDS)
    [left] = parse_qs(urlsplit(off.headers["Location"]).query)["board"]
    assert parse_qs(left)["count"] == ["7"]
    like = visitor.post("/several-boards", sent | {"do": "add-2"}, page=TWO_KINDS)
    form = visitor.get(like.headers["Location"])
    assert "It goes with 2 other kinds of boards" in visible_text(form)
    assert re.search(r'name="length"[^>]* value="6"', form.text)
    beside = parse_qs(urlsplit(like.headers["Location"]).query)["beside"]
    added = visitor.get(
        "/several-boards/add", query_string={"length": "5", "width": "2", "thickness": "1", "beside": beside}
    )
    assert added.status_code == 303
    assert len(parse_qs(urlsplit(added.headers["Location"]).query)["board"]) == 3
    changed = visitor.post("/several-boards", sent | {"do": "change-1"}, page=TWO_KINDS)
    assert len(parse_qs(urlsplit(changed.headers["Location"]).query)["beside"]) == 1


def test_a_board_that_can_not_be_read_goes_back_to_the_bench(visitor: HttpClient) -> None:
    back = visitor.get("/several-boards/add", query_string={"length": "long", "width": "2", "thickness": "1"})
    assert back.status_code == 303
    assert visitor.get(back.headers["Location"]).status_code == 422


def test_an_empty_list_leads_to_the_bench(visitor: HttpClient) -> None:
    page = visitor.get("/several-boards")
    assert "No board is on the list" in visible_text(page)
    assert 'href="/bench"' in page.text


def test_an_answer_of_an_earlier_run_of_the_program_can_be_asked_for_again(visitor: HttpClient) -> None:
    here = LIST.replace("/several-boards?", "/several-boards/answer?")
    assert "This was not looked for since the program was started" in visible_text(visitor.get(here))
    assert visitor.post(here, {"do": "look"}, page=here).status_code == 303
    looked(visitor)
    assert "All 2 boards can be filled" in visible_text(visitor.get(here))


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Iterator[threading.Event]:
    """Looks that find two of at most nine at once, and then go on until they may end."""
    whole = several_boards.search_rack
    may_end = threading.Event()

    def slowly(shop: Shop, question: BoardOrder) -> Iterator[BatchSolution]:
        *_, best = whole(shop, question)
        yield BatchSolution(2, 9, best.plan)
        while not may_end.wait(0.05):
            yield BatchSolution(2, 9, best.plan)
        yield best

    monkeypatch.setattr(several_boards, "search_rack", slowly)
    yield may_end
    may_end.set()


@pytest.mark.usefixtures("slow")
def test_a_look_says_how_far_it_is_and_can_be_stopped(visitor: HttpClient) -> None:
    here = request_all(visitor).headers["Location"]
    wait_until(lambda: "2 boards found so far, at most 9." in visible_text(visitor.get(here)))
    page = visitor.get(here)
    assert "at most 9. Looking for board 3. Just begun." in visible_text(page)
    assert '<meta http-equiv="refresh" content="3">' in page.text
    assert "data-poll" in page.text and "Set aside all of them" not in visible_text(page)
    visitor.post(here, {"do": "stop"}, page=here)
    looked(visitor)
    stopped = visitor.get(here)
    assert "You stopped the look: this is the best it had found." in visible_text(stopped)
    assert "data-poll" not in stopped.text and "Set aside all of them" in visible_text(stopped)


def test_a_third_look_waits_until_another_has_ended(visitor: HttpClient, slow: threading.Event) -> None:
    request_all(visitor, count1="1")
    request_all(visitor, count1="2")
    refused = request_all(visitor, count1="3")
    assert refused.status_code == 409
    assert "2 looks through the rack are under way already." in visible_text(refused)
    slow.set()
    looked(visitor)
    assert request_all(visitor, count1="3").status_code == 303
    looked(visitor)


def wait_until(true: Callable[[], bool]) -> None:
    for _ in range(200):
        if true():
            return
        threading.Event().wait(0.05)
    raise AssertionError("it never came about")


def test_many_boards_are_reported_in_tables_and_drawn_once_they_are_on_hold(shop: Shop, visitor: HttpClient) -> None:
    tagging.tag_all(shop, [NewPiece(replace(LONG_ASH, count=9))])
    here = request_all(visitor, count1="14").headers["Location"]
    looked(visitor)
    answer = visitor.get(here)
    assert "All 14 boards can be filled" in visible_text(answer)
    assert "drawn-glue-up" not in answer.text
    visitor.post(here, set_of(answer), page=here)
    assert "drawn-glue-up" in visitor.get("/boards/1/sheet").text


def test_a_page_of_many_boards_names_its_round_and_links_to_the_others(
    shop: Shop, visitor: HttpClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rounds, "MAX_BOARDS_PER_ROUND", 1)
    here = request_all(visitor).headers["Location"]
    looked(visitor)
    visitor.post(here, set_of(visitor.get(here)), page=here)
    first, second = visitor.get("/boards/1"), visitor.get("/boards/1/sheet?round=2")
    assert "The cut sheet lists what to fetch for board 1." in visible_text(first)
    assert "Board 2 of 2 , with the offcuts that are cut for them." in visible_text(second)
    assert re.findall(r'rel="(?:prev|next)" href="([^"#]*)', first.text) == ["/boards/1?round=2"] * 2
    assert re.findall(r'rel="(?:prev|next)" href="([^"#]*)', second.text) == ["/boards/1/sheet?round=1"]
