"""The settings page: every setting is shown, kept exactly, or refused beside its field with all else as typed."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from html import unescape

import pytest
from flask import Flask
from werkzeug.security import check_password_hash, generate_password_hash
from werkzeug.test import TestResponse

from inventory.core.allowances import ALLOWANCE_MEANINGS, ALLOWANCE_NAMES
from inventory.core.lengths import Display, Nearest, inches, millimeters
from inventory.core.workshop import Sawn, Workshop
from inventory.fill.request import Preference
from inventory.settings import Settings
from inventory.shop import Shop
from inventory.web.settings import PAGE_SETTINGS
from labels import STOCKS
from tests.web.visitor import HttpClient, visible_text

PHRASE = "seven planes and a marking knife"


def form_of(page: TestResponse) -> dict[str, str]:
    """The shop's form as the page shows it."""
    form = re.search(r'<form method="post" action="/settings".*?</form>', page.text, re.DOTALL)
    assert form
    fields: dict[str, str] = {}
    for tag in re.findall(r"<input[^>]*>", form[0]):
        attributes = dict(re.findall(r'(\w+)="([^"]*)"', tag))
        if attributes["type"] != "radio" or re.search(r"\schecked", tag):
            fields[attributes["name"]] = unescape(attributes["value"])
    for name, text in re.findall(r'<textarea[^>]*name="(\w+)"[^>]*>\n(.*?)</textarea>', form[0], re.DOTALL):
        fields[name] = unescape(text)
    for name, options in re.findall(r'<select[^>]*name="(\w+)"[^>]*>(.*?)</select>', form[0], re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', options)
        assert chosen, name
        fields[name] = unescape(chosen[1])
    return fields


def save(visitor: HttpClient, **typed: str) -> TestResponse:
    """Opens the page, types some of the fields again, sends it."""
    return visitor.post_without_token("/settings", form_of(visitor.get("/settings")) | typed)


def faults_of(page: TestResponse) -> dict[str, str]:
    """The sentences beside the fields."""
    found = re.findall(r'<p class="fault" id="fault-(\w+)">.*?<span>(.*?)</span>', page.text, re.DOTALL)
    return {name: unescape(sentence) for name, sentence in found}


def test_the_page_shows_every_setting_and_every_allowance_with_its_meaning_and_default(visitor: HttpClient) -> None:
    page = visitor.get("/settings")
    assert set(form_of(page)) == {*PAGE_SETTINGS, "csrf_token", "shown"}
    for name in ALLOWANCE_NAMES:
        meaning = ALLOWANCE_MEANINGS[name]
        assert f"{meaning[0].upper()}{meaning[1:]}. Usual: " in visible_text(page), name
    assert form_of(page)["rip_kerf"] == "1/8"
    assert form_of(page)["nearest"] == "1/16 in"


def test_what_is_saved_unchanged_stays_exactly_as_it_was(visitor: HttpClient, shop: Shop) -> None:
    odd = replace(
        shop.settings(),
        storage_limit=94_389_000,
        display=Display(Nearest.TENTH_MM),
        allowances=replace(shop.settings().allowances, rip_kerf=inches("3/64"), end_trim=millimeters("20.001")),
        workshop=Workshop(
            planer_width=inches("12 3/64"),
            spread_rate=Fraction("2.5"),
            open_time=Fraction("7.25"),
            driest=Fraction("30.5"),
            dampest=Fraction(70),
            celsius=Fraction(190, 9),
            sawn=Sawn.QUARTER,
        ),
        label_stock=STOCKS[-1].key,
    )
    shop.save_settings(odd)
    assert save(visitor).status_code == 303
    assert shop.settings() == odd


def test_every_setting_is_kept_as_typed(visitor: HttpClient, shop: Shop) -> None:
    answer = save(
        visitor,
        shop_name="Three  Ash Yard",
        base_url="http://192.168.1.20:8765/",
        planer_width="12 1/2",
        spread_rate="4",
        open_time="10 min",
        sawn="flat-sawn",
        driest="25",
        dampest="60 %",
        temperature="70",
        prefer="clear-out",
        nearest="1/64 in",
        label_stock=STOCKS[1].key,
        rip_kerf="3/32",
        keep_length="200 mm",
    )
    assert (answer.status_code, answer.headers["Location"]) == (303, "/settings")
    after = shop.settings()
    assert (after.shop_name, after.base_url, after.prefer) == (
        "Three Ash Yard",
        "http://192.168.1.20:8765",
        Preference.OLDEST_FIRST,
    )
    assert after.label_stock == STOCKS[1].key
    assert after.workshop == Workshop(
        inches("12 1/2"), Fraction(4), Fraction(10), Fraction(25), Fraction(60), Fraction(190, 9), Sawn.FLAT
    )
    assert after.display == Display(Nearest.SIXTY_FOURTH)
    assert (after.allowances.rip_kerf, after.allowances.keep_length) == (inches("3/32"), millimeters("200"))
    page = visitor.get("/settings")
    assert "The settings are saved." in visible_text(page)
    assert "<title>Settings · Three Ash Yard</title>" in page.text


def test_each_wrong_value_is_reported_beside_its_field_and_all_else_stays_as_typed(
    visitor: HttpClient, shop: Shop
) -> None:
    before = shop.settings()
    typed = {
        "shop_name": " Ash & Sons ",
        "rip_kerf": "1/0",
        "planer_width": "",
        "base_url": "rack",
        "label_stock": "no such stock",
        "min_strip_width": "13",
        "end_trim": "2 m",
        "open_time": "soon",
        "driest": "80",
        "dampest": "70",
    }
    answer = save(visitor, **typed)
    assert answer.status_code == 422
    faults = faults_of(answer)
    assert {name: faults[name] for name in faults if name != "label_stock"} == {
        "rip_kerf": '"1/0" is not a length: the fraction has 0 below the line. Type 23 1/2, 23.5 in or 597 mm.',
        "planer_width": "The size is missing. Type 23 1/2, 23.5 in or 597 mm.",
        "base_url": '"rack" is no address of a shop: http and a host are all it may have. '
        "Type it as http://192.168.1.20:8765, or leave it empty.",
        "min_strip_width": "min_strip_width is wider than max_strip_width: no strip could be ripped. Make it narrower.",
        "end_trim": "end_trim must be between 0 and 1000 mm. Check the unit.",
        "open_time": '"soon" is no number of minutes. Type one such as 5.',
        "dampest": "The driest air is as damp as the dampest or damper. Type the lower humidity as the driest.",
    }
    assert faults["label_stock"].startswith('"no such stock" ')
    assert "Nothing was saved yet: 8 answers need correction." in visible_text(answer)
    shown = form_of(answer)
    assert {name: shown[name] for name in typed} == typed
    assert shop.settings() == before


def test_two_limits_that_change_together_are_judged_together(visitor: HttpClient, shop: Shop) -> None:
    assert save(visitor, min_strip_width="5", max_strip_width="6").status_code == 303
    assert shop.settings().allowances.min_strip_width == inches("5")


def test_numbers_typed_before_the_unit_was_changed_keep_the_unit_they_were_typed_in(
    visitor: HttpClient, shop: Shop
) -> None:
    answer = save(visitor, nearest="0.1 mm", rip_kerf="3/32", resaw_kerf="1.2 mm", temperature="72.5")
    assert answer.status_code == 303
    after = shop.settings()
    assert after.display == Display(Nearest.TENTH_MM)
    assert after.allowances.rip_kerf == inches("3/32")
    assert after.allowances.resaw_kerf == millimeters("1.2")
    assert after.allowances.end_trim == inches("1")
    assert form_of(visitor.get("/settings"))["end_trim"] == "25.4"
    assert form_of(visitor.get("/settings"))["temperature"] == "22.5 °C"


def test_settings_that_somebody_changed_meanwhile_are_not_overwritten_unseen(
    app: Flask, visitor: HttpClient, shop: Shop
) -> None:
    mine = form_of(visitor.get("/settings")) | {"rip_kerf": "3/32"}
    save(HttpClient(app), resaw_kerf="3/64")
    answer = visitor.post_without_token("/settings", mine)
    assert answer.status_code == 409
    assert faults_of(answer) == {
        "rip_kerf": 'Saved meanwhile: "1/8". Save again to put yours in its place.',
        "resaw_kerf": 'Saved meanwhile: "3/64". Save again to put yours in its place.',
    }
    assert form_of(answer)["rip_kerf"] == "3/32"
    assert shop.settings().allowances.resaw_kerf == inches("3/64")
    assert visitor.post_without_token("/settings", form_of(answer) | {"resaw_kerf": "3/64"}).status_code == 303
    assert (shop.settings().allowances.rip_kerf, shop.settings().allowances.resaw_kerf) == (
        inches("3/32"),
        inches("3/64"),
    )


def test_of_two_who_save_at_the_same_moment_the_second_is_reported(
    visitor: HttpClient, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    form = form_of(visitor.get("/settings")) | {"rip_kerf": "3/32"}
    kept = shop.update_settings

    def somebody_first(change: Callable[[Settings], Settings]) -> Settings:
        kept(lambda now: replace(now, shop_name="Quicker"))
        return kept(change)

    monkeypatch.setattr(shop, "update_settings", somebody_first)
    answer = visitor.post_without_token("/settings", form)
    assert answer.status_code == 409
    assert (
        "Somebody saved other settings at the same moment, so yours were not saved. Look, and try again."
        in visible_text(answer)
    )
    assert shop.settings().shop_name == "Quicker"
    assert shop.settings().allowances.rip_kerf == inches("1/8")


def test_the_colors_are_this_browsers_own(app: Flask, visitor: HttpClient) -> None:
    assert visitor.post("/settings/screen", {"scheme": "dark"}).status_code == 303
    assert '<html lang="en" data-scheme="dark">' in visitor.get("/settings").text
    assert '<html lang="en" data-scheme="auto">' in HttpClient(app).get("/settings").text
    visitor.post("/settings/screen", {"scheme": "plaid"})
    assert 'data-scheme="dark"' in visitor.get("/settings").text


def test_a_pass_phrase_is_set_and_kept_as_a_hash_alone(visitor: HttpClient, shop: Shop) -> None:
    assert "The shop has none, so only this computer opens it." in visible_text(visitor.get("/settings"))
    answer = visitor.post("/settings/passphrase", {"phrase": PHRASE, "again": PHRASE})
    assert answer.status_code == 303
    kept = shop.settings().pass_phrase_hash
    assert check_password_hash(kept, PHRASE) and PHRASE not in kept
    assert "The new pass phrase holds from now on." in visible_text(visitor.get("/settings"))


def test_a_pass_phrase_that_will_not_do_is_reported_and_never_shown_again(visitor: HttpClient, shop: Shop) -> None:
    answer = visitor.post("/settings/passphrase", {"phrase": "tenon saw!", "again": "tenon saw?"})
    assert answer.status_code == 422
    assert faults_of(answer) == {"again": "The two are not the same. Type the new pass phrase twice."}
    assert "tenon saw" not in answer.text
    assert shop.settings().pass_phrase_hash == ""


def test_from_the_network_the_present_phrase_is_asked_for_and_the_others_are_signed_out(
    app_on_host: Callable[[str], Flask], shop: Shop
) -> None:
    shop.save_settings(replace(shop.settings(), pass_phrase_hash=generate_password_hash(PHRASE, "pbkdf2:sha256:1")))
    app = app_on_host("192.168.1.20")
    phones = [HttpClient(app, "192.168.1.20", f"192.168.1.{last}") for last in (77, 78)]
    for phone in phones:
        phone.post("/sign-in", {"phrase": PHRASE}, page="/sign-in")
    new = {"phrase": "four planes and a bevel", "again": "four planes and a bevel"}
    refused = phones[0].post("/settings/passphrase", {"present": "wrong", **new})
    assert refused.status_code == 422
    assert faults_of(refused) == {
        "present": "That is not the shop's pass phrase. Type it again; capitals and spaces between the words count."
    }
    assert phones[0].post("/settings/passphrase", {"present": PHRASE, **new}).status_code == 303
    assert [phone.get("/settings").status_code for phone in phones] == [200, 303]


def test_the_pass_phrase_can_be_taken_away_only_while_nobody_else_can_come_in(
    app_on_host: Callable[[str], Flask], visitor: HttpClient, shop: Shop
) -> None:
    shop.save_settings(replace(shop.settings(), pass_phrase_hash=generate_password_hash(PHRASE, "pbkdf2:sha256:1")))
    phone = HttpClient(app_on_host("192.168.1.20"), "192.168.1.20", "192.168.1.77")
    phone.post("/sign-in", {"phrase": PHRASE}, page="/sign-in")
    refused = phone.post("/settings/no-passphrase", {})
    assert refused.status_code == 422
    assert (
        "The shop is open to the network, so it keeps its pass phrase. Serve it to this computer alone first."
        in visible_text(refused)
    )
    assert shop.settings().pass_phrase_hash
    assert visitor.post("/settings/no-passphrase", {}).status_code == 303
    assert shop.settings().pass_phrase_hash == ""


@pytest.mark.parametrize("host", ["localhost", "192.168.1.20"])
def test_the_folder_is_shown_on_the_shops_own_computer_alone(
    app_on_host: Callable[[str], Flask], shop: Shop, host: str
) -> None:
    shop.save_settings(replace(shop.settings(), pass_phrase_hash=generate_password_hash(PHRASE, "pbkdf2:sha256:1")))
    browser = HttpClient(app_on_host("127.0.0.1" if host == "localhost" else host), host)
    if host != "localhost":
        browser.post("/sign-in", {"phrase": PHRASE}, page="/sign-in")
    assert (str(shop.folder) in browser.get("/settings").text) is (host == "localhost")
