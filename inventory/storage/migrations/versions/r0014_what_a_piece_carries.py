"""Pieces carry marks, a moisture content with the day on which it was read, and a batch."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Adds the columns, empty for the pieces that are there, and an index for the batches."""
    op.add_column("offcuts", sa.Column("marks", sa.Text, nullable=False, server_default="[]"))
    op.add_column("offcuts", sa.Column("moisture_tenths", sa.Integer))
    op.add_column("offcuts", sa.Column("moisture_on", sa.Text))
    for name in ("batch", "batch_key"):
        op.add_column("offcuts", sa.Column(name, sa.Text, nullable=False, server_default=""))
    op.create_index("ix_offcuts_batch_key", "offcuts", ["batch_key", "id"], sqlite_where=sa.text("batch_key != ''"))
