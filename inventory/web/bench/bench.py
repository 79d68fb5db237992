"""The page at the bench: the form for a board, the options that the search finds, holding one of them."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.core.errors import Conflict
from inventory.fill.plan import Plan
from inventory.services.boards import choosing, filling
from inventory.services.labels import label_content
from inventory.storage.records import OffcutRecord
from inventory.web.bench import band_form, board_form
from inventory.web.bench.answer_view import build_answer_view, option_tags
from inventory.web.bench.board_form import BoardForm
from inventory.web.bench.form_view import form_parts, ticked_species
from inventory.web.bench.several_boards_form import encode_board
from inventory.web.bench.shortfall_view import build_shortfall_view
from inventory.web.request_context import current_settings, current_shop
from inventory.web.template_filters import counted

blueprint = Blueprint("bench", __name__)

Page = str | tuple[str, int] | Response


@blueprint.get("/bench")
def index() -> Page:
    """The form and, where the address holds a search, its answer."""
    board = board_form.read_board(current_shop(), current_settings(), request.args)
    if not board_form.has_search(request.args):
        return _page(board)
    if board.request is None:
        return _page(board, errors=board.errors), 422
    return _page(board, plan=filling.fill(current_shop(), board.request))


@blueprint.get("/bench/form")
def form() -> Page:
    """The form filled in without a search; a button of the bands redirects to the form with the bands changed."""
    press = request.args.get("do", "")
    if not press:
        return _page(board_form.read_board(current_shop(), current_settings(), request.args))
    bands, place = band_form.changed(
        band_form.typed_bands(request.args),
        press,
        ticked_species(request.args),
        board_form.species_in_shop(current_shop()),
        current_settings().unit,
    )
    keys = board_form.query_with(request.args, bands)
    return redirect(url_for("bench.form", _anchor=f"band{place}" if place else "woods", **keys), 303)  # type: ignore[arg-type]


@blueprint.post("/bench")
def set_aside() -> Page:
    """Holds the offcuts of the chosen option; where the rack has changed, shows a notice and the new answer."""
    shop, token = current_shop(), request.form.get("form_token", "")
    asked = board_form.read_board(shop, current_settings(), request.args)
    if asked.request is None:
        return _page(asked, errors=asked.errors), 422
    try:
        board = choosing.hold_chosen(shop, asked.request, request.form.get("set", ""), form_token=token)
    except Conflict as conflict:
        return _page(asked, plan=filling.fill(shop, asked.request), changed=str(conflict)), 409
    flash(f"{counted(board.fill.pieces, 'offcut')} set aside for this board.")
    return redirect(url_for("boards.board", number=board.id), 303)


def _page(
    board: BoardForm, *, plan: Plan | None = None, errors: Mapping[str, str] | None = None, changed: str = ""
) -> str:
    settings, typed = current_settings(), board.typed
    answer = build_answer_view(plan, settings.workshop, settings.display) if plan and plan.fills else None
    shortfall = plan and plan.shortfall
    lacking = build_shortfall_view(shortfall, plan.request, typed, settings.display) if plan and shortfall else None
    return render_template(
        "bench/index.html",
        **form_parts(current_shop(), settings, board, errors or {}),
        plan=plan,
        answer=answer,
        lacking=lacking,
        pieces=_pieces(option_tags(answer.sets) if answer else lacking.tags if lacking else ()),
        grain_labels=board_form.GRAIN_LABELS,
        preference_labels=board_form.PREFERENCE_LABELS,
        changed=changed,
        form_token=secrets.token_hex(16),
        encode_board=encode_board(typed),
    )


def _pieces(tags: Sequence[str]) -> dict[str, OffcutRecord]:
    """The records of all offcuts that the answer names, by tag."""
    return {record.code: record for record in label_content.pieces(current_shop(), tags)}
