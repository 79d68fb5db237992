"""Usual boards, what to let go, and the walk along the rack, by their pages."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from flask import Flask

from inventory.core.lengths import inches
from inventory.core.offcuts import Face, Offcut, State
from inventory.services.boards import usual_board_list
from inventory.services.jobs import Jobs
from inventory.services.pruning import checklists, forecasts, prune_advice
from inventory.services.rack import queries, tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.storage.records import Decision, EventKind
from inventory.web.rack import pruning as pruning_pages
from tests.web.sample_rack import BOARD, CODES, tag_sample_rack
from tests.web.visitor import HttpClient, visible_text

DOOR = Offcut(inches("30"), inches("8"), inches("3/4"), "pine", Face.FINISHED, Face.FINISHED, location="loft", tag="")


@pytest.fixture(autouse=True)
def rack(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bench's small rack and an old door, and few years to be drawn."""
    tag_sample_rack(shop)
    tagging.tag_all(shop, [NewPiece(DOOR, "0000055")])
    quick = prune_advice.prune_rack
    monkeypatch.setattr(
        prune_advice,
        "prune_rack",
        lambda shop, room, *, with_arrivals: quick(shop, room, with_arrivals=with_arrivals, replications=20),
    )


def keep_board(visitor: HttpClient, name: str = "tread", a_year: str = "2") -> None:
    done = visitor.post(
        f"/usual-boards/new?{BOARD}&species=ash&prefer=least-waste",
        {"name": name, "a_year": a_year},
        page=f"/usual-boards/new?{BOARD}",
    )
    assert (done.status_code, done.location) == (303, "/usual-boards")


def jobs(app: Flask) -> Jobs:
    found = app.extensions["rackful.jobs"]
    assert isinstance(found, Jobs)
    return found


def answered(visitor: HttpClient, app: Flask, **limit: str) -> str:
    asked = {"storage_limit": "pieces", "pieces": "4", **limit}
    done = visitor.post("/pruning", asked, page="/pruning")
    assert (done.status_code, done.location) == (303, "/pruning#work")
    ended = jobs(app).wait(pruning_pages.JOB, 60)
    assert ended is not None and not ended.running and not ended.fault
    return visible_text(visitor.get("/pruning"))


def checklist_of(visitor: HttpClient) -> str:
    (shown,) = re.findall(r'name="answer" value="(\d+)"', visitor.get("/pruning").text)
    assert visitor.post("/pruning/list", {"answer": "0"}, page="/pruning").location == "/pruning#answer"
    made = visitor.post("/pruning/list", {"answer": shown}, page="/pruning")
    assert made.status_code == 303
    return str(made.location)


def test_a_board_of_the_bench_is_kept_changed_and_taken_off(visitor: HttpClient, shop: Shop) -> None:
    assert "Keep as a usual board" in visible_text(visitor.get(f"/bench?{BOARD}"))
    keep_board(visitor)
    message = visible_text(visitor.get("/usual-boards"))
    assert "edge grain, ash" in message and "2 a year , all year; least waste" in message
    changed = {"version": "1", "name": "stair tread", "a_year": "2.5", "months": ["3", "4"]}
    assert visitor.post("/usual-boards/1", changed, page="/usual-boards/1").status_code == 303
    assert "2.5 a year , March, April" in visible_text(visitor.get("/usual-boards"))
    assert visitor.post("/usual-boards/1", changed, page="/usual-boards/1").status_code == 409
    assert visitor.get("/usual-boards.json").json["boards"][0]["name"] == "stair tread"
    assert visitor.post("/usual-boards/1/off", {"version": "2"}, page="/usual-boards").status_code == 303
    assert usual_board_list.listed(shop) == ()
    assert visitor.get("/usual-boards/1").status_code == 404


