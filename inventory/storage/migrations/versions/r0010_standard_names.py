"""Tables under standard names; truth values are booleans, and the months of a usual board are a JSON list."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def _texts(*names: str) -> list[sa.Column[str]]:
    return [sa.Column(name, sa.Text, nullable=False) for name in names]


def _wholes(*names: str) -> list[sa.Column[int]]:
    return [sa.Column(name, sa.Integer, nullable=False) for name in names]


def _refers(table: str, column: str, to: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [to], name=f"fk_{table}_{column}")


def _check(table: str, name: str, rule: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(rule, name=op.f(f"ck_{table}_{name}"))


def upgrade() -> None:
    """Makes the tables anew and moves their rows over: SQLite can't rename a constraint."""
    _move(
        "forms",
        "idempotency_keys",
        *_texts("key", "answer", "at"),
        sa.PrimaryKeyConstraint("key", name="pk_idempotency_keys"),
    )
    _move(
        "taken",
        "board_offcuts",
        *_wholes("board_id", "offcut_id", "pieces"),
        sa.Column("emptied", sa.Boolean, nullable=False),
        sa.PrimaryKeyConstraint("board_id", "offcut_id", name="pk_board_offcuts"),
        _refers("board_offcuts", "board_id", "boards.id"),
        _refers("board_offcuts", "offcut_id", "offcuts.id"),
        _check("board_offcuts", "pieces", "pieces >= 1"),
    )
    op.create_index("ix_board_offcuts_offcut_id", "board_offcuts", ["offcut_id"])
    _move(
        "left_over",
        "leftovers",
        *_wholes("offcut_id", "board_id", "cut", "leftover"),
        sa.Column("undone", sa.Boolean, nullable=False),
        sa.PrimaryKeyConstraint("offcut_id", name="pk_leftovers"),
        _refers("leftovers", "offcut_id", "offcuts.id"),
        _refers("leftovers", "board_id", "boards.id"),
        former={"leftover": "remainder"},
    )
    op.create_index("ix_leftovers_board_id", "leftovers", ["board_id"])
    _move(
        "pins",
        "pinned_offcuts",
        *_wholes("offcut_id"),
        *_texts("at"),
        sa.PrimaryKeyConstraint("offcut_id", name="pk_pinned_offcuts"),
        _refers("pinned_offcuts", "offcut_id", "offcuts.id"),
    )
    _move_checklists()
    _move_stock_checks()
    op.execute("UPDATE usual_boards SET months = '[' || months || ']'")


def _move_checklists() -> None:
    _move(
        "walks",
        "prune_checklists",
        *_wholes("id"),
        *_texts("made_at", "document"),
        sa.Column("ended_at", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_prune_checklists"),
        autoincrement=True,
    )
    _move(
        "walk_entries",
        "prune_checklist_entries",
        *_wholes("checklist_id", "offcut_id", "place", "pieces"),
        *_texts("reason", "decision"),
        sa.Column("disposal", sa.Text),
        sa.Column("decided_at", sa.Text),
        sa.PrimaryKeyConstraint("checklist_id", "offcut_id", name="pk_prune_checklist_entries"),
        _refers("prune_checklist_entries", "checklist_id", "prune_checklists.id"),
        _refers("prune_checklist_entries", "offcut_id", "offcuts.id"),
        _check("prune_checklist_entries", "pieces", "pieces >= 1"),
        _check("prune_checklist_entries", "decision", "decision IN ('waiting', 'gone', 'kept')"),
        former={"checklist_id": "walk_id", "disposal": "way"},
    )
    op.create_index("ix_prune_checklist_entries_offcut_id", "prune_checklist_entries", ["offcut_id"])


def _move_stock_checks() -> None:
    _move(
        "stocktakes",
        "stock_checks",
        *_wholes("id"),
        *_texts("location", "made_at"),
        sa.Column("ended_at", sa.Text),
        sa.Column("outcome", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_stock_checks"),
        autoincrement=True,
    )
    _move(
        "stocktake_seen",
        "stock_check_sightings",
        *_wholes("stock_check_id"),
        *_texts("code"),
        sa.Column("pieces", sa.Integer),
        *_texts("at"),
        sa.PrimaryKeyConstraint("stock_check_id", "code", name="pk_stock_check_sightings"),
        _refers("stock_check_sightings", "stock_check_id", "stock_checks.id"),
        _check("stock_check_sightings", "pieces", "pieces >= 1"),
        former={"stock_check_id": "stocktake_id"},
    )


def _move(
    old: str,
    new: str,
    *items: sa.schema.SchemaItem,
    former: dict[str, str] | None = None,
    autoincrement: bool = False,
) -> None:
    """Makes the table `new`, copies the rows of `old` and drops it; `former` are the old names of renamed columns."""
    op.create_table(new, *items, sqlite_autoincrement=autoincrement)
    names = [each.name for each in items if isinstance(each, sa.Column)]
    before = [(former or {}).get(name, name) for name in names]
    op.execute(f"INSERT INTO {new} ({', '.join(names)}) SELECT {', '.join(before)} FROM {old} ORDER BY rowid")
    op.drop_table(old)
