"""Stock levels: charts with their tables, and bulk actions on a range of sizes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.core.errors import UserError
from inventory.core.whole_numbers import read_integer
from inventory.services.rack import stock_levels
from inventory.services.rack.editing import LetGoReason
from inventory.services.rack.stock_levels import BulkAction, InvalidSizeRange, SizeRange, StockedTag, StockLevels
from inventory.settings import InvalidSetting
from inventory.web.drawings import stock_charts as drawings
from inventory.web.drawings.hatching import HatchPatterns
from inventory.web.rack.value_text import format_total_weight, format_worth
from inventory.web.request_context import current_settings, current_shop, update_settings
from inventory.web.template_filters import counted, volume

blueprint = Blueprint("stock_levels", __name__)

Page = str | tuple[str, int] | Response
LABELS = {
    "species": "Species",
    "length_from": "Length from",
    "length_to": "to",
    "width_from": "Width from",
    "width_to": "to",
    "rack_room": "Room given to offcuts",
}
# Among many pieces are old finishes and treated wood, so no bulk action sends pieces to the stove.
REASONS = tuple(each for each in LetGoReason if each is not LetGoReason.BURNT)
MAX_LISTED = 200
ACTION_DONE_ONE = {
    BulkAction.LABEL: "waits for its label",
    BulkAction.PIN: "is pinned: it stays whatever comes",
    BulkAction.LET_GO: "is let go",
}
ACTION_DONE_MANY = {
    BulkAction.LABEL: "wait for their labels",
    BulkAction.PIN: "are pinned: they stay whatever comes",
    BulkAction.LET_GO: "are let go",
}


@blueprint.get("/rack/stock-levels")
def index() -> Page:
    """The page; the range of sizes is in the address."""
    try:
        region = stock_levels.read_size_range(request.args, current_settings().unit)
    except InvalidSizeRange as error:
        return _page(SizeRange(), request.args, {error.what: str(error)}), 422
    return _page(region, request.args, {})


@blueprint.post("/rack/stock-levels")
def act() -> Page:
    """Applies one action to the ticked pieces of the range."""
    typed = request.form
    try:
        what = BulkAction(typed.get("act", ""))
    except ValueError:
        return _rejected(typed, "Nothing was asked for. Press one of the buttons below the list.")
    try:
        reason = LetGoReason(typed["reason"]) if typed.get("reason") else None
        done = stock_levels.act(current_shop(), _picked(typed.getlist("code")), what, reason)
    except ValueError:
        return _rejected(typed, "That is none of the reasons. Choose one from the list.")
    except UserError as error:
        return _rejected(typed, str(error))
    flash(f"{counted(done, 'tag')} {ACTION_DONE_ONE[what] if done == 1 else ACTION_DONE_MANY[what]}.")
    asked: dict[str, Any] = _bounds(typed)
    return redirect(url_for("stock_levels.index", _anchor="picked", **asked), 303)


@blueprint.post("/rack/stock-levels/storage-limit")
def set_storage_limit() -> Page:
    """Sets the storage limit of the shop."""
    try:
        update_settings(lambda settings: settings.changed({"rack_room": request.form.get("rack_room", "")}))
    except InvalidSetting as error:
        return _page(SizeRange(), request.form, {error.what: str(error)}), 422
    return redirect(url_for("stock_levels.index", _anchor="room-heading"), 303)


def _picked(typed: Sequence[str]) -> dict[str, int]:
    """The ticked pieces: the version that the page showed, by code."""
    parted = (each.partition(".") for each in typed)
    return {code: read_integer(version) or 0 for code, _, version in parted}


def _rejected(typed: Mapping[str, str], sentence: str) -> Page:
    try:
        region = stock_levels.read_size_range(typed, current_settings().unit)
    except InvalidSizeRange:
        region = SizeRange()
    return _page(region, typed, {"picked": sentence}), 422


def _bounds(typed: Mapping[str, str]) -> dict[str, str]:
    return {name: typed[name] for name in ("species", *stock_levels.BOUNDS) if typed.get(name)}


def _page(region: SizeRange, typed: Mapping[str, str], errors: Mapping[str, str]) -> str:
    settings = current_settings()
    state = stock_levels.pile(current_shop())
    of_species = tuple(each for each in state.lying if SizeRange(species=region.species).holds(each))
    plot = drawings.draw_sizes(of_species, region, settings.unit)
    picked = tuple(each for each in of_species if region.holds(each)) if region.is_active else ()
    hatchings = HatchPatterns.of(name for name, _ in state.by_species)
    wood = [(name, each.volume) for name, each in state.by_species]
    return render_template(
        "rack/stock_levels.html",
        state=state,
        region=region,
        picked=sorted(picked, key=lambda each: (-each.length, -each.width, each.code))[:MAX_LISTED],
        picked_all=len(picked),
        picked_wood=_sum(picked),
        ticked=_picked(request.form.getlist("code")) if request.method == "POST" else None,
        typed=typed,
        errors=errors,
        labels=LABELS,
        acts=BulkAction,
        reasons=[("", "choose"), *((each.value, each.value) for each in REASONS)],
        bounds=_bounds(typed),
        species_options=_species_options(state, region),
        room_typed={"rack_room": typed["rack_room"] if "rack_room" in typed else _room_typed(settings.rack_room)},
        weight=format_total_weight(wood, settings),
        worth=format_worth(wood, settings),
        by_species=[(format_total_weight([each], settings), format_worth([each], settings)) for each in wood],
        plot=plot,
        nm=drawings.NM[settings.unit],
        species_drawing=drawings.draw_species(state.by_species, hatchings, volume),
        ages_drawing=drawings.draw_ages(state.by_age, volume),
        months_drawing=drawings.draw_months(state.months, volume),
        room_drawing=drawings.draw_storage_used(state.all.volume, settings.rack_room, volume)
        if settings.rack_room
        else "",
    )


def _sum(picked: tuple[StockedTag, ...]) -> stock_levels.WoodTotal:
    whole = stock_levels.WoodTotal()
    for each in picked:
        whole = whole.plus(each)
    return whole


def _species_options(state: StockLevels, region: SizeRange) -> list[tuple[str, str]]:
    names = [name for name, _ in state.by_species if name]
    extra = [region.species] if region.species and region.species not in names else []
    return [("", "any species"), *((name, name) for name in (*extra, *names))]


def _room_typed(room: int) -> str:
    return volume(room) if room else ""
