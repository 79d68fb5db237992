"""Label stocks of the shop's own, and how each stock is printed."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def _texts(*names: str) -> list[sa.Column[str]]:
    return [sa.Column(name, sa.Text, nullable=False) for name in names]


def _wholes(*names: str) -> list[sa.Column[int]]:
    return [sa.Column(name, sa.Integer, nullable=False) for name in names]


def _maybe(*names: str) -> list[sa.Column[int]]:
    return [sa.Column(name, sa.Integer) for name in names]


def upgrade() -> None:
    """Makes the two tables."""
    op.create_table(
        "label_stocks",
        *_texts("key", "name", "kind"),
        *_wholes("page_width_nm", "page_height_nm", "columns", "rows", "cell_width_nm", "cell_height_nm"),
        *_wholes("left_nm", "top_nm", "across_nm", "down_nm", "corner_nm"),
        *_maybe("hole_across_nm", "hole_down_nm", "hole_diameter_nm"),
        *_wholes("version"),
        sa.PrimaryKeyConstraint("key", name="pk_label_stocks"),
        sa.CheckConstraint("kind IN ('sheet', 'roll')", name=op.f("ck_label_stocks_kind")),
    )
    op.create_table(
        "label_printing",
        *_texts("stock_key", "tone"),
        *_wholes("dpi"),
        *_maybe("across_nm", "down_nm", "left_nm", "top_nm"),
        sa.PrimaryKeyConstraint("stock_key", name="pk_label_printing"),
        sa.CheckConstraint("tone IN ('grey', 'black and white')", name=op.f("ck_label_printing_tone")),
    )
