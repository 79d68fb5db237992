"""The settings page: units, allowances, name and address of the shop, passphrase, colors of this browser.

`inventory.settings` checks the values.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, session, url_for
from werkzeug.wrappers import Response

from inventory.core.allowances import ALLOWANCE_MEANINGS, ALLOWANCE_NAMES, Allowances
from inventory.core.errors import Conflict
from inventory.core.lengths import InvalidLength, Nearest, Unit, exact_text, read_length, typed_text
from inventory.core.prices import InvalidPrice, prices_text, read_prices
from inventory.core.workshop import Sawn, Workshop
from inventory.cutting.costs import Preference
from inventory.services.labels import label_stocks
from inventory.settings import (
    TYPED_SETTINGS,
    InvalidSetting,
    Settings,
    read_temperature,
    temperature_text,
    workshop_as_typed,
)
from inventory.web.access import access_control, addresses
from inventory.web.access.known_hosts import lan_address
from inventory.web.access.sign_in import InvalidPassphrase, check_passphrase, hash_new_passphrase, suggested_device_name
from inventory.web.drawings.worth_chart import draw_worth
from inventory.web.forms import errors_by_field, render_rejected
from inventory.web.labels.label_sheet import stocks_by_paper
from inventory.web.request_context import current_settings, current_shop, update_settings
from inventory.web.template_filters import SCHEMES
from labels import DEFAULT_STOCK, Stock

blueprint = Blueprint("settings", __name__, url_prefix="/settings")

PAGE = "settings.html"
PAGE_SETTINGS = tuple(name for name in TYPED_SETTINGS if name not in ("storage_limit", "ask_after"))
"""The storage limit is set on the page of stock levels, and the months until a piece is listed at the stock check."""
LENGTHS = ("planer_width", *ALLOWANCE_NAMES)
GROUPS = (
    ("Blades", "What each cut turns to dust.", ("rip_kerf", "crosscut_kerf", "resaw_kerf")),
    (
        "Faces and edges",
        "What comes off a piece before it is glued.",
        ("rough_face", "finished_face", "planed_face", "edge_jointing", "leaf_clean"),
    ),
    (
        "The board after the glue-up",
        "What the glue-up has to be larger.",
        ("flattening", "end_trim", "side_trim", "row_trim"),
    ),
    (
        "What goes back on the rack",
        "A remainder is kept when it reaches all three.",
        ("keep_length", "keep_width", "keep_thickness"),
    ),
    (
        "Worth",
        "A piece as long and as wide as this is worth its full price by volume; shorter and narrower ones less.",
        ("prime_length", "prime_width"),
    ),
    (
        "Strips",
        "How wide, how thin and how short they may be.",
        ("max_strip_width", "min_strip_width", "thinnest_lamination", "shortest_machined"),
    ),
)
LABELS = {
    "nearest": "Lengths are shown in",
    "shop_name": "Name of the shop",
    "base_url": "Address that a tag opens",
    "label_stock": "Labels you print on",
    "prefer": "Look first for",
    "planer_width": "Width of the planer",
    "spread_rate": "Strips spread with glue in a minute",
    "open_time": "Open time of the glue",
    "sawn": "How most of the stock was sawn",
    "driest": "Driest air in the year",
    "dampest": "Dampest air in the year",
    "temperature": "Warmth of the room",
    "currency": "Currency",
    "species_prices": "Prices by species",
    **{name: name.replace("_", " ").capitalize() for name in ALLOWANCE_NAMES},
}
NEAREST_LABELS = {
    Nearest.SIXTEENTH: "Inches, to the nearest 1/16",
    Nearest.THIRTY_SECOND: "Inches, to the nearest 1/32",
    Nearest.SIXTY_FOURTH: "Inches, to the nearest 1/64",
    Nearest.TENTH_MM: "Millimetres, to the nearest 0.1",
}
PREFER_LABELS = {
    Preference.BEST_USE: "best use",
    Preference.LEAST_WASTE: "least waste",
    Preference.FEWEST_PIECES: "fewest pieces",
    Preference.LEAST_MILLING: "least milling",
    Preference.OLDEST_FIRST: "oldest first",
}
SAWN_LABELS = {
    Sawn.UNKNOWN: "not known, or some of each",
    Sawn.FLAT: "flat-sawn",
    Sawn.QUARTER: "quarter-sawn",
}
SCHEME_LABELS = {"auto": "As the device is set", "light": "Light", "dark": "Dark"}


@blueprint.get("")
def index() -> str:
    """The page."""
    return render_template(PAGE, **_page_context(as_typed(current_settings())), errors={})


@blueprint.post("")
def save() -> Response | tuple[str, int]:
    """Saves the shop's settings, all or none."""
    typed = {name: request.form.get(name, "") for name in PAGE_SETTINGS}
    # Browsers send line breaks as CR LF.
    typed["species_prices"] = typed["species_prices"].replace("\r\n", "\n")
    before = current_settings()
    if request.form.get("shown") != form_fingerprint(before):
        now = as_typed(before)
        errors = {
            name: f'Saved meanwhile: "{now[name]}". Save again to put yours in its place.'
            for name in PAGE_SETTINGS
            if now[name] != typed[name]
        }
        return render_rejected(PAGE, errors, **_page_context(typed), meanwhile=True, status=409)
    _, errors = read_settings(before, typed)
    if errors:
        return render_rejected(PAGE, errors, **_page_context(typed))
    update_settings(lambda now: _merge_settings(now, before, typed))
    flash("The settings are saved.")
    return redirect(url_for("settings.index"), 303)


