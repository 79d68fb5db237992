"""The tables of the shop's database, as the newest migration leaves them.

Lengths are INTEGER nanometers (`…_nm`), volumes whole mm³ of one piece. Moments and days are text that sorts
(`inventory.storage.types`).
"""

from __future__ import annotations

from enum import Enum
from typing import Any

from sqlalchemy import Boolean, CheckConstraint, Column, ForeignKey, Index, Integer, MetaData, Table, Text, text

from inventory.core.lengths import Length
from inventory.core.offcuts import Face, State
from inventory.storage.label_stock_records import PhotoTone, StockKind
from inventory.storage.records import BoardState, Decision, EventKind, PrintState
from inventory.storage.types import Day, EnumWord, Json, MarkWords, Moment, Nanometers, Tenths

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _one_of(column: str, words: type[Enum]) -> CheckConstraint:
    listed = ", ".join(f"'{word.value}'" for word in words)
    return CheckConstraint(f"{column} IN ({listed})", name=column)


def _whole(name: str, *constraints: CheckConstraint | ForeignKey, **options: bool | str) -> Column[int]:
    return Column(name, Integer, *constraints, nullable=False, **options)  # type: ignore[arg-type]


def _text(name: str) -> Column[str]:
    return Column(name, Text, nullable=False)


def _moment(name: str) -> Column[Any]:
    return Column(name, Moment, nullable=False)


def _word(name: str, words: type[Enum]) -> Column[Any]:
    return Column(name, EnumWord(words), nullable=False)


def _json(name: str) -> Column[Any]:
    return Column(name, Json, nullable=False)


def _length(name: str, *, nullable: bool = False) -> Column[Length]:
    return Column(f"{name}_nm", Nanometers, nullable=nullable)


SETTINGS = Table(
    "settings",
    METADATA,
    Column("name", Text, primary_key=True),
    _text("value"),
)

GIVEN_CODES = Table(
    "given_codes",
    METADATA,
    Column("code", Text, primary_key=True),
    _moment("given_at"),
)
"""Every code that was ever given, on a piece, a blank tag or in a shop that was restored over."""

BOARDS = Table(
    "boards",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("name"),
    _word("state", BoardState),
    _json("request"),
    _json("fill"),
    _moment("created_at"),
    Column("cut_at", Moment),
    Column("finished_at", Moment),
    Column("abandoned_at", Moment),
    _moment("changed_at"),
    _whole("version"),
    Column("strip_order", Json),
    _one_of("state", BoardState),
    sqlite_autoincrement=True,
)
"""`fill` and `strip_order` name offcuts by row (`inventory.storage.board_documents`)."""

OFFCUTS = Table(
    "offcuts",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("code", Text, ForeignKey("given_codes.code"), nullable=False, unique=True),
    _text("species"),
    _text("species_key"),
    _length("length"),
    _length("width"),
    _length("thickness"),
    _whole("volume_mm3"),
    _word("face_a", Face),
    _word("face_b", Face),
    _whole("pieces"),
    _whole("set_aside"),
    _word("state", State),
    _text("location"),
    _text("location_key"),
    _text("notes"),
    _text("searched"),
    Column("tagged_on", Day, nullable=False),
    _moment("tagged_at"),
    Column("parent_id", Integer, ForeignKey("offcuts.id"), index=True),
    Column("from_board", Integer, ForeignKey("boards.id"), index=True),
    Column("label_place", Integer),
    _whole("version"),
    Column("seen_at", Moment),
    Column("marks", MarkWords, nullable=False, server_default="[]"),
    Column("moisture_tenths", Tenths),
    Column("moisture_on", Day),
    Column("batch", Text, nullable=False, server_default=""),
    Column("batch_key", Text, nullable=False, server_default=""),
    CheckConstraint("length_nm > 0 AND width_nm > 0 AND thickness_nm > 0", name="sizes"),
    CheckConstraint("pieces >= 1", name="pieces"),
    CheckConstraint("set_aside BETWEEN 0 AND pieces", name="set_aside"),
    CheckConstraint(
        "(state = 'set aside') = (set_aside = pieces) AND (state IN ('on the rack', 'set aside') OR set_aside = 0)",
        name="standing",
    ),
    _one_of("state", State),
    _one_of("face_a", Face),
    _one_of("face_b", Face),
    sqlite_autoincrement=True,
)
"""Pieces and bundles. `pieces` keeps the last number when a piece is used up or pruned.

`label_place` is the place in the print queue, NULL for none; `searched` is the text that a search looks through;
`seen_at` is when the piece was last checked, NULL since it was tagged; `moisture_tenths` are tenths of a percent.
"""

