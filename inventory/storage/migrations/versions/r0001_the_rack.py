"""The rack, its history, boards and settings: the first tables of all."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_STATES = "'on the rack', 'set aside', 'used up', 'let go'"
_FACES = "'rough', 'planed', 'finished'"
_BOARD_STATES = "'set aside', 'cut', 'finished', 'abandoned'"
_EVENTS = (
    "'tagged', 'came back from a cut', 'changed', 'photo', 'set aside', 'put back', 'cut', 'cut undone', "
    "'used', 'let go', 'taken back', 'label printed'"
)


def upgrade() -> None:
    """Makes all tables."""
    _make_plain_tables()
    _make_boards()
    _make_offcuts()
    _make_what_hangs_on_offcuts()


def _texts(*names: str) -> list[sa.Column[str]]:
    return [sa.Column(name, sa.Text, nullable=False) for name in names]


def _wholes(*names: str) -> list[sa.Column[int]]:
    return [sa.Column(name, sa.Integer, nullable=False) for name in names]


def _id(table: str) -> list[sa.schema.SchemaItem]:
    return [sa.Column("id", sa.Integer, nullable=False), sa.PrimaryKeyConstraint("id", name=f"pk_{table}")]


def _check(table: str, name: str, rule: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(rule, name=op.f(f"ck_{table}_{name}"))


def _refers(table: str, column: str, to: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [to], name=f"fk_{table}_{column}")


def _make_plain_tables() -> None:
    op.create_table("settings", *_texts("name", "value"), sa.PrimaryKeyConstraint("name", name="pk_settings"))
    op.create_table("given_codes", *_texts("code", "given_at"), sa.PrimaryKeyConstraint("code", name="pk_given_codes"))
    op.create_table("forms", *_texts("key", "answer", "at"), sa.PrimaryKeyConstraint("key", name="pk_forms"))


def _make_boards() -> None:
    op.create_table(
        "boards",
        *_id("boards"),
        *_texts("name", "state", "request", "fill", "created_at", "changed_at"),
        *(sa.Column(name, sa.Text) for name in ("cut_at", "finished_at", "abandoned_at")),
        *_wholes("version"),
        _check("boards", "state", f"state IN ({_BOARD_STATES})"),
        sqlite_autoincrement=True,
    )


def _make_offcuts() -> None:
    op.create_table(
        "offcuts",
        *_id("offcuts"),
        *_texts("code", "species", "species_key"),
        *_wholes("length_nm", "width_nm", "thickness_nm", "volume_mm3"),
        *_texts("face_a", "face_b"),
        *_wholes("pieces", "set_aside"),
        *_texts("state", "location", "location_key", "notes", "searched", "tagged_on", "tagged_at"),
        *(sa.Column(name, sa.Integer) for name in ("parent_id", "from_board", "label_place")),
        *_wholes("version"),
        sa.UniqueConstraint("code", name="uq_offcuts_code"),
        _refers("offcuts", "code", "given_codes.code"),
        _refers("offcuts", "parent_id", "offcuts.id"),
        _refers("offcuts", "from_board", "boards.id"),
        _check("offcuts", "sizes", "length_nm > 0 AND width_nm > 0 AND thickness_nm > 0"),
        _check("offcuts", "pieces", "pieces >= 1"),
        _check("offcuts", "set_aside", "set_aside BETWEEN 0 AND pieces"),
        _check(
            "offcuts",
            "standing",
            "(state = 'set aside') = (set_aside = pieces) AND (state IN ('on the rack', 'set aside') OR set_aside = 0)",
        ),
        _check("offcuts", "state", f"state IN ({_STATES})"),
        _check("offcuts", "face_a", f"face_a IN ({_FACES})"),
        _check("offcuts", "face_b", f"face_b IN ({_FACES})"),
        sqlite_autoincrement=True,
    )
    for columns in (
        ["tagged_on", "id"],
        ["length_nm"],
        ["width_nm"],
        ["thickness_nm"],
        ["volume_mm3"],
        ["species_key", "code"],
        ["location_key", "code"],
        ["parent_id"],
        ["from_board"],
    ):
        op.create_index(f"ix_offcuts_{columns[0]}", "offcuts", columns)
    op.create_index("ix_offcuts_totals", "offcuts", ["state", "species_key", "pieces", "volume_mm3"])
    op.create_index(
        "ix_offcuts_label_place", "offcuts", ["label_place"], sqlite_where=sa.text("label_place IS NOT NULL")
    )


def _make_what_hangs_on_offcuts() -> None:
    op.create_table(
        "photos",
        *_id("photos"),
        *_wholes("offcut_id"),
        *_texts("digest"),
        *_wholes("width", "height"),
        sa.Column("place", sa.Integer),
        _refers("photos", "offcut_id", "offcuts.id"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "events",
        *_id("events"),
        *_wholes("offcut_id"),
        *_texts("at", "kind", "detail"),
        _refers("events", "offcut_id", "offcuts.id"),
        _check("events", "kind", f"kind IN ({_EVENTS})"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "taken",
        *_wholes("board_id", "offcut_id", "pieces", "emptied"),
        sa.PrimaryKeyConstraint("board_id", "offcut_id", name="pk_taken"),
        _refers("taken", "board_id", "boards.id"),
        _refers("taken", "offcut_id", "offcuts.id"),
        _check("taken", "pieces", "pieces >= 1"),
        _check("taken", "emptied", "emptied IN (0, 1)"),
    )
    op.create_table(
        "left_over",
        *_wholes("offcut_id", "board_id", "cut", "remainder", "undone"),
        sa.PrimaryKeyConstraint("offcut_id", name="pk_left_over"),
        _refers("left_over", "offcut_id", "offcuts.id"),
        _refers("left_over", "board_id", "boards.id"),
        _check("left_over", "undone", "undone IN (0, 1)"),
    )
    for table, column in (
        ("photos", "offcut_id"), ("events", "offcut_id"), ("taken", "offcut_id"), ("left_over", "board_id"),
    ):  # fmt: skip
        op.create_index(f"ix_{table}_{column}", table, [column])
