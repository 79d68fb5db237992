"""A phone joins in one scan: once, in time, by a name, and out again at once when it is turned away."""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta

import pytest
import zxingcpp
from flask import Flask
from PIL import Image
from playwright.sync_api import Browser
from werkzeug.security import generate_password_hash

from inventory.services.access import device_sessions
from inventory.services.access.device_sessions import InvalidDeviceName
from inventory.shop import Shop
from inventory.web.access import access_control, addresses, pairing
from inventory.web.access.pairing_codes import CODE_LENGTH, LIFETIME, MIN_REMAINING, PairingCodes
from inventory.web.access.sign_in import FREE_ATTEMPTS
from tests.conftest import Clock
from tests.web.browser import (
    DESK,
    PHONE,
    accessibility_violations,
    browser_page,
    overflowing_elements,
    serve_app,
    small_targets,
)
from tests.web.visitor import HttpClient, visible_text

PHRASE = "seven planes and a marking knife"
HOST = "192.168.1.20:8765"
PHONE_SAYS = {"User-Agent": "Mozilla/5.0 (Linux) Mobile"}
CODE_EXPIRED = (
    "This code let a device in already, or it is older than ten minutes. Show a fresh one on the shop's computer or on "
    "a device that is in, or sign in with the pass phrase."
)


@pytest.fixture
def network(shop: Shop, app_on_host: Callable[[str], Flask]) -> Flask:
    """The shop, served to the network by its number."""
    shop.save_settings(replace(shop.settings(), pass_phrase_hash=generate_password_hash(PHRASE, "pbkdf2:sha256:1")))
    return app_on_host("192.168.1.20")


@pytest.fixture
def desk(network: Flask) -> HttpClient:
    """The browser of whoever knows the passphrase."""
    browser = HttpClient(network, HOST, "192.168.1.5")
    browser.post("/sign-in", {"phrase": PHRASE}, page="/sign-in")
    return browser


@pytest.fixture
def phone(network: Flask) -> HttpClient:
    return HttpClient(network, HOST, "192.168.1.77")


def word_of(app: Flask) -> str:
    """The word that the code shows now."""
    with app.test_request_context(base_url=f"http://{HOST}"):
        return pairing.current_code().text


def scan(browser: HttpClient, word: str, name: str = "Saw phone") -> int:
    """Scans the code and gives a name; answers the status of the last answer."""
    answer = browser.get(f"/J/{word}", headers=PHONE_SAYS)
    if answer.status_code != 303:
        return answer.status_code
    return browser.post("/pair", {"name": name}, page="/pair").status_code


def test_a_phone_that_scans_the_code_is_in_under_the_name_that_it_takes(
    phone: HttpClient, network: Flask, shop: Shop
) -> None:
    assert phone.get("/saw").status_code == 303
    answer = phone.get(f"/J/{word_of(network)}", headers=PHONE_SAYS)
    assert (answer.status_code, answer.headers["Location"]) == (303, "/pair")
    assert (answer.headers["Referrer-Policy"], answer.headers["Cache-Control"]) == ("no-referrer", "no-store")
    form = phone.get("/pair", headers=PHONE_SAYS)
    assert 'name="name" type="text" value="Phone"' in form.text
    assert phone.get("/saw").status_code == 303
    answer = phone.post("/pair", {"name": "  Saw   phone "}, page="/pair")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/")
    assert "Saw phone is in." in visible_text(phone.get("/"))
    assert [device.name for device in device_sessions.paired_devices(shop, mark(shop))] == ["Saw phone"]


def mark(shop: Shop) -> str:
    return access_control.credential_fingerprint(shop.settings())


def test_a_code_lets_one_device_in_and_no_second_one(network: Flask, phone: HttpClient) -> None:
    word, other = word_of(network), HttpClient(network, HOST, "192.168.1.78")
    other.get(f"/J/{word}")
    token = other.token("/pair")
    assert scan(phone, word) == 303
    assert scan(HttpClient(network, HOST, "192.168.1.79"), word) == 410
    late = other.post_without_token("/pair", {"csrf_token": token, "name": "Late"})
    assert (late.status_code, other.get("/saw").status_code) == (410, 303)
    assert CODE_EXPIRED in visible_text(late)
    assert word_of(network) != word


