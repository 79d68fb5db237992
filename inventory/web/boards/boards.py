"""The boards and their steps: hold, cut with its leftovers, finish, abandon, undo; the cut sheet."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.core.errors import Conflict, UserError
from inventory.layout.rounds import split_into_rounds, whole
from inventory.services.boards import making, strip_order
from inventory.services.boards.making import InvalidLeftover, InvalidTransition
from inventory.services.boards.pick_lists import pick_list
from inventory.services.labels import label_content
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, BoardState
from inventory.web.boards.board_view import (
    GlueUpStyle,
    board_offcuts,
    build_board_view,
    letter_of_cut,
    letters_of,
    proposed_leftovers_of,
    requested_round,
    requested_style,
    textures_of,
)
from inventory.web.boards.leftover_form import (
    field_labels,
    field_name,
    leftover_errors,
    proposed_form_values,
    read_leftovers,
)
from inventory.web.forms import FormError, posted_form, posted_version
from inventory.web.request_context import current_settings, current_shop

blueprint = Blueprint("boards", __name__)

Page = str | tuple[str, int] | Response
Step = Callable[[Shop, int, int], BoardRecord]

ALL = "all"
"""In the address of a cut sheet: all rounds on one sheet."""

HEADINGS = {
    BoardState.ON_HOLD: "Set aside, to be cut",
    BoardState.CUT: "Cut, to be finished",
    BoardState.FINISHED: "Finished",
    BoardState.ABANDONED: "Abandoned",
}


@blueprint.get("/boards")
def index() -> str:
    """All boards by state."""
    boards = making.boards(current_shop())
    by_state = [
        (state, heading, [each for each in boards if each.state is state]) for state, heading in HEADINGS.items()
    ]
    return render_template("boards/index.html", by_state=by_state, any_board=bool(boards))


@blueprint.get("/boards/<int:number>")
def board(number: int) -> str:
    """One board: its state, what to fetch, how it is made."""
    found = making.board(current_shop(), number)
    return _board_page(found)


@blueprint.post("/boards/<int:number>/name")
def rename(number: int) -> Page:
    """Gives the board another name."""
    name = request.form.get("name", "")
    try:
        named = making.rename(current_shop(), number, posted_version(), name)
    except UserError as error:
        return _board_page(making.board(current_shop(), number), typed={"name": name}, errors={"name": str(error)}), 422
    flash(f'The board is now called "{named.name}".')
    return redirect(url_for("boards.board", number=number), 303)


@blueprint.get("/boards/<int:number>/sheet")
def cut_sheet(number: int) -> str:
    """The cut sheet to print: of many boards one round, or all of them."""
    found = making.board(current_shop(), number)
    fill_layout = strip_order.laid_out(found)
    rounds = split_into_rounds(fill_layout)
    part = whole(fill_layout) if request.args.get("round") == ALL else requested_round(rounds)
    letters = letter_of_cut(found, fill_layout)
    here = {piece.letter for piece in part.fill_layout.pieces}
    return render_template(
        "boards/cut_sheet.html",
        board=found,
        shown=build_board_view(found, fill_layout, part),
        part=part,
        rounds=rounds,
        all_rounds=ALL,
        picks=pick_list(found, None if part.whole else part.pieces_by_tag),
        letters=letters_of(part.fill_layout),
        pieces=board_offcuts(found),
        proposed=[
            each for each in proposed_leftovers_of(found, fill_layout) if each.keep and letters[each.cut] in here
        ],
        letter_of_cut=letters,
    )


@blueprint.get("/boards/<int:number>/cut")
def cut_form(number: int) -> Page:
    """The form with the leftovers of the plan, to be confirmed after the cut."""
    found = making.board(current_shop(), number)
    if found.state is not BoardState.ON_HOLD:
        return redirect(url_for("boards.board", number=number), 303)
    return _cut_page(
        found, proposed_form_values(making.proposed_leftovers(current_shop(), number), current_settings().unit)
    )


@blueprint.post("/boards/<int:number>/cut")
def cut(number: int) -> Page:
    """Marks the board as cut and puts the kept leftovers on the rack."""
    shop = current_shop()
    proposed = making.proposed_leftovers(shop, number)
    try:
        confirmed = read_leftovers(proposed, posted_form())
        done = making.cut(shop, number, posted_version(), confirmed)
    except FormError as error:
        return _cut_page(making.board(shop, number), request.form, error.errors), 422
    except InvalidLeftover as error:
        return _cut_page(making.board(shop, number), request.form, leftover_errors(error)), 422
    except (Conflict, InvalidTransition) as error:
        now = making.board(shop, number)
        if now.state is not BoardState.ON_HOLD:
            return _back_to(number, error)
        return _cut_page(now, request.form, {"": str(error)}), 409
    kept = len(done.left_over)
    flash(f"Cut. {kept} {'piece' if kept == 1 else 'pieces'} came back to the rack, labels wanted." if kept else "Cut.")
    return redirect(url_for("boards.board", number=number), 303)


@blueprint.post("/boards/<int:number>/finish")
def finish(number: int) -> Page:
    """Marks the board as finished."""
    return _step(number, making.finish, "The board is finished.")


@blueprint.post("/boards/<int:number>/abandon")
def abandon(number: int) -> Page:
    """Abandons the board and releases its offcuts."""
    return _step(number, making.abandon, "The board is abandoned; all its offcuts are free again.")


@blueprint.post("/boards/<int:number>/undo")
def undo(number: int) -> Page:
    """Undoes the last step."""
    return _step(number, making.undo, "The last step is undone.")


def _step(number: int, step: Step, done: str) -> Page:
    try:
        step(current_shop(), number, posted_version())
    except making.NoSuchBoard:
        raise
    except UserError as error:
        return _back_to(number, error)
    flash(done)
    return redirect(url_for("boards.board", number=number), 303)


def _back_to(number: int, error: UserError) -> Response:
    """Redirects to the board, with the reason why the step was refused."""
    flash(str(error), "stop")
    return redirect(url_for("boards.board", number=number), 303)


def _board_page(
    found: BoardRecord, typed: Mapping[str, str] | None = None, errors: Mapping[str, str] | None = None
) -> str:
    records, look = board_offcuts(found), requested_style(GlueUpStyle.DRAWING)
    fill_layout = strip_order.laid_out(found)
    rounds = split_into_rounds(fill_layout)
    part = requested_round(rounds)
    return render_template(
        "boards/board.html",
        board=found,
        shown=build_board_view(found, fill_layout, part, textures_of(records) if look is GlueUpStyle.PHOTOS else None),
        part=part,
        rounds=rounds,
        look=look,
        looks=GlueUpStyle,
        any_photo=any(record.main_photo for record in records.values()),
        may_order=found.state in strip_order.UNGLUED_STATES,
        picks=pick_list(found),
        letters=letters_of(fill_layout),
        pieces=records,
        left_over=label_content.pieces(current_shop(), found.left_over),
        typed=typed or {"name": found.name},
        errors=errors or {},
        states=BoardState,
    )


def _cut_page(found: BoardRecord, typed: Mapping[str, str], errors: Mapping[str, str] | None = None) -> str:
    fill_layout = strip_order.laid_out(found)
    # In the order of the page: what is kept comes first.
    proposed = sorted(proposed_leftovers_of(found, fill_layout), key=lambda each: not each.keep)
    return render_template(
        "boards/cut.html",
        board=found,
        proposed=proposed,
        letter_of_cut=letter_of_cut(found, fill_layout),
        field_name=field_name,
        typed=typed,
        errors=errors or {},
        labels=dict(field_labels(proposed)),
    )