@blueprint.post("/screen")
def screen() -> Response:
    """Saves the color scheme of this browser."""
    chosen = request.form.get("scheme", "")
    if chosen in SCHEMES:
        session.permanent = True
        session["scheme"] = chosen
        flash(f"This screen: {SCHEME_LABELS[chosen].lower()}.")
    return redirect(url_for("settings.index"), 303)


@blueprint.post("/passphrase")
def set_passphrase() -> Response | tuple[str, int]:
    """Sets a new passphrase; a request from the network must give the present one."""
    settings = current_settings()
    was_signed_in = access_control.signed_in()
    if access_control.sign_in_required():
        sentence, status = check_passphrase(request.form.get("present", ""))
        if sentence:
            return render_rejected(PAGE, {"present": sentence}, **_page_context(as_typed(settings)), status=status)
    try:
        phrase_hash = hash_new_passphrase(request.form.get("phrase", ""), request.form.get("again", ""))
    except InvalidPassphrase as error:
        return render_rejected(PAGE, errors_by_field(error), **_page_context(as_typed(settings)))
    settings = update_settings(lambda now: replace(now, pass_phrase_hash=phrase_hash))
    if was_signed_in or access_control.sign_in_required():
        access_control.start_session(settings, suggested_device_name())
    flash("The new pass phrase holds from now on. Other browsers have to give it once.")
    return redirect(url_for("settings.index"), 303)


@blueprint.post("/no-passphrase")
def remove_passphrase() -> Response:
    """Removes the passphrase; only while the shop is not open to the network."""
    if access_control.sign_in_required():
        raise InvalidPassphrase(
            "The shop is open to the network, so it keeps its pass phrase. Serve it to this computer alone first."
        )
    update_settings(lambda now: replace(now, pass_phrase_hash=""))
    flash("The shop has no pass phrase now and can't be served to the network.", "note")
    return redirect(url_for("settings.index"), 303)


def as_typed(settings: Settings) -> dict[str, str]:
    """The settings as fields of the form."""
    lengths = {name: getattr(settings.allowances, name) for name in ALLOWANCE_NAMES}
    return {
        "nearest": settings.display.nearest.value,
        "shop_name": settings.shop_name,
        "base_url": settings.base_url,
        "label_stock": settings.label_stock or DEFAULT_STOCK,
        "prefer": settings.prefer.value,
        "currency": settings.prices.currency,
        "species_prices": prices_text(settings.prices.prices, settings.unit),
        **workshop_as_typed(settings.workshop, settings.unit),
        **{name: typed_text(length, settings.unit) for name, length in lengths.items()},
    }