def test_a_rejected_rate_stays_as_it_was_typed(visitor: HttpClient) -> None:
    for rate, sentence in (
        ("0", '"tread" is made 0 times a year and so needs no wood.'),
        ("1000000", '"tread" can\'t be made 1000000 times a year from offcuts.'),
        ("often", '"often" is no number of boards a year. Type one such as 6 or 0.5.'),
    ):
        asked = {"name": "tread", "a_year": rate, "months": "5"}
        done = visitor.post(f"/usual-boards/new?{BOARD}", asked, page=f"/usual-boards/new?{BOARD}")
        assert done.status_code == 422
        assert sentence in visible_text(done)
        assert f'value="{rate}"' in done.text and re.search(r'value="5" checked', done.text)


def test_without_a_usual_board_the_page_says_what_to_do(visitor: HttpClient) -> None:
    assert "No usual board yet" in visible_text(visitor.get("/pruning"))
    done = visitor.post("/pruning", {"storage_limit": "pieces", "pieces": "1"}, page="/settings")
    assert done.status_code == 422
    assert "There is no usual board yet, so nothing says what will be needed." in visible_text(done)


def test_a_room_that_cannot_be_is_reported_beside_its_field(visitor: HttpClient) -> None:
    keep_board(visitor)
    for typed, sentence in (
        ({}, "How the storage limit is given is not chosen. Choose one of the three."),
        ({"storage_limit": "volume", "volume": "lots"}, '"lots" is no volume.'),
        ({"storage_limit": "pieces", "pieces": "-1"}, '"-1" is no number of pieces.'),
        ({"storage_limit": "shelves"}, "No length of shelf is typed."),
    ):
        done = visitor.post("/pruning", typed, page="/pruning")
        assert done.status_code == 422
        assert sentence in visible_text(done)


def test_the_answer_names_what_may_go_why_and_what_it_costs(visitor: HttpClient, app: Flask, shop: Shop) -> None:
    keep_board(visitor)
    message = answered(visitor, app, pieces="6")
    assert "2 pieces may go" in message
    assert "Fits none of the usual boards." in message
    assert "This advice" in message and "Rule of thumb: shorter than" in message and "points" in message
    assert "this answer is kept until Rackful is stopped" in message
    assert "The chances to be cut that the pieces' pages show are of" in message
    latest = forecasts.latest(shop)
    assert latest is not None and latest.stale_reason == ""
    assert "12 months" in visible_text(visitor.get(f"/t/{CODES['long']}"))


def test_the_walk_sends_keeps_and_undoes_and_the_old_door_is_not_for_the_stove(
    visitor: HttpClient, app: Flask, shop: Shop
) -> None:
    keep_board(visitor)
    answered(visitor, app)
    address = checklist_of(visitor)
    message = visible_text(visitor.get(address))
    assert "Not for the stove: an old finish is on it." in message
    assert "Only bare wood that is known to be untreated may go into a stove." in message

    refused = visitor.post(f"{address}/0000055", {"decision": "stove"}, page=address)
    assert refused.status_code == 409
    assert visitor.post(f"{address}/0000055", {"decision": "bin"}, page=address).status_code == 303
    door = queries.piece(shop, "0000055")
    assert door.record.state is State.GONE
    assert (door.history[0].kind, door.history[0].detail) == (
        EventKind.REMOVED,
        "bin: Fits none of the usual boards.",
    )
    assert visitor.post(f"{address}/0000055", {"decision": "undo"}, page=address).status_code == 409
    (mark,) = re.findall(r'name="seen" value="([^"]+)"', visitor.get(address).text)
    assert visitor.post(f"{address}/0000055", {"decision": "undo", "seen": mark}, page=address).status_code == 303
    assert queries.record(shop, "0000055").state is State.ON_RACK
    assert visitor.post(f"{address}/0000055", {"decision": "keep"}, page=address).status_code == 303
    assert prune_advice.pinned(shop) == {"0000055"}
    assert "Kept: not proposed again before" in visible_text(visitor.get("/t/0000055"))
    again = answered(visitor, app, pieces="6")
    assert "000-0055" not in again.partition("may go")[2].partition("Make a list")[2]


