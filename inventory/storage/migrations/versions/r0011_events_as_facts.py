"""What an event was about is in columns; until now a sentence said it.

Events of before keep their sentence. Read from it once: how many like pieces the tag had when a prune checklist
removed some of them, which the way back needs.
"""

from __future__ import annotations

import re

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

_KINDS = (
    "'tagged', 'came back from a cut', 'changed', 'photo', 'set aside', 'put back', 'cut', 'cut undone', 'used', "
    "'let go', 'taken back', 'label printed', 'seen', 'missed'"
)


def upgrade() -> None:
    """Makes the table anew, moves the events over, then finds those of the prune checklists."""
    op.rename_table("events", "events_before")
    op.drop_index("ix_events_offcut_id", "events_before")
    op.create_table(
        "events",
        *(sa.Column(name, sa.Integer, nullable=False) for name in ("id", "offcut_id")),
        *(sa.Column(name, sa.Text, nullable=False) for name in ("at", "kind")),
        *(sa.Column(name, sa.Integer) for name in ("pieces", "bundle", "board_id", "stock_check_id", "checklist_id")),
        sa.Column("action", sa.Text),
        sa.Column("note", sa.Text, nullable=False),
        *(sa.Column(name, sa.Text) for name in ("before", "after", "sentence")),
        sa.PrimaryKeyConstraint("id", name="pk_events"),
        sa.ForeignKeyConstraint(["offcut_id"], ["offcuts.id"], name="fk_events_offcut_id"),
        sa.ForeignKeyConstraint(["board_id"], ["boards.id"], name="fk_events_board_id"),
        sa.ForeignKeyConstraint(["stock_check_id"], ["stock_checks.id"], name="fk_events_stock_check_id"),
        sa.ForeignKeyConstraint(["checklist_id"], ["prune_checklists.id"], name="fk_events_checklist_id"),
        sa.CheckConstraint(f"kind IN ({_KINDS})", name=op.f("ck_events_kind")),
        sqlite_autoincrement=True,
    )
    op.execute(
        "INSERT INTO events (id, offcut_id, at, kind, pieces, note, sentence) "
        "SELECT id, offcut_id, at, kind, pieces, '', detail FROM events_before ORDER BY id"
    )
    op.drop_table("events_before")
    op.create_index("ix_events_offcut_id", "events", ["offcut_id"])
    _find_checklists()


def _find_checklists() -> None:
    connection = op.get_bind()
    gone = connection.execute(
        sa.text(
            "SELECT checklist_id, offcut_id, pieces, reason, disposal FROM prune_checklist_entries "
            "WHERE decision = 'gone' ORDER BY checklist_id"
        )
    ).all()
    for entry in gone:
        whole = f"{entry.disposal}: {entry.reason}"
        share = re.compile(f"{re.escape(entry.disposal)}, {entry.pieces} of ([0-9]+): {re.escape(entry.reason)}")
        events = connection.execute(
            sa.text("SELECT id, sentence FROM events WHERE offcut_id = :offcut AND kind = 'let go' ORDER BY id DESC"),
            {"offcut": entry.offcut_id},
        ).all()
        for event in events:
            part = share.fullmatch(event.sentence)
            if part or event.sentence == whole:
                bundle = int(part[1]) if part else entry.pieces
                connection.execute(
                    sa.text("UPDATE events SET checklist_id = :checklist, bundle = :bundle WHERE id = :id"),
                    {"checklist": entry.checklist_id, "bundle": bundle, "id": event.id},
                )
                break
