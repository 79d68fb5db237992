"""The page that shows and changes the order of a board's strips."""

from __future__ import annotations

import re
from functools import partial

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.core.errors import UserError
from inventory.layout.rounds import split_into_rounds
from inventory.layout.strip_order import InvalidOrder, flipped, moved, turned
from inventory.services.boards import making, strip_order
from inventory.services.boards.strip_order import Change
from inventory.web.boards.board_view import (
    GlueUpStyle,
    board_offcuts,
    build_board_glue_up_views,
    requested_round,
    requested_style,
    textures_of,
)
from inventory.web.forms import posted_version
from inventory.web.request_context import current_shop

blueprint = Blueprint("strip_order", __name__)

PROPOSE = "propose"
_PRESSED = re.compile(r"(up|down|turn|flip)-([0-9]{1,4})-([0-9]{1,4})|move-([0-9]{1,4})-([0-9]{1,4})-([0-9]{1,4})")


@blueprint.get("/boards/<int:number>/strip-order")
def page(number: int) -> str | Response:
    """All strips of a board in order, each with its buttons; of many boards one round."""
    board = making.board(current_shop(), number)
    if board.state not in strip_order.UNGLUED_STATES:
        return redirect(url_for("boards.board", number=number), 303)
    records = board_offcuts(board)
    look = requested_style(GlueUpStyle.PHOTOS)
    rounds = split_into_rounds(strip_order.laid_out(board))
    part = requested_round(rounds)
    textures = textures_of(records) if look is GlueUpStyle.PHOTOS else {}
    return render_template(
        "boards/strip_order.html",
        board=board,
        glue_ups=list(enumerate(build_board_glue_up_views(board, part, textures), part.glue_up)),
        part=part,
        rounds=rounds,
        look=look,
        looks=GlueUpStyle,
        propose=PROPOSE,
        any_photo=any(record.main_photo for record in records.values()),
    )


@blueprint.post("/boards/<int:number>/strip-order")
def change(number: int) -> Response:
    """Applies one button and shows the new order."""
    pressed = request.form.get("do", "")
    try:
        if pressed == PROPOSE:
            strip_order.reset_order(current_shop(), number, posted_version())
            flash("The strips lie in the proposed order again.")
        else:
            strip_order.change_order(current_shop(), number, posted_version(), _change(pressed))
    except making.NoSuchBoard:
        raise
    except UserError as error:
        flash(str(error), "stop")
    look, part = requested_style(GlueUpStyle.PHOTOS).value, request.args.get("round")
    return redirect(url_for("strip_order.page", number=number, look=look, round=part), 303)


def _change(pressed: str) -> Change:
    """The change that a button makes. Raises InvalidOrder where the page has no such button."""
    found = _PRESSED.fullmatch(pressed)
    if found is None:
        raise InvalidOrder("No strip was moved: this page has no such button. Use the buttons beside the strips.")
    if found[4] is not None:
        return partial(moved, glue_up=int(found[4]), place=int(found[5]), to=int(found[6]))
    glue_up, place = int(found[2]), int(found[3])
    match found[1]:
        case "up":
            return partial(moved, glue_up=glue_up, place=place, to=place - 1)
        case "down":
            return partial(moved, glue_up=glue_up, place=place, to=place + 1)
        case "turn":
            return partial(turned, glue_up=glue_up, place=place)
        case _:
            return partial(flipped, glue_up=glue_up, place=place)