def test_some_of_a_bundle_go_and_come_back(visitor: HttpClient, app: Flask, shop: Shop) -> None:
    keep_board(visitor)
    tagging.tag_all(shop, [NewPiece(Offcut(inches("4"), inches("1"), inches("1/2"), "pine", count=6), "0000066")])
    answered(visitor, app, pieces="10")
    number = int(checklist_of(visitor).rpartition("/")[2])
    entries = {stop.entry.code: stop for stop in checklists.view(shop, number).items}
    some = [stop for stop in entries.values() if stop.entry.pieces < stop.record.offcut.count]
    assert [(stop.entry.code, stop.entry.pieces) for stop in some] == [("0000066", 2)]
    for stop in some:
        checklists.send(shop, number, stop.entry.code, stop.ways[0])
        assert queries.record(shop, stop.entry.code).offcut.count == stop.record.offcut.count - stop.entry.pieces
        (decided,) = (each.entry for each in checklists.view(shop, number).items if each.entry.code == stop.entry.code)
        checklists.undo(shop, number, stop.entry.code, decided.mark)
        assert queries.record(shop, stop.entry.code).offcut.count == stop.record.offcut.count
    assert all(stop.entry.decision is Decision.WAITING for stop in checklists.view(shop, number).items)


def test_a_code_leads_to_its_place_or_says_that_it_stays(visitor: HttpClient, app: Flask) -> None:
    keep_board(visitor)
    answered(visitor, app)
    address = checklist_of(visitor)
    found = visitor.get(f"{address}/find?code=000+oo55")
    assert (found.status_code, found.location) == (303, f"{address}?at=0000055#piece-0000055")
    assert "this is it" in visible_text(visitor.get(f"{address}?at=0000055"))
    stays = visitor.get(f"{address}/find?code=0000011")
    assert stays.status_code == 404
    assert "000-0011 is not on this list. Leave it where it is." in visible_text(stays)
    assert visitor.post(f"{address}/end", {}, page=address).location == "/pruning"
    assert visitor.get("/pruning/77").status_code == 404


def test_a_pin_is_put_in_and_taken_off_on_the_piece_s_page(visitor: HttpClient, shop: Shop) -> None:
    page = f"/t/{CODES['walnut']}"
    assert visitor.post(f"{page}/pin", {"pin": "yes"}, page=page).status_code == 303
    assert prune_advice.pinned(shop) == {CODES["walnut"]}
    assert "Kept: not proposed again before 31 Jan 2031. Propose it again" in visible_text(visitor.get(page))
    assert visitor.post(f"{page}/pin", {"pin": "no"}, page=page).status_code == 303
    assert prune_advice.pinned(shop) == frozenset()


def test_a_forecast_holds_until_enough_has_changed(visitor: HttpClient, app: Flask, shop: Shop) -> None:
    keep_board(visitor)
    answered(visitor, app)
    small = Offcut(inches("4"), inches("1"), inches("1/2"), "ash")
    tagging.tag_all(shop, [NewPiece(small)])
    first = forecasts.latest(shop)
    assert first is not None and first.stale_reason == ""
    tagging.tag_all(shop, [NewPiece(replace(DOOR, count=9))])
    changed = forecasts.latest(shop)
    assert changed is not None
    assert changed.stale_reason == "Pieces that came, went or changed since hold more than 5 % of the wood on the rack."
    keep_board(visitor, "another", "1")
    other = forecasts.latest(shop)
    assert other is not None
    assert other.stale_reason == "The usual boards, their preference or the shop's allowances have changed since."


def test_the_work_is_stopped_from_the_page(visitor: HttpClient, app: Flask) -> None:
    keep_board(visitor)
    visitor.post("/pruning", {"storage_limit": "pieces", "pieces": "4"}, page="/pruning")
    assert visitor.post("/pruning/stop", {}, page="/pruning").status_code == 303
    ended = jobs(app).wait(pruning_pages.JOB, 30)
    assert ended is not None and not ended.running
    assert visitor.get("/pruning").status_code == 200
