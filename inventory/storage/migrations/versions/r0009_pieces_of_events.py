"""How many like pieces an event moved is a column of its own; until now it was read from the event's sentence."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import groupby
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

_SHARE = {
    "used": re.compile(r"([0-9]+) of ([0-9]+)(?:$|: |, )"),
    "let go": re.compile(r"[a-z ]+, ([0-9]+) of ([0-9]+)(?:$|: )"),
}
"""How a sentence said that a part of a bundle went. A note can look the same: "3 of 4, the stool"."""


def upgrade() -> None:
    """Adds the column, then reads the old sentences once, piece by piece."""
    op.add_column("events", sa.Column("pieces", sa.Integer))
    connection = op.get_bind()
    rows = connection.execute(
        sa.text(
            "SELECT e.id, e.offcut_id, e.kind, e.detail, o.pieces AS count, o.state FROM events e "
            "JOIN offcuts o ON o.id = e.offcut_id WHERE e.kind IN ('used', 'let go', 'taken back', 'cut') "
            "ORDER BY e.offcut_id, e.id DESC"
        )
    ).all()
    values = [
        {"id": number, "pieces": pieces}
        for _, events in groupby(rows, key=lambda row: row.offcut_id)
        for number, pieces in _moved(list(events))
    ]
    if values:
        connection.execute(sa.text("UPDATE events SET pieces = :pieces WHERE id = :id"), values)


def _moved(events: list[Any]) -> Iterator[tuple[int, int]]:
    """How many pieces each event moved, the latest event first.

    An event after which the piece was gone took all of it, whatever its sentence looks like; any other one took the
    part that its sentence says.
    """
    gone: bool | None = events[0].state in ("used up", "let go")
    for event in events:
        if event.kind == "taken back":
            # A checklist wrote "was given away" and the like for a whole piece and for a part of a bundle.
            gone = True if event.detail.startswith(("was used up", "was let go")) else None
        elif event.kind == "cut":
            gone = False
        else:
            share = _SHARE[event.kind].match(event.detail)
            part, bundle = (int(share[1]), int(share[2])) if share else (0, 0)
            taken_whole = bool(gone) and (event.count == 1 or part != bundle)
            yield event.id, event.count if taken_whole or not part else part
            gone = False
