"""Eight phones tag at once on a real server: nothing is lost or stored twice."""

import re
import threading
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from http.client import HTTPConnection
from http.cookies import SimpleCookie
from urllib.parse import parse_qs, urlencode, urlsplit

import pytest
from waitress.server import create_server

from inventory.services.rack import queries, tagging
from inventory.shop import Shop
from inventory.web import create_app

PHONES = 8
PIECES = 12


@pytest.fixture
def port(shop: Shop) -> Iterator[int]:
    """A waitress server on a free port, as `rackful serve` runs it."""
    server = create_server(create_app(shop), host="127.0.0.1", port=0, threads=8)
    runs = threading.Thread(target=server.run, daemon=True)
    runs.start()
    yield server.effective_port
    server.close()
    runs.join(timeout=10)


class Phone:
    """A browser that keeps its cookies and sends the form of the page."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._cookies: SimpleCookie = SimpleCookie()

    def _ask(self, method: str, path: str, fields: dict[str, str] | None = None) -> tuple[int, str, str]:
        connection = HTTPConnection("127.0.0.1", self._port, timeout=60)
        headers = {"Cookie": "; ".join(f"{name}={each.value}" for name, each in self._cookies.items())}
        body = None
        if fields is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
            body = urlencode(fields)
        connection.request(method, path, body, headers)
        answer = connection.getresponse()
        for cookie in answer.headers.get_all("Set-Cookie", []):
            self._cookies.load(cookie)
        response = answer.status, answer.headers.get("Location", ""), answer.read().decode()
        connection.close()
        return response

    def form(self) -> dict[str, str]:
        """The hidden fields of a new form at the saw."""
        status, _, page = self._ask("GET", "/saw")
        assert status == 200
        names = ("csrf_token", "form_token")
        return {name: re.search(rf'name="{name}" value="([^"]+)"', page)[1] for name in names}  # type: ignore[index]

    def send(self, fields: dict[str, str]) -> str:
        """Sends the form and returns the code of the tagged piece."""
        status, location, page = self._ask("POST", "/saw", fields)
        assert status == 303, page
        [code] = parse_qs(urlsplit(location).query)["tagged"]
        return code


def typed(note: str) -> dict[str, str]:
    return {
        "length": "23 1/2",
        "width": "3 1/4",
        "thickness": "13/16",
        "species": "ash",
        "location": "wall 1",
        "face_a": "rough",
        "face_b": "",
        "count": "1",
        "notes": note,
    }


def test_eight_phones_tag_at_once_and_nothing_is_lost_or_doubled(shop: Shop, port: int) -> None:
    start = threading.Barrier(PHONES)

    def tag_them(phone_number: int) -> dict[str, str]:
        phone, confirmed = Phone(port), {}
        start.wait(timeout=60)
        for number in range(PIECES):
            note = f"piece {number} of phone {phone_number}"
            fields = phone.form() | typed(note)
            confirmed[note] = phone.send(fields)
            if number % 3 == 0:
                # The button was pressed twice, or the response was lost and the form sent again.
                assert phone.send(fields) == confirmed[note]
        return confirmed

    with ThreadPoolExecutor(PHONES) as executor:
        confirmed = {note: code for each in executor.map(tag_them, range(PHONES)) for note, code in each.items()}

    kept = queries.all_pieces(shop)
    assert {record.offcut.notes: record.code for record in kept} == confirmed
    assert len(kept) == PHONES * PIECES
    assert all(queries.piece(shop, record.code).history for record in kept)


def test_the_same_form_sent_by_eight_phones_at_the_same_moment_tags_once(shop: Shop, port: int) -> None:
    start = threading.Barrier(PHONES)
    phones = [Phone(port) for _ in range(PHONES)]
    forms = [phone.form() for phone in phones]

    def send(number: int) -> str:
        start.wait(timeout=60)
        return phones[number].send(forms[number] | {"form_token": forms[0]["form_token"]} | typed("once"))

    with ThreadPoolExecutor(PHONES) as executor:
        codes = list(executor.map(send, range(PHONES)))

    assert len(set(codes)) == 1
    assert [record.code for record in queries.all_pieces(shop)] == [codes[0]]


def test_two_programs_that_tag_in_one_shop_at_once_never_give_the_same_code(shop: Shop, port: int) -> None:
    """The web and the command line have the shop open together."""

    def by_the_web(_: int) -> str:
        phone = Phone(port)
        return phone.send(phone.form() | typed("from the web"))

    def by_the_command_line(_: int) -> str:
        with Shop.open(shop.folder, now=shop.now) as own:
            offcut = tagging.read_line("ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 1", own.settings())
            return tagging.tag(own, offcut).code

    with ThreadPoolExecutor(PHONES) as executor:
        web = [executor.submit(by_the_web, number) for number in range(20)]
        line = [executor.submit(by_the_command_line, number) for number in range(20)]
        codes = [each.result() for each in (*web, *line)]

    assert Counter(record.code for record in queries.all_pieces(shop)) == Counter(codes)