OFFCUT_COLUMNS = {
    "length": "length_nm",
    "width": "width_nm",
    "thickness": "thickness_nm",
    "count": "pieces",
    "tag": "code",
    "moisture": "moisture_tenths",
}
"""The columns of those fields of an `Offcut` whose column has another name."""

FORMER_CODES = Table(
    "former_codes",
    METADATA,
    Column("code", Text, ForeignKey("given_codes.code"), primary_key=True),
    _whole("offcut_id", ForeignKey("offcuts.id"), index=True),
    _moment("replaced_at"),
)
"""Codes of tags that were lost and replaced; each still leads to its piece."""

PHOTOS = Table(
    "photos",
    METADATA,
    Column("id", Integer, primary_key=True),
    _whole("offcut_id", ForeignKey("offcuts.id"), index=True),
    _text("digest"),
    _whole("width"),
    _whole("height"),
    Column("place", Integer),
    sqlite_autoincrement=True,
)
"""`place` orders the photos of a piece; NULL for one that was taken off it."""

EVENTS = Table(
    "events",
    METADATA,
    Column("id", Integer, primary_key=True),
    _whole("offcut_id", ForeignKey("offcuts.id"), index=True),
    _moment("at"),
    _word("kind", EventKind),
    Column("pieces", Integer),
    Column("bundle", Integer),
    Column("board_id", Integer, ForeignKey("boards.id")),
    Column("stock_check_id", Integer, ForeignKey("stock_checks.id")),
    Column("checklist_id", Integer, ForeignKey("prune_checklists.id")),
    Column("action", Text),
    _text("note"),
    Column("before", Json),
    Column("after", Json),
    Column("sentence", Text),
    _one_of("kind", EventKind),
    sqlite_autoincrement=True,
)
"""The history of pieces; `Event` says what the columns hold.

`sentence` is how an event before revision 0011 was worded; NULL for all others, whose sentence is made when shown.
"""

BOARD_OFFCUTS = Table(
    "board_offcuts",
    METADATA,
    Column("board_id", Integer, ForeignKey("boards.id"), primary_key=True),
    Column("offcut_id", Integer, ForeignKey("offcuts.id"), primary_key=True, index=True),
    _whole("pieces"),
    Column("emptied", Boolean, nullable=False),
    CheckConstraint("pieces >= 1", name="pieces"),
)
"""Which offcuts a board takes; `emptied` where its cut took the last piece of a tag."""

LEFTOVERS = Table(
    "leftovers",
    METADATA,
    Column("offcut_id", Integer, ForeignKey("offcuts.id"), primary_key=True),
    _whole("board_id", ForeignKey("boards.id"), index=True),
    _whole("cut"),
    _whole("leftover"),
    Column("undone", Boolean, nullable=False),
)
"""The pieces that a cut returned to the rack: `leftover` of `cut` of the fill, both from 0; `undone` with the cut."""

IDEMPOTENCY_KEYS = Table(
    "idempotency_keys",
    METADATA,
    Column("key", Text, primary_key=True),
    _text("answer"),
    _moment("at"),
)
"""Forms that were answered, so that the same form sent again gets the same answer."""

PRINT_JOBS = Table(
    "print_jobs",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("printer"),
    _text("stock"),
    _text("title"),
    _word("state", PrintState),
    _text("reason"),
    _whole("number"),
    _moment("sent_at"),
    Column("ended_at", Moment, index=True),
    _one_of("state", PrintState),
    sqlite_autoincrement=True,
)
"""Labels that were sent to a printer; `number` is the job's there, `ended_at` NULL while it is under way."""

PRINT_LABELS = Table(
    "print_labels",
    METADATA,
    Column("job_id", Integer, ForeignKey("print_jobs.id"), primary_key=True),
    Column("offcut_id", Integer, ForeignKey("offcuts.id"), primary_key=True, index=True),
)
"""The pieces whose labels a job carries; none for blank tags and test sheets."""

DEVICES = Table(
    "devices",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("name"),
    _text("key_hash"),
    _text("entry"),
    _moment("joined_at"),
    _moment("seen_at"),
    Column("ended_at", Moment),
    sqlite_autoincrement=True,
)
"""Paired browsers. `entry` identifies the passphrase of that time; `ended_at` is NULL while the device is paired."""

USUAL_BOARDS = Table(
    "usual_boards",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("name"),
    _json("request"),
    _whole("hundredths"),
    _json("months"),
    _moment("made_at"),
    Column("taken_off_at", Moment),
    _whole("version"),
    CheckConstraint("hundredths > 0", name="hundredths"),
    sqlite_autoincrement=True,
)
"""Boards made again and again: `hundredths` of one a year, in `months` (a list of 1 to 12; empty for all)."""

