"""Who may speak to the app: hosts, forged forms, passphrase, sizes, headers."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from flask import Flask, request
from werkzeug.security import generate_password_hash

from inventory.settings import Settings
from inventory.shop import Shop
from inventory.web.access import access_control
from inventory.web.access.known_hosts import AllowedHosts, local_addresses, parse_host
from inventory.web.access.sign_in import (
    FIRST_WAIT,
    FREE_ATTEMPTS,
    MAX_WAIT,
    AttemptLimiter,
    InvalidPassphrase,
    hash_new_passphrase,
)
from tests.web.visitor import HttpClient, visible_text

PHRASE = "seven planes and a marking knife"
REFUSED_NAME = (
    "Rackful is not served under this name, so it does not answer to it. Open it by the address that it printed "
    "when it started, or set this address under Settings."
)


@pytest.fixture
def phrase(shop: Shop) -> str:
    """A shop with a passphrase."""
    shop.save_settings(replace(shop.settings(), pass_phrase_hash=generate_password_hash(PHRASE, "pbkdf2:sha256:1")))
    return PHRASE


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "127.0.0.5", "::1", "[::1]", "shop.localhost"])
def test_a_shop_without_a_pass_phrase_may_be_served_to_its_own_computer(host: str) -> None:
    access_control.check_host(host, Settings())


@pytest.mark.parametrize("host", ["0.0.0.0", "", "::", "192.168.1.20", "rack.local"])
def test_a_shop_without_a_pass_phrase_is_not_served_to_the_network(host: str) -> None:
    with pytest.raises(access_control.UnsafeHost) as refused:
        access_control.check_host(host, Settings())
    assert str(refused.value) == (
        f'"{host}" lets the whole network in, and this shop has no pass phrase. '
        'Set one with "rackful passphrase" or under Settings, then serve to the network.'
    )
    access_control.check_host(host, Settings(pass_phrase_hash="some hash"))


def test_no_app_is_made_for_the_network_without_a_pass_phrase(app_on_host: Callable[[str], Flask]) -> None:
    with pytest.raises(access_control.UnsafeHost):
        app_on_host("0.0.0.0")


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8765", "192.168.1.20", "127.0.0.1.evil.example", ""])
def test_a_name_that_the_shop_is_not_served_under_gets_one_sentence(app: Flask, shop: Shop, host: str) -> None:
    shop.save_settings(replace(shop.settings(), shop_name="Three Ash Yard"))
    answer = HttpClient(app).get("/", headers={"Host": host})
    assert answer.status_code == 400
    assert REFUSED_NAME in visible_text(answer)
    assert "Three Ash Yard" not in answer.text


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1:8765", "[::1]:8765", "LOCALHOST"])
def test_loopback_names_are_answered(visitor: HttpClient, host: str) -> None:
    assert visitor.get("/settings", headers={"Host": host}).status_code == 200


def test_a_host_header_that_is_no_name_gets_a_sentence_and_no_traceback(visitor: HttpClient) -> None:
    for host in ("a b", "[::1", "ex%ample", "a/b", "@", "localhost@evil.example"):
        answer = visitor.get("/settings", headers={"Host": host})
        assert answer.status_code == 400, host
        assert "Traceback" not in answer.text


def test_the_address_on_the_tags_is_a_name_of_the_shop_but_asks_for_the_phrase(
    visitor: HttpClient, shop: Shop, phrase: str
) -> None:
    shop.save_settings(replace(shop.settings(), base_url="https://rack.example:8443"))
    answer = visitor.get("/settings?a=1", headers={"Host": "rack.example:8443"})
    assert (answer.status_code, answer.headers["Location"]) == (303, "/sign-in?next=/settings?a%3D1")


def test_an_open_shop_is_known_by_the_addresses_of_its_machine_and_looks_for_new_ones_now_and_then() -> None:
    now = 100.0
    addresses = frozenset({"192.168.1.20"})
    hosts = AllowedHosts("0.0.0.0", addresses=lambda: addresses, clock=lambda: now)
    assert hosts.allows("192.168.1.20", "") and not hosts.allows("192.168.1.21", "")
    addresses = frozenset({"192.168.1.21"})
    now += 10
    assert not hosts.allows("192.168.1.21", "")
    now += 30
    assert hosts.allows("192.168.1.21", "") and not hosts.allows("192.168.1.20", "")


def test_a_shop_on_loopback_does_not_answer_to_the_machines_address() -> None:
    hosts = AllowedHosts("127.0.0.1", addresses=lambda: frozenset({"192.168.1.20"}))
    assert not hosts.allows("192.168.1.20", "")


def test_the_machine_knows_its_own_name() -> None:
    assert local_addresses()
    assert all(address == address.lower() and "%" not in address for address in local_addresses())


def test_names_are_read_from_host_headers() -> None:
    assert [parse_host(given) for given in ("Rack.Local.:80", "[FE80::1]:80", "a b", "[", "")] == [
        "rack.local",
        "fe80::1",
        "",
        "",
        "",
    ]


def test_a_form_of_another_site_changes_nothing(visitor: HttpClient, shop: Shop) -> None:
    before = shop.settings()
    answer = visitor.post_without_token("/settings", {"shop_name": "Not ours"})
    assert answer.status_code == 400
    assert "This form was not opened here in this browser, or too long ago, so nothing was saved." in visible_text(
        answer
    )
    assert shop.settings() == before


def test_a_token_of_another_browser_is_not_taken(app: Flask, visitor: HttpClient, shop: Shop) -> None:
    theirs = HttpClient(app).token("/settings")
    visitor.get("/settings")
    assert visitor.post_without_token("/settings/screen", {"scheme": "dark", "csrf_token": theirs}).status_code == 400


def test_every_answer_carries_the_guarding_headers(visitor: HttpClient) -> None:
    for path in ("/settings", "/no/such/page", "/static/css/base.css"):
        headers = visitor.get(path).headers
        assert headers["Content-Security-Policy"] == (
            "default-src 'self'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; "
            "frame-ancestors 'none'; form-action 'self'"
        )
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "same-origin"


def test_pages_hold_no_inline_script_style_or_handler(visitor: HttpClient) -> None:
    for path in ("/", "/settings", "/components", "/no/such/page"):
        text = visitor.get(path).text
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text), path
        assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", text)), path
        assert not re.findall(r'(?:src|href)="(?:https?:)?//', text), path


def test_the_session_cookie_is_out_of_reach_of_scripts_and_other_sites(visitor: HttpClient) -> None:
    cookie = visitor.get("/settings").headers["Set-Cookie"]
    assert "HttpOnly" in cookie and "SameSite=Lax" in cookie and "Secure" not in cookie
    secure = HttpClient(visitor.app).get("/settings", base_url="https://localhost").headers["Set-Cookie"]
    assert "Secure" in secure


def test_two_shops_on_one_machine_keep_their_sessions_apart(
    app: Flask, tmp_path_factory: pytest.TempPathFactory
) -> None:
    from inventory.web import create_app

    with Shop.open(tmp_path_factory.mktemp("other")) as other:
        assert create_app(other).config["SESSION_COOKIE_NAME"] != app.config["SESSION_COOKIE_NAME"]


TOO_MUCH = (
    "More was sent than is taken at once: 32 MB in all, 1 MB of it typed. Nothing was saved. Go back and send less."
)


def multipart(notes: bytes, picture: bytes) -> dict[str, object]:
    """The body of a form with notes and a picture, made by hand: werkzeug's own leaves a temporary file open."""
    part = b'--edge\r\nContent-Disposition: form-data; name="%b"%b\r\n\r\n%b\r\n'
    body = part % (b"notes", b"", notes) + part % (b"picture", b'; filename="p.jpg"', picture) + b"--edge--\r\n"
    return {"input_stream": io.BytesIO(body), "content_type": "multipart/form-data; boundary=edge"}


