"""What became of the wood: yields, and the card that goes out of the shop with a finished board.

Knows these two pages. What is counted is `services.yielding`'s.
"""

from __future__ import annotations

from flask import Blueprint, render_template

from inventory.services import yielding
from inventory.services.yielding import WoodLife
from inventory.web.at_hand import current_shop
from inventory.web.drawings import yielding as drawings
from inventory.web.filters import percent, volume

blueprint = Blueprint("life", __name__)

MOST_LISTED = 100


@blueprint.get("/boards/yield")
def yields() -> str:
    """Yield by month and by board, and what became of all wood tagged."""
    life = yielding.wood_life(current_shop())
    where = _where(life)
    return render_template(
        "life/yield.html",
        life=life,
        where=where,
        boards=life.boards[:MOST_LISTED],
        yields_drawing=drawings.draw_yields(life.months, percent),
        where_drawing=drawings.draw_where(where, volume),
    )


def _where(life: WoodLife) -> list[tuple[str, int]]:
    return [
        ("in finished boards", life.in_boards),
        ("in boards that are cut", life.in_cut),
        ("lost in making them", life.lost),
        ("still in the shop", life.here),
        ("used otherwise or let go", life.gone),
    ]
