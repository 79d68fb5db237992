"""Which glue-ups a request asks for: boards, and the panels of end-grain boards (cutting model, sections 6 and 8).

Knows how a request becomes edge- and face-grain glue-ups. Knows no rule of cutting.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from inventory.core.lengths import NM_PER_INCH, Length
from inventory.cutting.end_grain import COMMON_DEPTHS_INCH, COMMON_DEPTHS_MM, Panel, panels_for
from inventory.fill.plan import GlueUpTold
from inventory.fill.request import MOST_BOARD, BoardRequest, Grain, NotARequest, PanelWish


def glue_ups_of(requests: Sequence[BoardRequest]) -> tuple[GlueUpTold, ...]:
    """Every glue-up of these requests, board after board; an end-grain request has its row depth chosen.

    Raises NotARequest where a panel would be longer than any board.
    """
    told: list[GlueUpTold] = []
    board = 0
    for request in requests:
        for _ in range(request.count):
            told += _of_one(replace(request, count=1), board)
            board += 1
    return tuple(told)


def _of_one(request: BoardRequest, board: int) -> list[GlueUpTold]:
    if request.grain is not Grain.END:
        return [GlueUpTold(board, 0, 0, request)]
    depth = request.panel.row_depth
    if depth is None:
        raise ValueError("the row depth of an end-grain board must be chosen first")
    panels = _panels(request, depth)
    if panels[0].length > MOST_BOARD:
        raise NotARequest(
            f"A panel of {panels[0].rows} rows would be over 10 m long. Ask for more panels, or for deeper rows.",
            "panel",
        )
    return [
        GlueUpTold(
            board,
            number,
            panel.rows,
            replace(
                request,
                length=panel.length,
                width=panel.width,
                thickness=panel.depth,
                grain=request.panel.grain,
                panel=PanelWish(),
            ),
            request.length,
        )
        for number, panel in enumerate(panels)
    ]


def _panels(request: BoardRequest, depth: Length) -> tuple[Panel, ...]:
    return panels_for(request.length, request.width, request.thickness, depth, request.panel.panels, request.allowances)


def depths_to_try(request: BoardRequest) -> tuple[Length, ...]:
    """The row depths to try, the largest first: the one chosen, else the common thicknesses of clean stock.

    Those that make a panel too long are left out, unless all do.
    """
    if request.panel.row_depth is not None:
        return (request.panel.row_depth,)
    inch_shop = request.length % (NM_PER_INCH // 64) == 0
    common = COMMON_DEPTHS_INCH if inch_shop else COMMON_DEPTHS_MM
    depths = tuple(depth for depth in common if depth <= request.length)
    return tuple(depth for depth in depths if _panels(request, depth)[0].length <= MOST_BOARD) or depths


def with_depth(request: BoardRequest, depth: Length) -> BoardRequest:
    """The request with this row depth chosen."""
    return replace(request, panel=replace(request.panel, row_depth=depth))