PINNED_OFFCUTS = Table(
    "pinned_offcuts",
    METADATA,
    Column("offcut_id", Integer, ForeignKey("offcuts.id"), primary_key=True),
    _moment("at"),
)
"""Pieces that prune advice does not propose for a year from `at`."""

FORECASTS = Table(
    "forecasts",
    METADATA,
    Column("id", Integer, primary_key=True),
    _moment("made_at"),
    _json("document"),
)
"""The latest forecast, in one row."""

PRUNE_CHECKLISTS = Table(
    "prune_checklists",
    METADATA,
    Column("id", Integer, primary_key=True),
    _moment("made_at"),
    _json("document"),
    Column("ended_at", Moment),
    sqlite_autoincrement=True,
)
"""Checklists for pruning at the rack; `ended_at` is NULL while one is open."""

PRUNE_CHECKLIST_ENTRIES = Table(
    "prune_checklist_entries",
    METADATA,
    Column("checklist_id", Integer, ForeignKey("prune_checklists.id"), primary_key=True),
    Column("offcut_id", Integer, ForeignKey("offcuts.id"), primary_key=True, index=True),
    _whole("place"),
    _whole("pieces"),
    _text("reason"),
    _word("decision", Decision),
    Column("disposal", Text),
    Column("decided_at", Moment),
    CheckConstraint("pieces >= 1", name="pieces"),
    _one_of("decision", Decision),
)
"""The pieces that a checklist proposes to prune: `pieces` like ones of a tag; `disposal` is where they went."""

STOCK_CHECKS = Table(
    "stock_checks",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("location"),
    _moment("made_at"),
    Column("ended_at", Moment),
    Column("outcome", Json),
    sqlite_autoincrement=True,
)
"""Checks of all pieces of a location; `ended_at` and `outcome` are NULL while one is open."""

STOCK_CHECK_SIGHTINGS = Table(
    "stock_check_sightings",
    METADATA,
    Column("stock_check_id", Integer, ForeignKey("stock_checks.id"), primary_key=True),
    Column("code", Text, primary_key=True),
    Column("pieces", Integer),
    _moment("at"),
    CheckConstraint("pieces >= 1", name="pieces"),
)
"""Tags that were seen, each once; `pieces` is the counted number of a bundle, NULL where nobody counted."""

LABEL_STOCKS = Table(
    "label_stocks",
    METADATA,
    Column("key", Text, primary_key=True),
    _text("name"),
    _word("kind", StockKind),
    *(_length(name) for name in ("page_width", "page_height")),
    _whole("columns"),
    _whole("rows"),
    *(_length(name) for name in ("cell_width", "cell_height", "left", "top", "across", "down", "corner")),
    *(_length(f"hole_{name}", nullable=True) for name in ("across", "down", "diameter")),
    _whole("version"),
    _one_of("kind", StockKind),
)
"""Label sheets and rolls of the shop's own; `across` and `down` lead from a label to the next, the hole may be none."""

LABEL_PRINTING = Table(
    "label_printing",
    METADATA,
    Column("stock_key", Text, primary_key=True),
    _word("tone", PhotoTone),
    _whole("dpi"),
    *(_length(name, nullable=True) for name in ("across", "down", "left", "top")),
    _one_of("tone", PhotoTone),
)
"""How a stock, own or not, is printed; the lengths are what a rule showed on its test sheet, NULL where never laid."""

Index("ix_offcuts_totals", OFFCUTS.c.state, OFFCUTS.c.species_key, OFFCUTS.c.pieces, OFFCUTS.c.volume_mm3)
Index("ix_offcuts_tagged_on", OFFCUTS.c.tagged_on, OFFCUTS.c.id)
Index("ix_offcuts_length_nm", OFFCUTS.c.length_nm)
Index("ix_offcuts_width_nm", OFFCUTS.c.width_nm)
Index("ix_offcuts_thickness_nm", OFFCUTS.c.thickness_nm)
Index("ix_offcuts_volume_mm3", OFFCUTS.c.volume_mm3)
Index("ix_offcuts_species_key", OFFCUTS.c.species_key, OFFCUTS.c.code)
Index("ix_offcuts_location_key", OFFCUTS.c.location_key, OFFCUTS.c.code)
Index("ix_offcuts_batch_key", OFFCUTS.c.batch_key, OFFCUTS.c.id, sqlite_where=text("batch_key != ''"))
Index("ix_offcuts_label_place", OFFCUTS.c.label_place, sqlite_where=text("label_place IS NOT NULL"))
