"""The glue-ups of requests: boards, and the panels of end-grain boards (cutting model, sections 6 and 8)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from inventory.core.lengths import Length
from inventory.cutting.end_grain import STANDARD_DEPTHS, Panel, panels_for
from inventory.fill.plan import PlannedGlueUp
from inventory.fill.request import MAX_BOARD_SIZE, BoardRequest, Grain, InvalidRequest, PanelSpec


def glue_ups_for(requests: Sequence[BoardRequest]) -> tuple[PlannedGlueUp, ...]:
    """Every glue-up of these requests, board after board; an end-grain request must have its row depth chosen.

    Raises InvalidRequest where a panel would be longer than any board.
    """
    glue_ups: list[PlannedGlueUp] = []
    board = 0
    for request in requests:
        for _ in range(request.count):
            glue_ups += _glue_ups_for_board(replace(request, count=1), board)
            board += 1
    return tuple(glue_ups)


def _glue_ups_for_board(request: BoardRequest, board: int) -> list[PlannedGlueUp]:
    if request.grain is not Grain.END:
        return [PlannedGlueUp(board, 0, 0, request)]
    depth = request.panel.row_depth
    if depth is None:
        raise ValueError("the row depth of an end-grain board must be chosen first")
    panels = _panels(request, depth)
    if panels[0].length > MAX_BOARD_SIZE:
        raise InvalidRequest(
            f"A panel of {panels[0].rows} rows would be over 10 m long. Ask for more panels, or for deeper rows.",
            "panel",
        )
    # The panel is wider by what is trimmed off the rows' sides after the second glue-up (sections 6 and 7).
    a = request.allowances
    allowances = a.with_value("side_trim", Length(a.side_trim + a.row_trim))
    return [
        PlannedGlueUp(
            board,
            number,
            panel.rows,
            replace(
                request,
                length=panel.length,
                width=panel.width,
                thickness=panel.depth,
                grain=request.panel.grain,
                panel=PanelSpec(),
                allowances=allowances,
            ),
            request.length,
        )
        for number, panel in enumerate(panels)
    ]


def _panels(request: BoardRequest, depth: Length) -> tuple[Panel, ...]:
    return panels_for(request.length, request.width, request.thickness, depth, request.panel.panels, request.allowances)


def candidate_depths(request: BoardRequest) -> tuple[Length, ...]:
    """The row depths to try, the largest first: the one chosen, else the nominal thicknesses of the request's unit.

    Those that make a panel too long are left out, unless all do. None where the board is shorter than all of them.
    """
    if request.panel.row_depth is not None:
        return (request.panel.row_depth,)
    depths = tuple(depth for depth in STANDARD_DEPTHS[request.unit] if depth <= request.length)
    return tuple(depth for depth in depths if _panels(request, depth)[0].length <= MAX_BOARD_SIZE) or depths


def has_open_depth(request: BoardRequest) -> bool:
    """Whether an end-grain board is asked for without a row depth."""
    return request.grain is Grain.END and request.panel.row_depth is None


def with_each_depth(request: BoardRequest) -> list[BoardRequest]:
    """The request with each row depth to try, itself where it needs none. Raises InvalidRequest where there is none."""
    if not has_open_depth(request):
        return [request]
    depths = candidate_depths(request)
    if not depths:
        raise InvalidRequest(
            "The board is shorter than the smallest usual row depth: nothing can be turned up. Type a row depth.",
            "panel",
        )
    return [with_depth(request, depth) for depth in depths]


def with_depth(request: BoardRequest, depth: Length) -> BoardRequest:
    """The request with this row depth chosen."""
    return replace(request, panel=replace(request.panel, row_depth=depth))