def read_settings(before: Settings, typed: Mapping[str, str]) -> tuple[Settings, dict[str, str]]:
    """The settings as typed, and a sentence for each field that can't be read.

    A bare length is in the unit that the page was shown in, even where the form
    changes the unit.
    """
    good = _add_units(typed, before.unit)
    shown = _add_units(as_typed(before), before.unit)
    errors: dict[str, str] = {}
    try:
        label_stocks.find_stock(current_shop(), good["label_stock"])
    except label_stocks.StockRefused as error:
        errors["label_stock"] = str(error)
        good["label_stock"] = shown["label_stock"]
    while True:
        try:
            return before.changed(good), errors
        except InvalidSetting as error:
            if error.what not in good:
                raise
            if error.what in errors:
                # The stored value is rejected too, because of another field: one sentence per field is enough.
                return before, errors
            # Restore the stored value, to find what else is wrong.
            errors[error.what] = str(error)
            good[error.what] = shown[error.what]


def form_fingerprint(settings: Settings) -> str:
    """A fingerprint of the values that the form shows, to detect that somebody saved others meanwhile."""
    return hashlib.sha256(repr(as_typed(settings)).encode()).hexdigest()[:16]


def _merge_settings(now: Settings, before: Settings, typed: Mapping[str, str]) -> Settings:
    if as_typed(now) != as_typed(before):
        raise Conflict(
            "Somebody saved other settings at the same moment, so yours were not saved. Look, and try again."
        )
    return read_settings(now, typed)[0]


def _add_units(typed: Mapping[str, str], unit: Unit) -> dict[str, str]:
    marked = dict(typed)
    for name in LENGTHS:
        try:
            marked[name] = exact_text(read_length(typed[name], unit), unit)
        except InvalidLength:
            continue  # left as typed: the settings report what is wrong with it
    with suppress(InvalidPrice):
        marked["species_prices"] = prices_text(read_prices(typed["species_prices"], unit))
    with suppress(InvalidSetting):
        marked["temperature"] = temperature_text(read_temperature(typed["temperature"], unit), unit)
    return marked


def _page_context(typed: Mapping[str, str]) -> dict[str, Any]:
    settings = current_settings()
    usual = Allowances()
    usual_workshop = workshop_as_typed(Workshop(), settings.unit)
    return {
        "typed": typed,
        "labels": LABELS,
        "groups": GROUPS,
        "meanings": ALLOWANCE_MEANINGS,
        "worth_picture": draw_worth(settings.allowances, settings.unit),
        "usual": {name: exact_text(getattr(usual, name), settings.unit) for name in ALLOWANCE_NAMES}
        | usual_workshop
        | {"planer_width": exact_text(Workshop().planer_width, settings.unit)},
        "nearest_choices": [(each.value, words) for each, words in NEAREST_LABELS.items()],
        "prefer_choices": [(each.value, words) for each, words in PREFER_LABELS.items()],
        "sawn_choices": [(each.value, words) for each, words in SAWN_LABELS.items()],
        "stocks": (by_paper := dict(stocks_by_paper())),
        "unknown_stock": "" if _contains_stock(by_paper, typed["label_stock"]) else typed["label_stock"],
        "scheme_choices": list(SCHEME_LABELS.items()),
        "shown": form_fingerprint(settings),
        "network_address": lan_address(),
        "by_name": addresses.mdns_url(),
        "has_phrase": bool(settings.pass_phrase_hash),
        "from_network": access_control.sign_in_required(),
        "folder": current_shop().folder,
    }


def _contains_stock(by_paper: Mapping[str, list[Stock]], key: str) -> bool:
    return any(stock.key == key for each in by_paper.values() for stock in each)
