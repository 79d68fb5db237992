"""Bodies on their way in, at the real server: kept of those who may enter, dropped of strangers."""

from __future__ import annotations

import http.client
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest
import waitress.parser
from flask import Flask
from werkzeug.security import generate_password_hash

from inventory.shop import Shop
from inventory.web.access.upload_limits import MAX_ANONYMOUS_BODY
from tests.web.browser import serve_app

PHRASE = "seven planes and a marking knife"
LARGE = bytes(MAX_ANONYMOUS_BODY + 1)


@pytest.fixture
def kept(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many bytes of bodies the server keeps, piece by piece."""
    sizes: list[int] = []

    class Counted(waitress.parser.OverflowableBuffer):  # type: ignore[misc]
        def append(self, chunk: bytes) -> None:
            sizes.append(len(chunk))
            super().append(chunk)

    monkeypatch.setattr(waitress.parser, "OverflowableBuffer", Counted)
    return sizes


@pytest.fixture
def address(shop: Shop, app_on_host: Callable[[str], Flask]) -> Iterator[str]:
    """A shop with a passphrase, open to the network."""
    shop.save_settings(replace(shop.settings(), pass_phrase_hash=generate_password_hash(PHRASE, "pbkdf2:sha256:1")))
    with serve_app(app_on_host("0.0.0.0")) as here:
        yield here.removeprefix("http://")


def send(address: str, path: str, body: Any, **headers: str) -> tuple[int, str, str]:
    """Status, cookie and page of a form that is sent."""
    connection = http.client.HTTPConnection(address, timeout=20)
    form = {"Content-Type": "application/x-www-form-urlencoded"}
    connection.request("POST", path, body, form | headers, encode_chunked="Transfer-Encoding" in headers)
    answer = connection.getresponse()
    page = answer.read().decode()
    connection.close()
    return answer.status, (answer.getheader("Set-Cookie") or "").partition(";")[0], page


def signed_in(address: str) -> str:
    connection = http.client.HTTPConnection(address, timeout=20)
    connection.request("GET", "/sign-in")
    answer = connection.getresponse()
    token = re.search(r'name="csrf_token" value="([^"]+)"', answer.read().decode())
    cookie = (answer.getheader("Set-Cookie") or "").partition(";")[0]
    connection.close()
    assert token
    status, cookie, _ = send(address, "/sign-in", f"csrf_token={token[1]}&phrase={PHRASE}", Cookie=cookie)
    assert status == 303
    return cookie


def test_of_a_strangers_large_form_nothing_is_kept_and_its_sentence_is_reported(address: str, kept: list[int]) -> None:
    for body, headers in ((LARGE, {}), (iter([LARGE, LARGE]), {"Transfer-Encoding": "chunked"})):
        status, _, page = send(address, "/saw", body, **headers)
        assert (status, kept) == (403, [])
        assert "This browser is not signed in any more, so nothing was saved." in page


def test_a_form_of_who_is_signed_in_is_kept_whole(address: str, kept: list[int]) -> None:
    cookie = signed_in(address)
    kept.clear()
    send(address, "/saw", LARGE, Cookie=cookie)
    assert sum(kept) == len(LARGE)


def test_a_cookie_that_was_not_given_here_is_a_strangers(address: str, kept: list[int]) -> None:
    name = signed_in(address).partition("=")[0]
    kept.clear()
    assert send(address, "/saw", LARGE, Cookie=f"{name}=eyJlbnRyeSI6Im5vYm9keSJ9.made.up")[0] == 403
    assert send(address, "/saw", LARGE, Host="[")[0] == 400
    assert kept == []


def test_on_the_shops_own_computer_a_large_form_is_kept(app: Flask, kept: list[int]) -> None:
    with serve_app(app) as here:
        send(here.removeprefix("http://"), "/saw", LARGE)
        assert sum(kept) == len(LARGE)
