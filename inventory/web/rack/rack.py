"""The rack on screen: filtered, sorted, summed, as pictures or as a table, page by page.

Knows that the filter lives in the address. What it finds is `finding`'s.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.core.lengths import show
from inventory.services.rack import queries
from inventory.services.rack.queries import (
    Condition,
    NotAFilter,
    RackFilter,
    RackPage,
    RackSort,
    RackView,
    Standing,
    read_filter,
)
from inventory.web.request_context import current_settings, current_shop
from inventory.web.saw.code_redirect import address_of_typed
from inventory.web.template_filters import counted

blueprint = Blueprint("rack", __name__)

CONDITION_WORDS = {
    Condition.PLANED: "both faces planed",
    Condition.ROUGH: "a rough face",
    Condition.FINISHED: "a finished face",
}
STANDING_WORDS = {
    Standing.HERE: "in the shop",
    Standing.FREE: "free on the rack",
    Standing.SET_ASIDE: "set aside for a board",
    Standing.USED_UP: "used up",
    Standing.LET_GO: "let go",
    Standing.ALL: "all that ever had a tag",
}
SORT_WORDS = {
    RackSort.NEWEST: "newest first",
    RackSort.OLDEST: "oldest first",
    RackSort.LONGEST: "longest first",
    RackSort.WIDEST: "widest first",
    RackSort.THICKEST: "thickest first",
    RackSort.LARGEST: "most wood first",
    RackSort.SPECIES: "by species",
    RackSort.LOCATION: "by location",
}
FILTER_WORDS = {
    "text": "Code or words",
    "species": "Species",
    "length": "Least length",
    "width": "Least width",
    "thickness": "Least thickness",
    "condition": "Condition",
    "location": "Location",
    "standing": "Which pieces",
    "unseen": "Last seen",
    "sort": "Order",
}


_OR_MORE = {"length": "longer", "width": "wider", "thickness": "thicker"}
_NARROWING: dict[str, object] = {
    "text": "",
    "species": "",
    "location": "",
    "condition": None,
    "standing": Standing.HERE,
    "unseen": None,
    "length": None,
    "width": None,
    "thickness": None,
}
"""What may be asked, each with the value that asks nothing."""


@blueprint.get("/rack")
def front() -> str | tuple[str, int] | Response:
    """One page of the rack; a code typed as text opens its piece."""
    shop = current_shop()
    leads_to = address_of_typed(shop, request.args.get("text", ""))
    if leads_to:
        return redirect(leads_to, 303)
    try:
        asked = read_filter(request.args, current_settings().unit)
    except NotAFilter as fault:
        return _page(RackFilter(), None, {fault.what: str(fault)}), 422
    if not all(request.args.values()):
        # A form sends its empty fields too; the address keeps what is asked alone.
        return redirect(url_for("rack.front") + asked.address(), 303)
    rack = queries.find(shop, asked)
    return _page(rack.filter, rack, {})


def _page(asked: RackFilter, rack: RackPage | None, errors: Mapping[str, str]) -> str:
    offered = queries.choices(current_shop())
    typed = request.args
    return render_template(
        "rack/front.html",
        rack=rack,
        asked=asked,
        plain=RackFilter(),
        typed=typed,
        errors=errors,
        labels=FILTER_WORDS,
        species_options=_offered("any species", offered.species, typed.get("species", "")),
        location_options=_offered("any location", offered.locations, typed.get("location", "")),
        condition_options=[("", "any faces"), *((each.value, words) for each, words in CONDITION_WORDS.items())],
        standing_options=[(each.value, words) for each, words in STANDING_WORDS.items()],
        unseen_options=_unseen_options(asked.unseen),
        sort_options=[(each.value, words) for each, words in SORT_WORDS.items()],
        narrowed=[(_narrowing_words(asked, name), {name: none}) for name, none in _narrowings(asked)],
        sorts=RackSort,
        views=RackView,
    )


def _offered(none_words: str, words: Sequence[str], typed: str) -> list[tuple[str, str]]:
    """The options of a list: none first, and the one in the address even where nothing in the shop has it."""
    extra = [typed] if typed and typed not in words else []
    return [("", none_words), *((word, word) for word in (*extra, *words) if word)]


def _unseen_options(asked: int | None) -> list[tuple[str, str]]:
    months = sorted({3, 6, 12, 24, current_settings().ask_after, *([asked] if asked else [])})
    return [("", "whenever"), *((str(each), _unseen_words(each)) for each in months)]


def _unseen_words(months: int) -> str:
    return f"not for {counted(months, 'month')}"


def _narrowings(asked: RackFilter) -> list[tuple[str, object]]:
    return [(name, none) for name, none in _NARROWING.items() if getattr(asked, name) != none]


def _narrowing_words(asked: RackFilter, name: str) -> str:
    """One thing that is asked, in words."""
    value = getattr(asked, name)
    if name == "unseen":
        return f"seen {_unseen_words(value)}"
    match value:
        case Condition():
            return CONDITION_WORDS[value]
        case Standing():
            return STANDING_WORDS[value]
        case int():
            return f"{show(value, current_settings().display)} or {_OR_MORE[name]}"
        case _:
            return f"“{value}”" if name == "text" else str(value)
