"""Which glue-ups a request asks for, recomputed (cutting model, sections 6 and 8).

Lengths are whole nanometers.

Where the model leaves room, this is the reading: the longest panels come first; a row
depth that was not asked for is taken from the plan, and must be a nominal thickness no
longer than the board. In an order of different boards the strips of an offcut may go to
any that ask for the same species in the same band, at the same length and thickness, of
any width.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from inventory.core.lengths import Length, Unit, mm_text
from inventory.fill.plan import Fill, PlannedGlueUp
from inventory.fill.request import BoardRequest, Grain


@dataclass(frozen=True)
class ExpectedGlueUp:
    """One glue-up: of which board, which of its panels, how many rows are sliced from it, and what it is."""

    board: int
    panel: int
    rows: int
    made: BoardRequest


def glue_ups(request: BoardRequest, depth: Length | None) -> list[ExpectedGlueUp]:
    """Every glue-up of every board asked for; `depth` is the depth of a row of end grain."""
    if request.grain is not Grain.END or depth is None:
        return [ExpectedGlueUp(board, 0, 0, _alone(request)) for board in range(request.count)]
    made = []
    for board in range(request.count):
        for panel, rows in enumerate(
            _shared_out(-(-(request.length + request.allowances.side_trim) // depth), request)
        ):
            slice_length = request.thickness + request.allowances.flattening
            length = rows * slice_length + (rows - 1) * request.allowances.crosscut_kerf
            # w* = Wb + side_trim + row_trim; the two outermost fields get half of both each (section 7).
            a = request.allowances
            wider = a.with_value("side_trim", Length(a.side_trim + a.row_trim))
            panel_request = replace(
                _alone(request),
                length=Length(length),
                thickness=depth,
                grain=request.panel.grain,
                allowances=wider,
            )
            made.append(ExpectedGlueUp(board, panel, rows, panel_request))
    return made


def all_glue_ups(requests: Sequence[BoardRequest], fill: Fill) -> list[ExpectedGlueUp]:
    """Every glue-up of all boards of an order, the boards counted on from request to request."""
    made: list[ExpectedGlueUp] = []
    boards = 0
    for request in requests:
        here = glue_ups(request, request.panel.row_depth or _planned_depth(fill, boards))
        made += [replace(each, board=each.board + boards) for each in here]
        boards += request.count
    return made


NOMINAL_DEPTHS = {
    Unit.INCH: [eighths * 25_400_000 // 8 for eighths in (6, 7, 8, 10, 12, 14, 16)],
    Unit.MILLIMETER: [mm * 1_000_000 for mm in (18, 20, 22, 25, 30, 35, 40, 45, 50)],
}


def wrong_row_depths(requests: Sequence[BoardRequest], fill: Fill) -> Iterator[str]:
    """Where a row depth that was not asked for is none of the nominal ones, or the runner-up is none."""
    boards = 0
    depths = []
    for request in requests:
        if request.grain is Grain.END and request.panel.row_depth is None:
            depths.append((request, _planned_depth(fill, boards)))
        boards += request.count
    second = fill.row_depth_runner_up
    if second is not None:
        if len(requests) > 1 or not depths or second.row_depth == depths[0][1]:
            yield "its second-best row depth is the best one, or one that nobody asked for."
        depths.append((requests[0], second.row_depth))
    for request, depth in depths:
        if depth is None or depth > request.length or depth not in NOMINAL_DEPTHS[request.unit]:
            yield f"rows are {'not' if depth is None else mm_text(depth) + ' mm'} deep; no such depth is nominal."


def _planned_depth(fill: Fill, board: int) -> Length | None:
    return next((each.request.thickness for each in fill.glue_ups if each.board == board), None)


def _alone(request: BoardRequest) -> BoardRequest:
    return replace(request, count=1)


def _shared_out(rows: int, request: BoardRequest) -> list[int]:
    """R rows as evenly as possible on J panels."""
    panels = min(request.panel.panels, rows)
    each, more = divmod(rows, panels)
    return [each + (panel < more) for panel in range(panels)]


def wrong_glue_ups(expected: Sequence[ExpectedGlueUp], stated: Sequence[PlannedGlueUp]) -> Iterator[str]:
    """Where the plan states other glue-ups than were asked for."""
    if len(stated) != len(expected):
        yield f"it states {len(stated)} glue-ups; asked for were {len(expected)}."
        return
    for number, (said, right) in enumerate(zip(stated, expected, strict=True)):
        if (said.board, said.panel, said.rows) != (right.board, right.panel, right.rows):
            yield (
                f"glue-up {number} is said to be panel {said.panel} of board {said.board} with {said.rows} rows; "
                f"it is panel {right.panel} of board {right.board} with {right.rows}."
            )
        if _what(said.request) != _what(right.made):
            yield f"glue-up {number} is said to be {_sizes(said.request)}; it is {_sizes(right.made)}."


def _what(made: BoardRequest) -> tuple[object, ...]:
    return (made.length, made.width, made.thickness, made.grain, made.bands, made.allowances)


def _sizes(made: BoardRequest) -> str:
    sizes = " × ".join(mm_text(size) for size in (made.length, made.width, made.thickness))
    return f"{sizes} mm in {made.grain.value} grain"
