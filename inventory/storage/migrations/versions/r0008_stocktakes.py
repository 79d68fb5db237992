"""When a piece was last seen, stocktakes with the tags seen in them, and two more words of a piece's history."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

_EVENTS = (
    "'tagged', 'came back from a cut', 'changed', 'photo', 'set aside', 'put back', 'cut', 'cut undone', 'used', "
    "'let go', 'taken back', 'label printed', 'seen', 'missed'"
)


def _texts(*names: str) -> list[sa.Column[str]]:
    return [sa.Column(name, sa.Text, nullable=False) for name in names]


def _wholes(*names: str) -> list[sa.Column[int]]:
    return [sa.Column(name, sa.Integer, nullable=False) for name in names]


def upgrade() -> None:
    """Makes the two tables, gives pieces a column, and makes the table of their history anew."""
    op.add_column("offcuts", sa.Column("seen_at", sa.Text))
    op.create_table(
        "stocktakes",
        *_wholes("id"),
        *_texts("location", "made_at"),
        sa.Column("ended_at", sa.Text),
        sa.Column("outcome", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_stocktakes"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "stocktake_seen",
        *_wholes("stocktake_id"),
        *_texts("code"),
        sa.Column("pieces", sa.Integer),
        *_texts("at"),
        sa.PrimaryKeyConstraint("stocktake_id", "code", name="pk_stocktake_seen"),
        sa.ForeignKeyConstraint(["stocktake_id"], ["stocktakes.id"], name="fk_stocktake_seen_stocktake_id"),
        sa.CheckConstraint("pieces >= 1", name=op.f("ck_stocktake_seen_pieces")),
    )
    _more_words()


def _more_words() -> None:
    # SQLite can't change what a column may hold: the lines move over to a new table.
    op.rename_table("events", "events_before")
    op.drop_index("ix_events_offcut_id", "events_before")
    op.create_table(
        "events",
        *_wholes("id", "offcut_id"),
        *_texts("at", "kind", "detail"),
        sa.PrimaryKeyConstraint("id", name="pk_events"),
        sa.ForeignKeyConstraint(["offcut_id"], ["offcuts.id"], name="fk_events_offcut_id"),
        sa.CheckConstraint(f"kind IN ({_EVENTS})", name=op.f("ck_events_kind")),
        sqlite_autoincrement=True,
    )
    op.execute(
        "INSERT INTO events (id, offcut_id, at, kind, detail) SELECT id, offcut_id, at, kind, detail FROM events_before"
    )
    op.drop_table("events_before")
    op.create_index("ix_events_offcut_id", "events", ["offcut_id"])
