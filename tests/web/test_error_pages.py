"""What a visitor reads when something goes wrong: one sentence, never a traceback."""

from __future__ import annotations

from collections.abc import Callable
from typing import NoReturn

import pytest
from flask import Flask, abort
from sqlalchemy.exc import OperationalError

from inventory.core.errors import Conflict, UserError
from inventory.services.boards.making import NoSuchBoard
from inventory.services.rack.queries import NoSuchPiece
from inventory.shop import Shop
from inventory.storage.photos import NoSuchPhoto
from tests.web.visitor import HttpClient, visible_text

BROKEN = (
    "It was not you: the program made a mistake and wrote it down. What was saved before is kept. Go back and try "
    "again; if it happens again, restart Rackful."
)


@pytest.fixture
def failing(app: Flask) -> Callable[[Exception], HttpClient]:
    """A visitor of an app whose page /fails raises the error."""

    def make(error: Exception) -> HttpClient:
        def fails() -> NoReturn:
            raise error

        app.add_url_rule("/fails", view_func=fails, methods=["GET", "POST"])
        return HttpClient(app)

    return make


@pytest.mark.parametrize(
    ("error", "status", "heading"),
    [
        (UserError("The length is 0. Type it."), 422, "That can't be done"),
        (Conflict("Somebody changed it."), 409, "Somebody was quicker"),
        (NoSuchPiece("No piece has this tag."), 404, "Nothing here by that address"),
        (NoSuchBoard("No board has this number."), 404, "Nothing here by that address"),
        (NoSuchPhoto("No photo is kept under this name."), 404, "Nothing here by that address"),
    ],
)
def test_an_error_that_can_be_fixed_is_shown_with_its_own_sentence(
    failing: Callable[[Exception], HttpClient], error: UserError, status: int, heading: str
) -> None:
    answer = failing(error).get("/fails")
    assert answer.status_code == status
    assert f"{heading} {error} Go to the first page" in visible_text(answer)


def test_a_mistake_of_the_program_is_reported_without_its_traceback(failing: Callable[[Exception], HttpClient]) -> None:
    answer = failing(ZeroDivisionError("secret detail")).get("/fails")
    assert answer.status_code == 500
    assert BROKEN in visible_text(answer)
    assert "secret detail" not in answer.text and "Traceback" not in answer.text


def test_even_a_shop_that_cannot_be_read_gives_a_sentence(
    visitor: HttpClient, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unreadable(self: Shop) -> NoReturn:
        raise OperationalError("SELECT", {}, Exception("disk I/O error"))

    monkeypatch.setattr(Shop, "settings", unreadable)
    answer = visitor.get("/settings")
    assert answer.status_code == 500
    assert visible_text(answer) == (
        "Something broke in the program What was saved before is kept. Restart Rackful and try again."
    )


def test_an_address_without_a_page_says_so(visitor: HttpClient) -> None:
    answer = visitor.get("/no/such/page")
    assert answer.status_code == 404
    sentence = "There is no page at this address. Check it, or start from one of the places."
    assert sentence in visible_text(answer)


def test_a_request_that_an_address_does_not_take_says_so_and_names_what_it_takes(visitor: HttpClient) -> None:
    answer = visitor.get("/settings/screen")
    assert answer.status_code == 405
    assert "This address takes no such request. Go back and use the page's own buttons." in visible_text(answer)
    assert answer.headers["Allow"] == "OPTIONS, POST"


def test_every_other_refusal_is_reported_as_one_that_could_not_be_read(app: Flask) -> None:
    app.add_url_rule("/odd", view_func=lambda: abort(418))
    answer = HttpClient(app).get("/odd")
    assert answer.status_code == 400
    assert "The request was not as a browser sends it. Go back, reload the page and try again." in visible_text(answer)


def test_a_refused_form_leads_back_to_the_page_it_stood_on(failing: Callable[[Exception], HttpClient]) -> None:
    visitor = failing(Conflict("Somebody changed it."))
    answer = visitor.post("/fails", {}, headers={"Referer": "http://localhost/t/0000011?a=1"})
    assert 'href="/t/0000011?a=1">See that page as it is now</a>' in answer.text
    elsewhere = visitor.post("/fails", {}, headers={"Referer": "http://evil.example/t/0000011"})
    assert "See that page as it is now" not in elsewhere.text
