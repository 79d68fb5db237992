"""The yield report, and the card that leaves the shop with a finished board."""

from __future__ import annotations

from collections.abc import Mapping

from flask import Blueprint, flash, redirect, render_template, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response

from inventory.layout.end_grain_rows import sliced_boards
from inventory.layout.positions import FillLayout
from inventory.services.boards import board_card, making, strip_order, yield_report
from inventory.services.boards.board_card import NotCutYet
from inventory.services.boards.yield_report import YieldReport
from inventory.storage.records import BoardRecord
from inventory.web.boards.board_view import board_offcuts, textures_of
from inventory.web.drawings import yield_charts as drawings
from inventory.web.drawings.finished_board import draw_glued_board, draw_sliced
from inventory.web.drawings.hatching import HatchPatterns
from inventory.web.drawings.photo_texture import Texture
from inventory.web.request_context import current_shop
from inventory.web.template_filters import percent, volume

blueprint = Blueprint("yield_report", __name__)

MAX_LISTED = 100


@blueprint.get("/boards/yield-report")
def page() -> str:
    """Yield by month and by board, and what became of all wood tagged."""
    life = yield_report.yield_report(current_shop())
    where = _wood_use(life)
    return render_template(
        "boards/yield_report.html",
        life=life,
        where=where,
        boards=life.boards[:MAX_LISTED],
        yields_drawing=drawings.draw_monthly_yield(life.months, percent),
        where_drawing=drawings.draw_wood_use(where, volume),
    )


def _wood_use(life: YieldReport) -> list[tuple[str, int]]:
    return [
        ("in finished boards", life.in_boards),
        ("in boards that are cut", life.in_cut),
        ("lost in making them", life.lost),
        ("still in the shop", life.here),
        ("used otherwise or let go", life.gone),
    ]


@blueprint.get("/boards/<int:number>/card")
def card(number: int) -> str | Response:
    """The card to print for a board; of boards made together one for each kind."""
    board = making.board(current_shop(), number)
    try:
        cards = board_card.cards_of(board)
    except NotCutYet as error:
        flash(str(error), "stop")
        return redirect(url_for("boards.board", number=number), 303)
    textures = textures_of(board_offcuts(board))
    fill_layout, hatchings = strip_order.laid_out(board), _hatchings(board)
    pictures = [_picture(fill_layout, each.boards[0], textures, hatchings) for each in cards]
    return render_template("boards/board_card.html", board=board, cards=list(zip(cards, pictures, strict=True)))


def _hatchings(board: BoardRecord) -> HatchPatterns:
    return HatchPatterns.of(cut.offcut.species for cut in board.fill.cuts)


def _picture(fill_layout: FillLayout, number: int, textures: Mapping[str, Texture], hatchings: HatchPatterns) -> Markup:
    """The board of this number drawn: sliced from panels, or a glue-up of its own."""
    name = f"card-{number}"
    for sliced in sliced_boards(fill_layout):
        if sliced.board == number:
            return draw_sliced(sliced, hatchings, name)
    glued = [layout for layout in fill_layout.layouts if layout.planned.board == number]
    return draw_glued_board(glued[0], textures, hatchings, name)