def test_of_many_at_the_same_moment_one_is_let_in(network: Flask, shop: Shop) -> None:
    word = word_of(network)
    browsers = [HttpClient(network, HOST, f"192.168.1.{last}") for last in range(80, 86)]
    for browser in browsers:
        browser.get(f"/J/{word}")
    tokens = [browser.token("/pair") for browser in browsers]
    with ThreadPoolExecutor(6) as together:
        answers = list(
            together.map(
                lambda each: each[0].post_without_token("/pair", {"csrf_token": each[1], "name": "One"}).status_code,
                zip(browsers, tokens, strict=True),
            )
        )
    assert sorted(answers) == [303, 410, 410, 410, 410, 410]
    assert len(device_sessions.paired_devices(shop, mark(shop))) == 1


def test_looking_at_the_address_of_a_code_uses_it_not_up(network: Flask, phone: HttpClient) -> None:
    word = word_of(network)
    for _ in range(3):
        # As an app does that shows what a code leads to before it opens it.
        assert HttpClient(network, HOST, "192.168.1.90").get(f"/j/{word.lower()}").status_code == 303
    assert scan(phone, word) == 303


def test_a_code_holds_for_minutes_and_under_the_pass_phrase_of_its_moment() -> None:
    now = 0.0
    held = PairingCodes(lambda: now)
    first = held.current_or_new("phrase")
    assert (len(first.text), first.seconds) == (CODE_LENGTH, int(LIFETIME))
    now = LIFETIME - MIN_REMAINING
    assert held.current_or_new("phrase").text == first.text
    now += 1
    second = held.current_or_new("phrase")
    assert second.text != first.text and held.is_valid(first.text, "phrase")
    now = LIFETIME
    assert not held.is_valid(first.text, "phrase") and not held.redeem(first.text, "phrase")
    assert not held.is_valid(second.text, "other") and held.current_or_new("other").text != second.text
    assert held.redeem(second.text.lower(), "phrase") and not held.redeem(second.text, "phrase")


def test_wrong_codes_are_slowed_down(network: Flask, phone: HttpClient) -> None:
    for _ in range(FREE_ATTEMPTS):
        assert phone.get("/J/00000000000000000000").status_code == 410
    assert phone.get(f"/J/{word_of(network)}").status_code == 429
    assert HttpClient(network, HOST, "192.168.1.78").get(f"/J/{word_of(network)}").status_code == 303


def test_a_session_from_before_is_not_carried_into_the_shop(network: Flask, phone: HttpClient) -> None:
    with phone.client.session_transaction(base_url=f"http://{HOST}") as before:
        before["planted"] = "by somebody else"
    assert scan(phone, word_of(network)) == 303
    with phone.client.session_transaction(base_url=f"http://{HOST}") as after:
        assert "planted" not in after and "pairing" not in after


def test_a_device_turned_away_is_out_with_its_next_page_and_only_it(
    network: Flask, phone: HttpClient, desk: HttpClient, shop: Shop
) -> None:
    other = HttpClient(network, HOST, "192.168.1.78")
    scan(phone, word_of(network), "Lost phone")
    scan(other, word_of(network), "Kept phone")
    [lost] = [device for device in device_sessions.paired_devices(shop, mark(shop)) if device.name == "Lost phone"]
    page = desk.get("/settings/devices")
    assert "3 devices are in" in visible_text(page)
    assert desk.post(f"/settings/devices/{lost.id}/away", {}, page="/settings/devices").status_code == 303
    assert desk.post(f"/settings/devices/{2**63}/away", {}, page="/settings/devices").status_code == 303
    assert [each.get("/saw").status_code for each in (phone, other, desk)] == [303, 200, 200]
    assert "Lost phone" not in visible_text(desk.get("/settings/devices"))


def test_the_list_says_when_a_device_was_seen_and_which_is_this_one(
    network: Flask, phone: HttpClient, desk: HttpClient, clock: Clock
) -> None:
    scan(phone, word_of(network), "Saw phone")
    clock.add(minutes=4)
    phone.get("/saw")
    assert "Saw phone Seen 31 Jan 2030, 10:00. In since 31 Jan 2030." in visible_text(desk.get("/settings/devices"))
    clock.add(minutes=6)
    phone.get("/saw")
    words = visible_text(desk.get("/settings/devices"))
    assert "Saw phone Seen 31 Jan 2030, 10:10." in words
    assert "Computer this one" in words


def test_a_device_is_out_when_the_pass_phrase_changes_and_the_one_that_changed_it_stays(
    network: Flask, phone: HttpClient, desk: HttpClient, shop: Shop
) -> None:
    scan(phone, word_of(network), "Saw phone")
    fields = {"present": PHRASE, "phrase": "another phrase of words", "again": "another phrase of words"}
    assert desk.post("/settings/passphrase", fields, page="/settings").status_code == 303
    assert [each.get("/saw").status_code for each in (phone, desk)] == [303, 200]
    assert [device.name for device in device_sessions.paired_devices(shop, mark(shop))] == ["Computer"]
    # Who gives the new phrase is the device that it was.
    phone.post("/sign-in", {"phrase": "another phrase of words"}, page="/sign-in")
    assert {device.name for device in device_sessions.paired_devices(shop, mark(shop))} == {"Computer", "Saw phone"}


