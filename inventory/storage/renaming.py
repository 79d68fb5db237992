"""A piece's new code in the documents of the boards that took it, so that a board still names its offcuts."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select, update

from inventory.storage.tables import BOARDS, TAKEN


def replace_code_in_boards(connection: Connection, offcut: int, old: str, new: str, now: datetime) -> None:
    """Writes the new code into every board that took the piece in this row, and counts the board's version on."""
    took = select(TAKEN.c.board_id).where(TAKEN.c.offcut_id == offcut)
    for row in connection.execute(select(BOARDS).where(BOARDS.c.id.in_(took))).all():
        changed = {
            name: _renamed(text, old, new)
            for name, text in (("fill", row.fill), ("strip_order", row.strip_order))
            if text is not None
        }
        stamp = {"version": row.version + 1, "changed_at": now.isoformat()}
        connection.execute(update(BOARDS).where(BOARDS.c.id == row.id).values(changed | stamp))


def _renamed(text: str, old: str, new: str) -> str:
    return json.dumps(_replace_tags(json.loads(text), old, new), ensure_ascii=False)


def _replace_tags(document: Any, old: str, new: str) -> Any:
    if isinstance(document, dict):
        return {
            key: new if key == "tag" and each == old else _replace_tags(each, old, new)
            for key, each in document.items()
        }
    return [_replace_tags(each, old, new) for each in document] if isinstance(document, list) else document
