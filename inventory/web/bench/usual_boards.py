"""The list of usual boards with their rates: add one from the bench or from a past board, change it, remove it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Response, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from inventory.core.errors import Conflict
from inventory.core.whole_numbers import read_integer
from inventory.fill.request import BoardRequest
from inventory.pruning.usual_boards import MONTHS, InvalidUsualBoard, format_rate, format_times, rate_text
from inventory.services.boards import making, usual_board_list
from inventory.web.bench import board_form
from inventory.web.forms import errors_by_field, posted_version
from inventory.web.request_context import current_settings, current_shop

blueprint = Blueprint("usual_boards", __name__)

Page = str | tuple[str, int] | AnyResponse
LABELS = {"name": "What you call it", "a_year": "How many a year", "months": "In which months"}


@blueprint.get("/usual-boards")
def index() -> str:
    """The list, and past boards that are proposed for it."""
    shop = current_shop()
    return render_template(
        "bench/usual_boards.html",
        listed=usual_board_list.listed(shop),
        proposals=usual_board_list.proposals(shop),
        rate_text=rate_text,
        format_rate=format_rate,
        format_times=format_times,
        format_months=format_months,
    )


@blueprint.get("/usual-boards.json")
def export() -> Response:
    """The list as a file."""
    content, _ = usual_board_list.export_file(current_shop())
    return Response(
        content, mimetype="application/json", headers={"Content-Disposition": 'attachment; filename="usual.json"'}
    )


@blueprint.get("/usual-boards/new")
def new_form() -> Page:
    """The form for a board of the bench, or for a past one."""
    typed = {"name": "", "a_year": request.args.get("a_year", "")}
    if board := request.args.get("board", ""):
        typed["name"] = making.board(current_shop(), read_integer(board) or 0).name[:60]
    return _form_page(_requested_board(), typed, [])


@blueprint.post("/usual-boards/new")
def add() -> Page:
    """Adds the board to the list."""
    asked, typed, months = _requested_board(), request.form, request.form.getlist("months")
    try:
        board = usual_board_list.usual_board(typed.get("name", ""), asked, typed.get("a_year", ""), _months(months))
        kept = usual_board_list.keep(current_shop(), board)
    except InvalidUsualBoard as error:
        return _form_page(asked, typed, months, errors_by_field(error)), 422
    flash(f'"{kept.board.name}" is on the list of usual boards.')
    return redirect(url_for("usual_boards.index"), 303)


@blueprint.get("/usual-boards/<int:number>")
def change_form(number: int) -> Page:
    """The form with the stored values."""
    kept = usual_board_list.one(current_shop(), number)
    typed = {"name": kept.board.name, "a_year": rate_text(kept.board.a_year)}
    return _form_page(kept.board.request, typed, list(map(str, kept.board.months)), kept=kept)


@blueprint.post("/usual-boards/<int:number>")
def change(number: int) -> Page:
    """Changes the name, rate or months."""
    typed, months = request.form, request.form.getlist("months")
    kept = usual_board_list.one(current_shop(), number)
    try:
        usual_board_list.change(
            current_shop(), number, posted_version(), typed.get("name", ""), typed.get("a_year", ""), _months(months)
        )
    except InvalidUsualBoard as error:
        return _form_page(kept.board.request, typed, months, errors_by_field(error), kept), 422
    except Conflict as error:
        return _form_page(kept.board.request, typed, months, {"": str(error)}, kept), 409
    flash("The usual board is changed.")
    return redirect(url_for("usual_boards.index"), 303)


@blueprint.post("/usual-boards/<int:number>/off")
def remove(number: int) -> Page:
    """Removes it from the list."""
    try:
        name = usual_board_list.take_off(current_shop(), number, posted_version())
    except Conflict as error:
        flash(str(error), "stop")
    else:
        flash(f'"{name}" is off the list.')
    return redirect(url_for("usual_boards.index"), 303)


def format_months(months: tuple[int, ...]) -> str:
    """The months as text.

    >>> format_months(()), format_months((3, 12))
    ('all year', 'March, December')
    """
    return ", ".join(MONTHS[month - 1] for month in months) or "all year"


def _requested_board() -> BoardRequest:
    """The board of the address; a past one by its number."""
    if board := request.args.get("board", ""):
        return making.board(current_shop(), read_integer(board) or 0).request
    return board_form.read_board(current_shop(), current_settings(), request.args).checked_request()


def _months(typed: list[str]) -> list[int]:
    return [read_integer(each) or 13 for each in typed]


def _form_page(
    asked: BoardRequest,
    typed: Mapping[str, Any],
    months: list[str],
    errors: Mapping[str, str] | None = None,
    kept: usual_board_list.ListedBoard | None = None,
) -> str:
    return render_template(
        "bench/usual_board.html",
        asked=asked,
        typed=typed,
        chosen_months=months,
        months=[(str(number), name[:3]) for number, name in enumerate(MONTHS, 1)],
        errors=errors or {},
        labels=LABELS,
        kept=kept,
        here_again=request.full_path.rstrip("?"),
    )