def test_signing_out_takes_the_device_off_the_list(network: Flask, phone: HttpClient, shop: Shop) -> None:
    scan(phone, word_of(network))
    phone.post("/sign-out", {}, page="/settings")
    assert device_sessions.paired_devices(shop, mark(shop)) == ()


def test_a_cookie_of_a_device_that_never_was_opens_nothing(network: Flask, phone: HttpClient, shop: Shop) -> None:
    scan(phone, word_of(network))
    with phone.client.session_transaction(base_url=f"http://{HOST}") as cookie:
        genuine = cookie["device"]
    assert device_sessions.device_for_token(shop, genuine) is not None
    number = genuine.partition(".")[0]
    for shown in ("", "7.x", f"{number}.", f"{number}.x", f"²{genuine}", "9" * 40, None, 7, f"{genuine}x"):
        assert device_sessions.device_for_token(shop, shown) is None


def test_the_code_is_shown_to_those_who_are_in_and_reads_as_the_address(
    network: Flask, phone: HttpClient, desk: HttpClient, shop: Shop
) -> None:
    assert "qr" not in phone.get("/sign-in").text
    for path in ("/", "/settings/devices"):
        page = desk.get(path).text
        assert read_code(page) == f"HTTP://{HOST}/J/{word_of(network)}"
        assert word_of(network) not in page, "the word itself stands nowhere but in the code"
    shop.save_settings(replace(shop.settings(), base_url="http://rack.example:8765"))
    assert read_code(desk.get("/").text).startswith("HTTP://RACK.EXAMPLE:8765/J/")


def read_code(page: str) -> str:
    """What a scanner reads from the drawing on a page."""
    found = re.search(r'<svg class="qr" viewBox="0 0 (\d+) .*? d="(M[^"]*z)"/></svg>', page, re.DOTALL)
    assert found
    side, path = int(found[1]), found[2]
    picture = Image.new("L", (side, side), 255)
    for x, y, wide in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", path):
        picture.paste(0, (int(x), int(y), int(x) + int(wide), int(y) + 1))
    [read] = zxingcpp.read_barcodes(picture.resize((side * 6, side * 6), Image.Resampling.NEAREST))
    return read.text


def test_a_shop_on_its_own_computer_shows_no_code_and_says_how_to_open_it(visitor: HttpClient) -> None:
    assert "Let a phone in" not in visible_text(visitor.get("/"))
    words = visible_text(visitor.get("/settings/devices"))
    assert "Served to this computer alone" in words
    assert "rackful serve --host 0.0.0.0" in words
    assert visitor.get("/j/00000000000000000000").status_code == 410


def test_a_browser_that_is_in_needs_no_code(network: Flask, desk: HttpClient) -> None:
    word = word_of(network)
    assert desk.get(f"/J/{word}").headers["Location"] == "/"
    assert word_of(network) == word


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        (" \n ", "The device has no name. Type one by which you will know it in the list, such as Saw phone."),
        ("x" * 41, "The name has 41 letters, and 40 fit. Shorten it."),
    ],
)
def test_a_name_that_won_t_do_is_reported_and_uses_up_nothing(
    network: Flask, phone: HttpClient, typed: str, sentence: str
) -> None:
    word = word_of(network)
    phone.get(f"/J/{word}")
    answer = phone.post("/pair", {"name": typed}, page="/pair")
    assert answer.status_code == 422
    assert sentence in visible_text(answer)
    with pytest.raises(InvalidDeviceName):
        device_sessions.read_name(typed)
    assert phone.post("/pair", {"name": "Saw phone"}, page="/pair").status_code == 303


def test_like_devices_are_reported_apart_by_a_number(network: Flask, desk: HttpClient, shop: Shop) -> None:
    for last in (77, 78):
        HttpClient(network, HOST, f"192.168.1.{last}").post("/sign-in", {"phrase": PHRASE}, page="/sign-in")
    names = {device.name for device in device_sessions.paired_devices(shop, mark(shop))}
    assert names == {"Computer", "Computer 2", "Computer 3"}


@pytest.fixture
def log(network: Flask) -> Iterator[io.StringIO]:
    """What the program writes down of its faults."""
    written = io.StringIO()
    handler = logging.StreamHandler(written)
    root = logging.getLogger()
    root.addHandler(handler)
    yield written
    root.removeHandler(handler)


