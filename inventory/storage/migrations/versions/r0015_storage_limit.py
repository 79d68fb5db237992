"""The setting for the wood that the shop wants to keep is called storage_limit."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Renames the setting."""
    op.execute(sa.text("UPDATE settings SET name = 'storage_limit' WHERE name = 'rack_room'"))
