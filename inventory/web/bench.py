"""At the bench: a board is asked for, the sets of offcuts that hold it are shown, one is set aside.

Knows the page and its address. Searches nothing itself: `services.filling`; draws
nothing: `web.shown`.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping

from flask import Blueprint, flash, redirect, render_template, request, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response

from inventory.errors import Conflict
from inventory.fill.plan import Plan, Shortfall
from inventory.fill.request import BoardRequest, Grain
from inventory.fill.shortfall import OTHER_SPECIES
from inventory.measures import Length, typed_text
from inventory.pieces import ALLOWANCE_MEANINGS
from inventory.services import choosing, filling, labelling
from inventory.storage.records import OffcutRecord
from inventory.web import bench_form
from inventory.web.at_hand import current_settings, current_shop
from inventory.web.bench_form import AskedWrongly
from inventory.web.drawings.grain import draw_grain
from inventory.web.filters import counted
from inventory.web.shown import Answer, show_answer, tags_of

blueprint = Blueprint("bench", __name__)

Page = str | tuple[str, int] | Response


@blueprint.get("/bench")
def front() -> Page:
    """The form and, where the address asks for a board, the answer."""
    if not bench_form.is_asked(request.args):
        return _page()
    try:
        asked = bench_form.read_asked(current_shop(), current_settings(), request.args)
    except AskedWrongly as fault:
        return _page(errors=fault.errors), 422
    return _page(plan=filling.fill(current_shop(), asked))


@blueprint.post("/bench")
def set_aside() -> Page:
    """Sets a chosen set aside for a board; where the rack has changed, says so and shows the new answer."""
    shop, token = current_shop(), request.form.get("form_token", "")
    try:
        asked = bench_form.read_asked(shop, current_settings(), request.args)
    except AskedWrongly as fault:
        return _page(errors=fault.errors), 422
    try:
        board = choosing.set_aside_chosen(shop, asked, request.form.get("set", ""), form_token=token)
    except Conflict as conflict:
        return _page(plan=filling.fill(shop, asked), changed=str(conflict)), 409
    flash(f"{counted(board.fill.pieces, 'offcut')} set aside for this board.")
    return redirect(url_for("boards.board", number=board.id), 303)


def _page(*, plan: Plan | None = None, errors: Mapping[str, str] | None = None, changed: str = "") -> str:
    shop, settings = current_shop(), current_settings()
    answer = show_answer(plan, settings.display) if plan and plan.fills else None
    return render_template(
        "bench/front.html",
        typed=request.args,
        errors=errors or {},
        labels=bench_form.LABELS,
        grains=[(each.value, _grain_face(each), bench_form.GRAIN_WORDS[each][1]) for each in bench_form.GRAIN_WORDS],
        species=bench_form.species_choices(shop, request.args),
        preferences=[(each.value, *words) for each, words in bench_form.PREFERENCE_WORDS.items()],
        preferences_ticked=bench_form.preferences_ticked(request.args),
        fills_options=bench_form.FILLS_OPTIONS,
        allowances=[(name, ALLOWANCE_MEANINGS[name]) for name in bench_form.ALLOWANCES],
        allowances_changed=len(bench_form.changed_allowances(request.args)),
        asked=plan.request if plan else None,
        board_volume=plan.board_volume if plan else 0,
        answer=answer,
        pieces=_pieces(answer, plan.shortfall if plan else None),
        preference_words=bench_form.PREFERENCE_WORDS,
        shortfall=plan.shortfall if plan else None,
        reached=_reached(plan.request, plan.shortfall) if plan and plan.shortfall else 0,
        smaller=_smaller_boards(plan.request, plan.shortfall) if plan and plan.shortfall else (),
        any_species=_any_species(plan.shortfall) if plan and plan.shortfall else "",
        changed=changed,
        query=bench_form.query(request.args),
        form_token=secrets.token_hex(16),
    )


def _grain_face(grain: Grain) -> Markup:
    """The name of a grain with the picture that explains it."""
    return Markup('<span class="grain-name">{}</span>{}').format(bench_form.GRAIN_WORDS[grain][0], draw_grain(grain))


def _pieces(answer: Answer | None, shortfall: Shortfall | None) -> dict[str, OffcutRecord]:
    """The records of all offcuts that the answer names, by tag."""
    tags = tags_of(answer.sets) if answer else tuple(miss.tag for miss in shortfall.nearest) if shortfall else ()
    return {record.code: record for record in labelling.pieces(current_shop(), tags)}


def _any_species(shortfall: Shortfall) -> str:
    """The same search without its species, where pieces fell out for theirs."""
    return bench_form.address(request.args, species="") if shortfall.reasons.get(OTHER_SPECIES) else ""


def _reached(asked: BoardRequest, shortfall: Shortfall) -> Length:
    """How wide all strips of the rack together are."""
    return Length(asked.width + asked.allowances.side_trim - shortfall.missing)


def _smaller_boards(asked: BoardRequest, shortfall: Shortfall) -> list[tuple[str, Length, str]]:
    """The largest boards where one size gives way: its name, the size, and the search for that board.

    Sizes are rounded down to what the shop reads, which the rack fills as well.
    """
    settings = current_settings()
    found = {
        "width": shortfall.largest_width,
        "length": shortfall.largest_length,
        "thickness": shortfall.largest_thickness,
    }
    boards = []
    for name, largest in found.items():
        size = Length(
            0 if largest is None else largest // settings.display.nearest.step * settings.display.nearest.step
        )
        if 0 < size < getattr(asked, name):
            boards.append((name, size, bench_form.address(request.args, **{name: typed_text(size, settings.unit)})))
    return boards
