"""The user's own order of a board's strips; NULL where the proposed one stands."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Gives boards a column for it."""
    op.add_column("boards", sa.Column("strip_order", sa.Text))
