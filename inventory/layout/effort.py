"""What a fill asks of the person, and what comes of it: its work, and its finished boards.

In words: `inventory.wording.effort_text`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.core.lengths import Length
from inventory.core.workshop import Workshop
from inventory.fill.plan import Fill
from inventory.fill.request import BoardRequest
from inventory.layout.finished_board import FinishedBoard, finished_boards
from inventory.layout.operations import Operations, operations_for


@dataclass(frozen=True)
class Effort:
    """The work of a fill, and its boards as they will be."""

    operations: Operations
    boards: tuple[FinishedBoard, ...]


def estimate_effort(
    fill: Fill, request: BoardRequest, workshop: Workshop, strip_widths: Sequence[Sequence[Length]] = ()
) -> Effort:
    """The effort of a fill of this request in this workshop.

    `strip_widths` are the widths of the strips of each glue-up in the order in which they
    lie; without it they are taken as the cuts come.
    """
    return Effort(
        operations=operations_for(fill.cuts, fill.glue_ups, workshop, strip_widths),
        boards=finished_boards(fill.cuts, fill.glue_ups, request, workshop),
    )
