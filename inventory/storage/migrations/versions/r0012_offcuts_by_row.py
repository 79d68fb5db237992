"""Plans and strip orders of boards name an offcut by its row instead of its tag's code, which can be replaced."""

from __future__ import annotations

import json
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Rewrites the documents of every board."""
    connection = op.get_bind()
    rows = {
        code: offcut
        for statement in ("SELECT code, offcut_id FROM former_codes", "SELECT code, id FROM offcuts")
        for code, offcut in connection.execute(sa.text(statement))
    }
    for board in connection.execute(sa.text("SELECT id, fill, strip_order FROM boards")).all():
        order = None if board.strip_order is None else _by_row(json.loads(board.strip_order), rows)
        values = {
            "id": board.id,
            "fill": json.dumps(_by_row(json.loads(board.fill), rows), ensure_ascii=False),
            "strip_order": None if order is None else json.dumps(order, ensure_ascii=False),
        }
        connection.execute(sa.text("UPDATE boards SET fill = :fill, strip_order = :strip_order WHERE id = :id"), values)


def _by_row(document: Any, rows: dict[str, int]) -> Any:
    """The document with `offcut` and a row in the place of every `tag` and its code."""
    if isinstance(document, list):
        return [_by_row(each, rows) for each in document]
    if not isinstance(document, dict):
        return document
    return {
        "offcut_id" if key == "tag" else key: rows[each] if key == "tag" else _by_row(each, rows)
        for key, each in document.items()
    }
