"""Phones and other browsers that were let in, each of which can be turned away alone."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Makes the table of them."""
    op.create_table(
        "devices",
        sa.Column("id", sa.Integer, nullable=False),
        *[sa.Column(name, sa.Text, nullable=False) for name in ("name", "key_hash", "entry", "joined_at", "seen_at")],
        sa.Column("ended_at", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_devices"),
        sqlite_autoincrement=True,
    )
