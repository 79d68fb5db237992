"""The effort of a set as pages show it: figures to compare, and sentences.

The words themselves are those of `inventory.wording.effort_text`, the same as on the command line.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from inventory.core.lengths import Display
from inventory.core.workshop import Workshop
from inventory.cutting.bands import StripeBand
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest
from inventory.layout.effort import Effort, estimate_effort
from inventory.layout.finished_board import BoardWeight
from inventory.layout.positions import GlueUpLayout
from inventory.wording.effort_text import (
    format_basis,
    format_boards,
    format_changes,
    format_cutting,
    format_glue_spreads,
    format_gluing,
    format_weights,
)


@dataclass(frozen=True)
class EffortView:
    """What a set asks of the person, what its board will be, and what that rests on."""

    cutting: tuple[str, ...]
    gluing: tuple[str, ...]
    board: tuple[str, ...]
    basis: tuple[str, ...]
    figures: tuple[tuple[str, str], ...]


def build_effort_view(
    fill: Fill, request: BoardRequest, layouts: Sequence[GlueUpLayout], workshop: Workshop, display: Display
) -> EffortView:
    """The effort of a fill of this request whose glue-ups are laid out so."""
    strip_widths = [[strip.width for strip in layout.strips] for layout in layouts]
    effort = estimate_effort(fill, request, workshop, strip_widths)
    return EffortView(
        cutting=_nonbreaking(format_cutting(effort.operations, display)),
        gluing=_nonbreaking(format_gluing(effort.operations, workshop, display)),
        board=_nonbreaking(format_boards(effort.boards, workshop, display)),
        basis=_nonbreaking(format_basis([effort], workshop, display)),
        figures=tuple(_figures(effort, request, workshop, display)),
    )


def nonbreaking(text: str) -> str:
    """The text with its measures held together, so that no line ends within `5 3/16 in`."""
    return re.sub(r"(?<=×) (?=[\d≈])|(?<=\d) (?=\d+/\d+|(?:in|mm|lb|kg)\b|[%°])", "\N{NO-BREAK SPACE}", text)


def _nonbreaking(sentences: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(nonbreaking(each) for each in sentences)


def _figures(effort: Effort, request: BoardRequest, workshop: Workshop, display: Display) -> list[tuple[str, str]]:
    """As (term, value), the same terms for every set of a request."""
    set_ups, boards = effort.operations.set_ups, effort.boards
    figures = [("Fence set-ups", str(len(set_ups.fence))), ("Stop set-ups", str(len(set_ups.stop)))]
    if any(isinstance(band, StripeBand) for band in request.bands):
        figures.append(("Resaw set-ups", str(len(set_ups.resaw))))
    figures.append(("Glue spread", format_glue_spreads(effort.operations)))
    figures.append(("Board's weight", format_known_weights([board.weight for board in boards], display)))
    for name in dict.fromkeys(change.name for board in boards for change in board.changes):
        moves = [change for board in boards for change in board.changes if change.name == name]
        figures.append((f"{name.capitalize()} moves by", format_changes(moves, workshop.sawn, display)))
    return figures


def format_known_weights(weights: Sequence[BoardWeight], display: Display) -> str:
    """What boards weigh; the weight of some is not to be read as that of all."""
    known = [weight for weight in weights if weight.kilograms is not None]
    shown = format_weights(known, display)
    return f"{shown} where known" if 0 < len(known) < len(weights) else shown