def test_a_request_that_is_too_large_gets_a_sentence(visitor: HttpClient) -> None:
    answers = [
        visitor.client.post("/settings", **multipart(b"short", bytes(access_control.MAX_REQUEST_BYTES))),
        visitor.client.post("/settings", **multipart(b"x" * (access_control.MAX_FORM_BYTES + 1), b"")),
    ]
    assert [answer.status_code for answer in answers] == [413, 413]
    assert all(TOO_MUCH in visible_text(answer) for answer in answers)


def test_a_form_with_photos_is_read_to_its_end_and_keeps_the_beginning_of_a_file_that_is_too_large(shop: Shop) -> None:
    app = Flask("photos")
    app.extensions["rackful.shop"] = shop
    access_control.protect(app, shop.settings(), "127.0.0.1")
    app.config["WTF_CSRF_ENABLED"] = False
    seen: list[tuple[str, int]] = []

    @app.post("/with-photos")
    @access_control.accepts_uploads
    def with_photos() -> str:
        seen.append((request.form["notes"], len(request.files["picture"].read())))
        return "read"

    huge = multipart(b"typed beside it", bytes(access_control.MAX_REQUEST_BYTES + 5_000_000))
    assert app.test_client().post("/with-photos", **huge).text == "read"
    assert seen == [("typed beside it", access_control.MAX_FILE_BYTES)]


