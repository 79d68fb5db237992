"""The rack: filtered, sorted, with totals, as pictures or as a table, page by page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.core.lengths import format_length
from inventory.core.offcuts import Mark
from inventory.services.rack import queries
from inventory.services.rack.queries import (
    Condition,
    InvalidFilter,
    RackFilter,
    RackPage,
    RackSort,
    RackView,
    StatusFilter,
    read_filter,
)
from inventory.web.request_context import current_settings, current_shop
from inventory.web.saw.code_redirect import address_of_input
from inventory.web.template_filters import counted

blueprint = Blueprint("rack", __name__)

CONDITION_LABELS = {
    Condition.PLANED: "both faces planed",
    Condition.ROUGH: "a rough face",
    Condition.FINISHED: "a finished face",
}
STATUS_LABELS = {
    StatusFilter.HERE: "in the shop",
    StatusFilter.FREE: "free on the rack",
    StatusFilter.ON_HOLD: "set aside for a board",
    StatusFilter.USED_UP: "used up",
    StatusFilter.GONE: "let go",
    StatusFilter.ALL: "all that ever had a tag",
}
SORT_LABELS = {
    RackSort.NEWEST: "newest first",
    RackSort.OLDEST: "oldest first",
    RackSort.LONGEST: "longest first",
    RackSort.WIDEST: "widest first",
    RackSort.THICKEST: "thickest first",
    RackSort.LARGEST: "most wood first",
    RackSort.SPECIES: "by species",
    RackSort.LOCATION: "by location",
}
FILTER_LABELS = {
    "text": "Code or words",
    "species": "Species",
    "length": "Least length",
    "width": "Least width",
    "thickness": "Least thickness",
    "condition": "Condition",
    "location": "Location",
    "status": "Which pieces",
    "mark": "Mark",
    "batch": "Batch",
    "unseen": "Last seen",
    "sort": "Order",
}


_COMPARATIVES = {"length": "longer", "width": "wider", "thickness": "thicker"}
_FILTER_DEFAULTS: dict[str, object] = {
    "text": "",
    "species": "",
    "location": "",
    "condition": None,
    "mark": None,
    "batch": "",
    "status": StatusFilter.HERE,
    "unseen": None,
    "length": None,
    "width": None,
    "thickness": None,
}
"""Each filter with the value that filters nothing."""


@blueprint.get("/rack")
def index() -> str | tuple[str, int] | Response:
    """One page of the rack; a code typed as text redirects to its piece."""
    shop = current_shop()
    leads_to = address_of_input(shop, request.args.get("text", ""))
    if leads_to:
        return redirect(leads_to, 303)
    try:
        asked = read_filter(request.args, current_settings().unit)
    except InvalidFilter as error:
        return _page(RackFilter(), None, {error.what: str(error)}), 422
    if not all(request.args.values()):
        # A form sends its empty fields too; the address keeps only the filters that are set.
        return redirect(url_for("rack.index") + asked.address(), 303)
    rack = queries.find(shop, asked)
    return _page(rack.filter, rack, {})


def _page(asked: RackFilter, rack: RackPage | None, errors: Mapping[str, str]) -> str:
    offered = queries.choices(current_shop())
    typed = request.args
    return render_template(
        "rack/index.html",
        rack=rack,
        asked=asked,
        plain=RackFilter(),
        typed=typed,
        errors=errors,
        labels=FILTER_LABELS,
        species_options=_options("any species", offered.species, typed.get("species", "")),
        location_options=_options("any location", offered.locations, typed.get("location", "")),
        condition_options=[("", "any faces"), *((each.value, words) for each, words in CONDITION_LABELS.items())],
        status_options=[(each.value, words) for each, words in STATUS_LABELS.items()],
        mark_options=[("", "any marks or none"), *((mark.value, mark.value) for mark in Mark)],
        batch_options=_options("any batch", offered.batches, typed.get("batch", "")),
        unseen_options=_not_checked_options(asked.unseen),
        sort_options=[(each.value, words) for each, words in SORT_LABELS.items()],
        narrowed=[(_filter_text(asked, name), {name: none}) for name, none in _active_filters(asked)],
        sorts=RackSort,
        views=RackView,
    )


def _options(none_words: str, words: Sequence[str], typed: str) -> list[tuple[str, str]]:
    """The options of a select: none first, and the one in the address even where nothing in the shop has it."""
    extra = [typed] if typed and typed not in words else []
    return [("", none_words), *((word, word) for word in (*extra, *words) if word)]


def _not_checked_options(asked: int | None) -> list[tuple[str, str]]:
    months = sorted({3, 6, 12, 24, current_settings().ask_after, *([asked] if asked else [])})
    return [("", "whenever"), *((str(each), _not_checked_text(each)) for each in months)]


def _not_checked_text(months: int) -> str:
    return f"not for {counted(months, 'month')}"


def _active_filters(asked: RackFilter) -> list[tuple[str, object]]:
    return [(name, none) for name, none in _FILTER_DEFAULTS.items() if getattr(asked, name) != none]


def _filter_text(asked: RackFilter, name: str) -> str:
    """One filter as text."""
    value = getattr(asked, name)
    if name == "batch":
        return f"batch {value}"
    if name == "unseen":
        return f"seen {_not_checked_text(value)}"
    match value:
        case Condition():
            return CONDITION_LABELS[value]
        case Mark():
            return f"marked {value.value}"
        case StatusFilter():
            return STATUS_LABELS[value]
        case int():
            return f"{format_length(value, current_settings().display)} or {_COMPARATIVES[name]}"
        case _:
            return f"“{value}”" if name == "text" else str(value)
