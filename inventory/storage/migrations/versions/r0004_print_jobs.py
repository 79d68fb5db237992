"""Labels on their way through a printer, so that a job that fails loses none."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Makes the tables of jobs and of the pieces whose labels they carry."""
    texts = [sa.Column(name, sa.Text, nullable=False) for name in ("printer", "stock", "title", "state", "reason")]
    op.create_table(
        "print_jobs",
        sa.Column("id", sa.Integer, nullable=False),
        *texts,
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("sent_at", sa.Text, nullable=False),
        sa.Column("ended_at", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_print_jobs"),
        sa.CheckConstraint("state IN ('queued', 'printing', 'printed', 'failed')", name=op.f("ck_print_jobs_state")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "print_labels",
        sa.Column("job_id", sa.Integer, nullable=False),
        sa.Column("offcut_id", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("job_id", "offcut_id", name="pk_print_labels"),
        sa.ForeignKeyConstraint(["job_id"], ["print_jobs.id"], name="fk_print_labels_job_id"),
        sa.ForeignKeyConstraint(["offcut_id"], ["offcuts.id"], name="fk_print_labels_offcut_id"),
    )
    op.create_index("ix_print_labels_offcut_id", "print_labels", ["offcut_id"])
    op.create_index("ix_print_jobs_ended_at", "print_jobs", ["ended_at"])