def test_the_word_comes_into_no_log_even_when_the_page_breaks(
    network: Flask, phone: HttpClient, log: io.StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    word = word_of(network)

    def broken(*_: object) -> bool:
        raise RuntimeError("broken for a test")

    monkeypatch.setattr(PairingCodes, "is_valid", broken)
    assert phone.get(f"/J/{word}").status_code == 500
    assert "broken for a test" in log.getvalue() and "Exception on /j/…" in log.getvalue()
    assert word not in log.getvalue()


def test_last_seen_is_not_worth_a_page_on_a_full_disk(
    network: Flask, phone: HttpClient, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    from inventory.storage.errors import StorageFault

    scan(phone, word_of(network))
    clock.add(minutes=30)

    def full(*_: object) -> None:
        raise StorageFault("The disk is full.")

    monkeypatch.setattr(device_sessions, "mark_seen", full)
    assert phone.get("/saw").status_code == 200


def test_tags_of_a_former_address_still_come_to_the_shop(network: Flask, desk: HttpClient, shop: Shop) -> None:
    for address in ("http://rack.example:8765", "http://rackful-yard.local:8765"):
        shop.update_settings(lambda now, to=address: now.changed({"base_url": to}))  # type: ignore[misc]
    for host in ("rack.example:8765", "rackful-yard.local:8765"):
        answer = HttpClient(network, host, "192.168.1.77").get("/T/0000011")
        assert (answer.status_code, answer.headers["Location"]) == (303, "/sign-in?next=/T/0000011")
    assert HttpClient(network, "other.example", "192.168.1.77").get("/T/0000011").status_code == 400


def test_an_announced_name_is_answered_offered_and_put_on_the_tags(
    network: Flask, desk: HttpClient, shop: Shop
) -> None:
    named = HttpClient(network, "rackful-yard.local:8765", "192.168.1.77")
    assert named.get("/sign-in").status_code == 400
    access_control.allowed_hosts(network).announced_names = frozenset({"rackful-yard.local"})
    addresses.server_address_of(network).name = "rackful-yard.local"
    assert named.get("/sign-in").status_code == 200
    page = desk.get("/settings/devices")
    address = re.search(r'name="address" value="([^"]+)"', page.text)
    assert address and address[1] == "http://rackful-yard.local:8765"
    assert "http://rackful-yard.local:8765, which stays the same" in visible_text(desk.get("/settings"))
    desk.post("/settings/devices/address", {"address": address[1]}, page="/settings/devices")
    assert shop.settings().base_url == address[1]
    assert "Tags open http://rackful-yard.local:8765 ." in visible_text(desk.get("/settings/devices"))


def test_a_session_ends_after_half_a_year(network: Flask) -> None:
    assert network.permanent_session_lifetime == timedelta(days=180)


@pytest.mark.browser
def test_a_person_sees_the_code_joins_by_name_and_turns_a_device_away(
    chromium: Browser, shop: Shop, app_on_host: Callable[[str], Flask]
) -> None:
    shop.save_settings(replace(shop.settings(), pass_phrase_hash=generate_password_hash(PHRASE, "pbkdf2:sha256:1")))
    app = app_on_host("0.0.0.0")
    with (
        serve_app(app) as address,
        browser_page(chromium, DESK, bypass_csp=True) as desk,
        browser_page(chromium, PHONE, bypass_csp=True, user_agent=PHONE_SAYS["User-Agent"]) as phone,
    ):
        desk.goto(f"{address}/sign-in")
        desk.fill("#field-phrase", PHRASE)
        desk.click("button")
        desk.click("text=Let a phone in")
        assert desk.locator(".qr").is_visible()
        assert accessibility_violations(desk) == []
        phone.goto(f"{address}/J/{word_of(app)}")
        assert phone.url == f"{address}/pair"
        assert accessibility_violations(phone) == []
        assert phone.input_value("#field-name").startswith("Phone")
        phone.click("text=Let this device in")
        assert "Phone is in." in phone.locator(".flashes").inner_text()
        for page in (desk, phone):
            page.goto(f"{address}/settings/devices")
            assert (overflowing_elements(page), small_targets(page)) == ([], [])
        assert accessibility_violations(phone) == []
        desk.click("button[aria-label='Turn away Phone']")
        phone.goto(f"{address}/J/00000000000000000000")
        assert accessibility_violations(phone) == []
        phone.goto(f"{address}/saw")
        assert phone.url == f"{address}/sign-in?next=/saw"
