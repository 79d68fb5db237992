"""Codes of tags that were lost and replaced; each still leads to its piece."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Makes the table of them."""
    op.create_table(
        "former_codes",
        sa.Column("code", sa.Text, nullable=False),
        sa.Column("offcut_id", sa.Integer, nullable=False),
        sa.Column("replaced_at", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("code", name="pk_former_codes"),
        sa.ForeignKeyConstraint(["code"], ["given_codes.code"], name="fk_former_codes_code"),
        sa.ForeignKeyConstraint(["offcut_id"], ["offcuts.id"], name="fk_former_codes_offcut_id"),
    )
    op.create_index("ix_former_codes_offcut_id", "former_codes", ["offcut_id"])
