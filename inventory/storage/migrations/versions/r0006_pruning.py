"""Usual boards, pieces to be kept whatever comes, what was found to be needed, and lists to walk the rack with."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def _texts(*names: str) -> list[sa.Column[str]]:
    return [sa.Column(name, sa.Text, nullable=False) for name in names]


def _wholes(*names: str) -> list[sa.Column[int]]:
    return [sa.Column(name, sa.Integer, nullable=False) for name in names]


def upgrade() -> None:
    """Makes the five tables."""
    op.create_table(
        "usual_boards",
        *_wholes("id"),
        *_texts("name", "request"),
        *_wholes("hundredths"),
        *_texts("months", "made_at"),
        sa.Column("taken_off_at", sa.Text),
        *_wholes("version"),
        sa.PrimaryKeyConstraint("id", name="pk_usual_boards"),
        sa.CheckConstraint("hundredths > 0", name=op.f("ck_usual_boards_hundredths")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "pins",
        *_wholes("offcut_id"),
        *_texts("at"),
        sa.PrimaryKeyConstraint("offcut_id", name="pk_pins"),
        sa.ForeignKeyConstraint(["offcut_id"], ["offcuts.id"], name="fk_pins_offcut_id"),
    )
    op.create_table(
        "forecasts",
        *_wholes("id"),
        *_texts("made_at", "document"),
        sa.PrimaryKeyConstraint("id", name="pk_forecasts"),
    )
    op.create_table(
        "walks",
        *_wholes("id"),
        *_texts("made_at", "document"),
        sa.Column("ended_at", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_walks"),
        sqlite_autoincrement=True,
    )
    _make_entries()


def _make_entries() -> None:
    op.create_table(
        "walk_entries",
        *_wholes("walk_id", "offcut_id", "place", "pieces"),
        *_texts("reason", "decision"),
        sa.Column("way", sa.Text),
        sa.Column("decided_at", sa.Text),
        sa.PrimaryKeyConstraint("walk_id", "offcut_id", name="pk_walk_entries"),
        sa.ForeignKeyConstraint(["walk_id"], ["walks.id"], name="fk_walk_entries_walk_id"),
        sa.ForeignKeyConstraint(["offcut_id"], ["offcuts.id"], name="fk_walk_entries_offcut_id"),
        sa.CheckConstraint("pieces >= 1", name=op.f("ck_walk_entries_pieces")),
        sa.CheckConstraint("decision IN ('waiting', 'gone', 'kept')", name=op.f("ck_walk_entries_decision")),
    )
    op.create_index("ix_walk_entries_offcut_id", "walk_entries", ["offcut_id"])
