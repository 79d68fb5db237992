"""Addresses that pages once had lead to those that they have now, for good."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from flask import Flask
from werkzeug.security import generate_password_hash

from inventory.shop import Shop
from inventory.web.former_addresses import FORMER_ADDRESSES
from tests.web.visitor import HttpClient

FORMER_PAGES = {
    "/batch": "/several-boards",
    "/batch/add": "/several-boards/add",
    "/batch/answer": "/several-boards/answer",
    "/usual": "/usual-boards",
    "/usual.json": "/usual-boards.json",
    "/usual/new": "/usual-boards/new",
    "/usual/1": "/usual-boards/1",
    "/rack/pile": "/rack/stock-levels",
    "/stocktake": "/stock-check",
    "/stocktake/1": "/stock-check/1",
    "/stocktake/1/finish": "/stock-check/1/finish",
    "/stocktake/asked": "/stock-check/unchecked",
    "/let-go": "/pruning",
    "/let-go/1": "/pruning/1",
    "/let-go/1/find": "/pruning/1/find",
    "/boards/1/order": "/boards/1/strip-order",
    "/boards/yield": "/boards/yield-report",
    "/labels/blank": "/labels/blank-tags",
    "/labels/blank/sheet": "/labels/blank-tags/sheet",
    "/labels/blank/tags.pdf": "/labels/blank-tags/tags.pdf",
    "/labels/jobs/1": "/labels/print-jobs/1",
    "/join": "/pair",
    "/patterns": "/components",
}
"""Every page that was moved."""


def route_of(app: Flask, address: str, method: str = "GET") -> str:
    endpoint, _ = app.url_map.bind("localhost").match(address, method=method)
    return str(endpoint)


@pytest.mark.parametrize(("former", "present"), FORMER_PAGES.items())
def test_a_former_page_leads_to_the_present_one_for_good(visitor: HttpClient, former: str, present: str) -> None:
    answer = visitor.get(f"{former}?tag=0000011&tag=a+%26%C3%A9")
    assert (answer.status_code, answer.location) == (308, f"{present}?tag=0000011&tag=a+%26%C3%A9")
    assert not route_of(visitor.app, present).startswith("former_addresses.")


@pytest.mark.parametrize(("former", "present"), FORMER_ADDRESSES.items())
def test_every_address_of_the_table_leads_to_one_that_is_served(app: Flask, former: str, present: str) -> None:
    former, present = former.replace("<int:number>", "1"), present.format(number=1)
    assert route_of(app, former) == "former_addresses.moved"
    served = {
        rule.endpoint
        for rule in app.url_map.iter_rules()
        if rule.rule.replace("<int:number>", "1").startswith(present) and not rule.endpoint.startswith("former_")
    }
    assert served


def test_a_form_of_a_page_opened_before_still_arrives(visitor: HttpClient) -> None:
    answer = visitor.post("/stocktake/1/seen", {"code": "0000011"}, page="/stock-check")
    assert (answer.status_code, answer.location) == (308, "/stock-check/1/seen")
    assert route_of(visitor.app, "/stock-check/1/seen", "POST") == "stock_check.seen"


def test_a_phone_that_is_not_signed_in_is_led_on_too(shop: Shop, app_on_host: Callable[[str], Flask]) -> None:
    shop.save_settings(replace(shop.settings(), pass_phrase_hash=generate_password_hash("a phrase", "pbkdf2:sha256:1")))
    phone = HttpClient(app_on_host("0.0.0.0"), address="192.0.2.7")
    assert (phone.get("/join").status_code, phone.get("/join").location) == (308, "/pair")


def test_every_blueprint_has_the_name_of_its_module(app: Flask) -> None:
    assert {name: each.import_name.rpartition(".")[2] for name, each in app.blueprints.items()} == {
        name: name for name in app.blueprints
    }
