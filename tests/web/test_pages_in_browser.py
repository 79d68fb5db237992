"""What a person sees: no fault found by axe, nothing to scroll sideways, targets for a thumb, light and dark."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from flask import Flask
from playwright.sync_api import Browser
from werkzeug.security import generate_password_hash

from inventory.services.rack import queries
from inventory.services.rack.queries import ShopSummary
from inventory.shop import Shop
from tests.web.browser import (
    DESK,
    PHONE,
    SMALL_PHONE,
    accessibility_violations,
    browser_page,
    overflowing_elements,
    serve_app,
    small_targets,
)

pytestmark = pytest.mark.browser
PAGES = ("/", "/settings", "/components", "/no/such/page")


@pytest.fixture
def busy(monkeypatch: pytest.MonkeyPatch) -> None:
    """A shop where something waits everywhere."""
    shop_summary = ShopSummary(
        tags=86, pieces=131, volume=123_456_789, labels_waiting=4, boards_set_aside=2, boards_cut=1
    )
    monkeypatch.setattr(queries, "shop_summary", lambda shop: shop_summary)


@pytest.mark.usefixtures("busy")
@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("screen", [PHONE, DESK], ids=["phone", "desk"])
def test_axe_finds_nothing(chromium: Browser, live_url: str, screen: dict[str, Any], colours: str) -> None:
    with browser_page(chromium, screen, color_scheme=colours, bypass_csp=True) as page:
        for path in PAGES:
            page.goto(live_url + path)
            assert accessibility_violations(page) == [], path


def test_axe_finds_nothing_on_a_rejected_form_and_the_first_fault_has_the_focus(
    chromium: Browser, live_url: str
) -> None:
    with browser_page(chromium, PHONE, bypass_csp=True) as page:
        page.goto(f"{live_url}/settings")
        page.fill("#field-rip_kerf", "1/0")
        page.fill("#field-species_prices", "ash twelve")
        page.click("text=Save the shop's settings")
        assert page.locator("#fault-species_prices").is_visible()
        assert page.locator("#faults").evaluate("element => element === document.activeElement")
        assert page.input_value("#field-rip_kerf") == "1/0"
        assert accessibility_violations(page) == []
        page.click("#faults >> text=Rip kerf")
        assert page.locator("#field-rip_kerf").evaluate("element => element === document.activeElement")


def test_axe_finds_nothing_at_the_door(chromium: Browser, app_on_host: Callable[[str], Flask], shop: Shop) -> None:
    shop.save_settings(replace(shop.settings(), pass_phrase_hash=generate_password_hash("a phrase", "pbkdf2:sha256:1")))
    with serve_app(app_on_host("0.0.0.0")) as address, browser_page(chromium, PHONE, bypass_csp=True) as page:
        page.goto(f"{address}/settings")
        assert page.url == f"{address}/sign-in?next=/settings"
        assert accessibility_violations(page) == []
        page.fill("#field-phrase", "wrong")
        page.click("text=Sign in >> nth=-1")
        assert accessibility_violations(page) == []
        page.fill("#field-phrase", "a phrase")
        page.click("button")
        assert page.url == f"{address}/settings"


@pytest.mark.usefixtures("busy")
@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_nothing_scrolls_sideways_on_the_smallest_phone_and_a_thumb_finds_everything(
    chromium: Browser, live_url: str, scripts: bool
) -> None:
    with browser_page(chromium, SMALL_PHONE, java_script_enabled=scripts) as page:
        for path in PAGES:
            page.goto(live_url + path)
            assert overflowing_elements(page) == [], path
            assert small_targets(page) == [], path


@pytest.mark.usefixtures("busy")
def test_the_three_places_are_seen_without_scrolling_on_a_phone(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, PHONE) as page:
        page.goto(live_url)
        bar = page.locator("nav.places").bounding_box()
        last = page.locator("nav.line a >> nth=2").bounding_box()
        assert bar and last
        assert last["y"] + last["height"] <= bar["y"]


def test_pages_keep_their_own_policy(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        said: list[str] = []
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        for path in ("/", "/settings", "/components"):
            page.goto(live_url + path)
        assert said == []


def test_the_colors_chosen_for_a_browser_win_over_the_devices(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK, color_scheme="dark") as page:
        page.goto(f"{live_url}/settings")
        ground = "getComputedStyle(document.body).backgroundColor"
        dark = page.evaluate(ground)
        page.check("input[name=scheme][value=light]", force=True)
        page.click("text=Use these colours")
        assert page.locator(".flashes").inner_text() == "This screen: light."
        assert page.evaluate(ground) != dark


def test_a_form_is_sent_once_however_often_it_is_tapped(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK) as page:
        page.goto(f"{live_url}/settings")
        sent: list[str] = []
        page.on("request", lambda request: sent.append(request.method) if request.method == "POST" else None)
        form = 'form[action="/settings"]'
        page.evaluate(f"() => {{ const f = document.querySelector('{form}'); f.requestSubmit(); f.requestSubmit(); }}")
        page.wait_for_selector(".flashes")
        assert sent == ["POST"]


def test_on_paper_only_the_content_is_left(chromium: Browser, live_url: str) -> None:
    with browser_page(chromium, DESK, color_scheme="dark") as page:
        page.goto(f"{live_url}/components")
        page.emulate_media(media="print")
        assert not page.locator("header.top").is_visible()
        assert not page.locator(".actionbar").is_visible()
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
