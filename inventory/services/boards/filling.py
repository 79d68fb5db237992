"""Fills a board from the free pieces of the rack."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from typing import Any

from inventory.core.errors import Conflict
from inventory.core.offcuts import species_key
from inventory.fill.plan import Fill, Plan
from inventory.fill.plan_document import fill_document
from inventory.fill.request import BoardRequest, read_request
from inventory.orders.answer import fill_rack
from inventory.orders.nearly import with_nearly
from inventory.shop import Shop
from inventory.storage.repositories.codes import current_codes
from inventory.storage.repositories.free_pieces import free_pieces, pieces_on_hold
from inventory.wording.cautions import with_cautions


def request(shop: Shop, given: Mapping[str, Any]) -> BoardRequest:
    """Reads a request as the contract writes it, with the shop's unit, allowances and day. Raises InvalidRequest.

    A tag that was replaced is read as the one that the piece has now.
    """
    settings = shop.settings()
    return with_current_tags(shop, read_request(given, settings.allowances, settings.unit, shop.today()))


def with_current_tags(shop: Shop, asked: BoardRequest) -> BoardRequest:
    """The request with the tags that the pieces it names have now."""
    rules = asked.eligibility
    if not rules.without and not rules.required:
        return asked
    with shop.reading() as connection:
        now = current_codes(connection, [*rules.without, *rules.required])
    without, required = (
        tuple(dict.fromkeys(now.get(tag, tag) for tag in tags)) for tags in (rules.without, rules.required)
    )
    return replace(asked, eligibility=replace(rules, without=without, required=required))


def fill(shop: Shop, asked: BoardRequest) -> Plan:
    """Fills the board from what is free on the rack. An offcut of the plan has the free pieces as its count.

    The cautions are those of this shop's planer and glue, its lengths as it reads them.
    """
    with shop.reading() as connection:
        rack = free_pieces(connection)
        plan = with_nearly(fill_rack(rack, asked, on_hold=lambda: pieces_on_hold(connection)), rack)
    return _with_cautions(shop, plan)


def _with_cautions(shop: Shop, plan: Plan) -> Plan:
    settings = shop.settings()
    return with_cautions(plan, settings.workshop, settings.display)


def unknown_species(requests: Sequence[BoardRequest], there: Iterable[str]) -> tuple[str, ...]:
    """A sentence for each requested species that is not among the names `there`, with names that may be meant."""
    known = {species_key(name): name for name in there}
    asked = dict.fromkeys(name for each in requests for band in each.bands for name in band.species)
    absent = (name for name in asked if name not in known)
    return tuple(f'No piece on the rack is called "{name}".{_meant(name, known)}' for name in absent)


def _meant(name: str, known: Mapping[str, str]) -> str:
    """The names that hold all words of this one, or else the one most like it, as a question."""
    words = set(name.split())
    like = sorted(key for key in known if words <= set(key.split())) or get_close_matches(name, known, 1)
    return f" Is {' or '.join(known[key] for key in like)} meant?" if like else ""


def fill_key(fill: Fill) -> str:
    """A short name (16 hex digits) of what a fill takes and how it is cut, for a form that chooses it."""
    document = fill_document(fill)
    # A new note or another location changes no cut.
    cuts = [{key: cut[key] for key in cut if key not in ("location", "marks", "notes")} for cut in document["cuts"]]
    left_out: dict[str, Any] = {"cautions": [], "nearly": [], "other_species": []}
    document |= {"cuts": cuts, "parts": [(cut.rips, cut.shares) for cut in fill.cuts]} | left_out
    return hashlib.sha256(repr(document).encode()).hexdigest()[:16]


def find_option(shop: Shop, asked: BoardRequest, key: str) -> Fill:
    """The fill that a page showed under this key, found again. Raises Conflict where the rack gives it no longer."""
    with shop.reading() as connection:
        plan = fill_rack(free_pieces(connection), asked)
    for each in _with_cautions(shop, plan).fills:
        if fill_key(each) == key:
            return each
    raise Conflict(
        "The rack has changed since this answer was found: nothing was set aside. "
        "Look at the new answer and choose from it."
    )