def test_from_the_network_every_page_asks_for_the_phrase(app_on_host: Callable[[str], Flask], phrase: str) -> None:
    phone = HttpClient(app_on_host("192.168.1.20"), "192.168.1.20:8765", "192.168.1.77")
    for path in ("/", "/settings", "/components", "/t/0000011", "/no/such/page"):
        answer = phone.get(path)
        assert (answer.status_code, answer.headers["Location"]) == (303, f"/sign-in?next={path}"), path
    assert phone.get("/static/css/base.css").status_code == 200
    assert phone.get("/sign-in").status_code == 200


def test_even_the_shops_own_computer_gives_the_phrase_while_the_shop_is_open(
    app_on_host: Callable[[str], Flask], phrase: str
) -> None:
    assert HttpClient(app_on_host("0.0.0.0")).get("/settings").status_code == 303


def test_a_phone_that_gives_the_phrase_comes_to_the_page_it_asked_for_and_stays_in(
    app_on_host: Callable[[str], Flask], phrase: str
) -> None:
    phone = HttpClient(app_on_host("192.168.1.20"), "192.168.1.20:8765", "192.168.1.77")
    answer = phone.post("/sign-in", {"phrase": f" {phrase} ", "next": "/settings"}, page="/sign-in?next=/settings")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/settings")
    assert phone.get("/settings").status_code == 200
    assert "Max-Age" in answer.headers["Set-Cookie"] or "Expires" in answer.headers["Set-Cookie"]


@pytest.mark.parametrize("target", ["//evil.example", "https://evil.example", "/\\evil.example", "", "/a\nb", "rack"])
def test_nobody_is_sent_elsewhere_after_signing_in(
    app_on_host: Callable[[str], Flask], phrase: str, target: str
) -> None:
    phone = HttpClient(app_on_host("192.168.1.20"), "192.168.1.20", "192.168.1.77")
    answer = phone.post("/sign-in", {"phrase": phrase, "next": target}, page="/sign-in")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/")


def test_a_wrong_phrase_is_reported_beside_the_field(app_on_host: Callable[[str], Flask], phrase: str) -> None:
    phone = HttpClient(app_on_host("192.168.1.20"), "192.168.1.20", "192.168.1.77")
    answer = phone.post("/sign-in", {"phrase": phrase.upper(), "next": "/rack"}, page="/sign-in")
    assert answer.status_code == 422
    sentence = "That is not the shop's pass phrase. Type it again; capitals and spaces between the words count."
    assert sentence in visible_text(answer)
    assert 'name="next" value="/rack"' in answer.text
    assert phone.get("/settings").status_code == 303


def test_many_wrong_tries_are_slowed_down_and_a_right_one_in_the_pause_is_not_looked_at(
    app_on_host: Callable[[str], Flask], phrase: str
) -> None:
    app = app_on_host("192.168.1.20")
    phone = HttpClient(app, "192.168.1.20", "192.168.1.77")
    for _ in range(FREE_ATTEMPTS):
        assert phone.post("/sign-in", {"phrase": "wrong"}, page="/sign-in").status_code == 422
    answer = phone.post("/sign-in", {"phrase": phrase}, page="/sign-in")
    assert answer.status_code == 429
    assert re.search(
        r"Too many wrong tries from this device\. Wait 1[456] seconds, then type the pass phrase again\.",
        visible_text(answer),
    )
    neighbour = HttpClient(app, "192.168.1.20", "192.168.1.78")
    assert neighbour.post("/sign-in", {"phrase": phrase}, page="/sign-in").status_code == 303


