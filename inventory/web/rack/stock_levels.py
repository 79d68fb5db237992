"""Stock levels: charts with their tables, and bulk actions on a range of sizes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.core.errors import UserError
from inventory.core.lengths import Length
from inventory.core.offcuts import MAX_NAME_LENGTH
from inventory.core.whole_numbers import read_integer
from inventory.services.rack import stock_levels
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.stock_levels import BulkAction, SizeRange, StockedTag, StockLevels
from inventory.settings import InvalidSetting
from inventory.web.drawings import stock_charts as drawings
from inventory.web.drawings.hatching import HatchPatterns
from inventory.web.forms import Form, posted_form
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
    "storage_limit": "Room given to offcuts",
}
# Among many pieces are old finishes and treated wood, so no bulk action sends pieces to the stove.
REASONS = tuple(each for each in RemovalReason if each is not RemovalReason.BURNT)
MAX_LISTED = 200
BOUNDS = ("length_from", "length_to", "width_from", "width_to")
ACTION_DONE_ONE = {
    BulkAction.LABEL: "waits for its label",
    BulkAction.PIN: "is kept: not proposed again for a year",
    BulkAction.REMOVE: "is let go",
}
ACTION_DONE_MANY = {
    BulkAction.LABEL: "wait for their labels",
    BulkAction.PIN: "are kept: not proposed again for a year",
    BulkAction.REMOVE: "are let go",
}


@blueprint.get("/rack/stock-levels")
def index() -> Page:
    """The page; the range of sizes is in the address."""
    form = Form(request.args, current_settings().unit)
    page = _page(read_size_range(form), request.args, form.errors)
    return (page, 422) if form.errors else page


@blueprint.post("/rack/stock-levels")
def act() -> Page:
    """Applies one action to the ticked pieces of the range."""
    form, typed, reason = posted_form(), request.form, None
    what = form.choice("act", BulkAction, "Nothing was asked for. Press one of the buttons below the list.")
    if form.text("reason"):
        reason = form.choice("reason", RemovalReason, "That is none of the reasons. Choose one from the list.")
    try:
        form.check()
        done = stock_levels.act(current_shop(), _picked(typed.getlist("code")), what, reason)
    except UserError as error:
        return _page(read_size_range(posted_form()), typed, {"picked": str(error)}), 422
    flash(f"{counted(done, 'tag')} {ACTION_DONE_ONE[what] if done == 1 else ACTION_DONE_MANY[what]}.")
    asked: dict[str, Any] = _bounds(typed)
    return redirect(url_for("stock_levels.index", _anchor="picked", **asked), 303)


@blueprint.post("/rack/stock-levels/storage-limit")
def set_storage_limit() -> Page:
    """Sets the storage limit of the shop."""
    try:
        update_settings(lambda settings: settings.changed({"storage_limit": request.form.get("storage_limit", "")}))
    except InvalidSetting as error:
        return _page(SizeRange(), request.form, {error.what: str(error)}), 422
    return redirect(url_for("stock_levels.index", _anchor="room-heading"), 303)


def _picked(typed: Sequence[str]) -> dict[str, int]:
    """The ticked pieces: the version that the page showed, by code."""
    split = (each.partition(".") for each in typed)
    return {code: read_integer(version) or 0 for code, _, version in split}


def read_size_range(form: Form) -> SizeRange:
    """The range of sizes in the form; without bounds where one of them can't be read."""
    species = " ".join(form.text("species").split())
    if len(species) > MAX_NAME_LENGTH:
        form.reject("species", f"The species is longer than {MAX_NAME_LENGTH} letters. Shorten it.")
    bounds = {name: form.length(name, empty=Length(0)) or None for name in BOUNDS}
    for size in ("length", "width"):
        least, most = bounds[f"{size}_from"], bounds[f"{size}_to"]
        if least is not None and most is not None and least > most:
            form.reject(f"{size}_from", f"The least {size} is above the most. Swap the two.")
    return SizeRange() if form.errors else SizeRange(species=species, **bounds)


def _bounds(typed: Mapping[str, str]) -> dict[str, str]:
    return {name: typed[name] for name in ("species", *BOUNDS) if typed.get(name)}


def _page(region: SizeRange, typed: Mapping[str, str], errors: Mapping[str, str]) -> str:
    settings = current_settings()
    state = stock_levels.stock_levels(current_shop())
    of_species = tuple(each for each in state.tags if SizeRange(species=region.species).holds(each))
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
        limit_typed={
            "storage_limit": typed["storage_limit"]
            if "storage_limit" in typed
            else _limit_typed(settings.storage_limit)
        },
        weight=format_total_weight(wood, settings),
        worth=format_worth(wood, settings),
        by_species=[(format_total_weight([each], settings), format_worth([each], settings)) for each in wood],
        plot=plot,
        nm=drawings.NM[settings.unit],
        species_drawing=drawings.draw_species(state.by_species, hatchings, volume),
        ages_drawing=drawings.draw_ages(state.by_age, volume),
        months_drawing=drawings.draw_months(state.months, volume),
        room_drawing=drawings.draw_storage_used(state.all.volume, settings.storage_limit, volume)
        if settings.storage_limit
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


def _limit_typed(limit: int) -> str:
    return volume(limit) if limit else ""