def test_each_further_wrong_try_doubles_the_wait_up_to_a_quarter_of_an_hour() -> None:
    now = 0.0
    tries = AttemptLimiter(lambda: now)
    waits = []
    for _ in range(FREE_ATTEMPTS + 8):
        tries.record_failure("192.168.1.77")
        waits.append(tries.wait("192.168.1.77"))
        now += waits[-1]
    assert waits[: FREE_ATTEMPTS - 1] == [0] * (FREE_ATTEMPTS - 1)
    assert waits[FREE_ATTEMPTS - 1 : FREE_ATTEMPTS + 2] == [FIRST_WAIT, 2 * FIRST_WAIT, 4 * FIRST_WAIT]
    assert waits[-1] == MAX_WAIT
    tries.record_success("192.168.1.77")
    tries.record_failure("192.168.1.77")
    assert tries.wait("192.168.1.77") == 0


def test_the_addresses_of_one_subscriber_count_together() -> None:
    tries = AttemptLimiter(lambda: 0.0)
    for last in range(FREE_ATTEMPTS):
        tries.record_failure(f"2001:db8:1:2::{last}")
    assert tries.wait("2001:db8:1:2:ffff::1") == FIRST_WAIT
    assert tries.wait("2001:db8:1:3::1") == 0


def test_signing_out_ends_this_browser_alone(app_on_host: Callable[[str], Flask], phrase: str) -> None:
    app = app_on_host("192.168.1.20")
    phones = [HttpClient(app, "192.168.1.20", f"192.168.1.{last}") for last in (77, 78)]
    for phone in phones:
        phone.post("/sign-in", {"phrase": phrase}, page="/sign-in")
    assert phones[0].post("/sign-out", {}).status_code == 303
    assert [phone.get("/settings").status_code for phone in phones] == [303, 200]


def test_signing_out_everywhere_leaves_only_the_browser_that_asked(
    app_on_host: Callable[[str], Flask], phrase: str
) -> None:
    app = app_on_host("192.168.1.20")
    phones = [HttpClient(app, "192.168.1.20", f"192.168.1.{last}") for last in (77, 78)]
    for phone in phones:
        phone.post("/sign-in", {"phrase": phrase}, page="/sign-in")
    assert phones[0].post("/sign-out-everywhere", {}).status_code == 303
    assert [phone.get("/settings").status_code for phone in phones] == [200, 303]


def test_a_form_sent_after_the_session_ended_says_how_to_keep_what_was_typed(
    app_on_host: Callable[[str], Flask], phrase: str
) -> None:
    phone = HttpClient(app_on_host("192.168.1.20"), "192.168.1.20", "192.168.1.77")
    answer = phone.post_without_token("/settings", {"shop_name": "typed"})
    assert answer.status_code == 403
    assert (
        "This browser is not signed in any more, so nothing was saved. Open the shop in a second tab and sign in "
        "there, then come back to this one, go back and send the form again."
    ) in visible_text(answer)


def test_a_forwarded_request_is_not_taken_for_one_from_this_machine(visitor: HttpClient, shop: Shop) -> None:
    answer = visitor.get("/settings", headers={"X-Forwarded-For": "203.0.113.9"})
    assert answer.status_code == 403
    assert (
        "This shop has no pass phrase, so it opens on its own computer alone. Open it there, set a pass phrase "
        "under Settings, then come back."
    ) in visible_text(answer)


def test_a_pass_phrase_is_long_enough_and_typed_twice_alike() -> None:
    faults = []
    for typed, again in (("short", "short"), ("x" * 201, "x" * 201), ("long enough now", "long enough, no")):
        with pytest.raises(InvalidPassphrase) as fault:
            hash_new_passphrase(typed, again)
        faults.append((fault.value.what, str(fault.value)))
    assert faults == [
        (
            "phrase",
            "A pass phrase has at least 10 letters, this one has 5. "
            "Take four or five words that don't belong together.",
        ),
        ("phrase", "A pass phrase has at most 200 letters. Shorten it."),
        ("again", "The two are not the same. Type the new pass phrase twice."),
    ]
