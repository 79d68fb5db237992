"""The tables of the shop's database, as the newest migration leaves them.

Lengths are INTEGER nanometers (`…_nm`), volumes whole mm³ of one piece, moments ISO 8601 text with an offset, days
ISO 8601 text.
"""

from __future__ import annotations

from enum import Enum

from sqlalchemy import CheckConstraint, Column, ForeignKey, Index, Integer, MetaData, Table, Text, text

from inventory.core.offcuts import Face, State
from inventory.storage.label_stock_records import PhotoTone, StockKind
from inventory.storage.records import BoardState, Decision, EventKind, PrintState

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
    _text("given_at"),
)
"""Every code that was ever given, on a piece, a blank tag or in a shop that was restored over."""

BOARDS = Table(
    "boards",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("name"),
    _text("state"),
    _text("request"),
    _text("fill"),
    _text("created_at"),
    Column("cut_at", Text),
    Column("finished_at", Text),
    Column("abandoned_at", Text),
    _text("changed_at"),
    _whole("version"),
    Column("strip_order", Text),
    _one_of("state", BoardState),
    sqlite_autoincrement=True,
)

OFFCUTS = Table(
    "offcuts",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("code", Text, ForeignKey("given_codes.code"), nullable=False, unique=True),
    _text("species"),
    _text("species_key"),
    _whole("length_nm"),
    _whole("width_nm"),
    _whole("thickness_nm"),
    _whole("volume_mm3"),
    _text("face_a"),
    _text("face_b"),
    _whole("pieces"),
    _whole("set_aside"),
    _text("state"),
    _text("location"),
    _text("location_key"),
    _text("notes"),
    _text("searched"),
    _text("tagged_on"),
    _text("tagged_at"),
    Column("parent_id", Integer, ForeignKey("offcuts.id")),
    Column("from_board", Integer, ForeignKey("boards.id")),
    Column("label_place", Integer),
    _whole("version"),
    Column("seen_at", Text),
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
"""Pieces and bundles. `pieces` stays at the last number when a piece is used up or let go.

`label_place` is the place in the queue of wanted labels, NULL for none;
`searched` is the text that a search looks through; `seen_at` is NULL while nobody has looked after a piece since it
was tagged.
"""

FORMER_CODES = Table(
    "former_codes",
    METADATA,
    Column("code", Text, ForeignKey("given_codes.code"), primary_key=True),
    _whole("offcut_id", ForeignKey("offcuts.id")),
    _text("replaced_at"),
)
"""Codes of tags that were lost and replaced; each still leads to its piece."""

PHOTOS = Table(
    "photos",
    METADATA,
    Column("id", Integer, primary_key=True),
    _whole("offcut_id", ForeignKey("offcuts.id")),
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
    _whole("offcut_id", ForeignKey("offcuts.id")),
    _text("at"),
    _text("kind"),
    _text("detail"),
    Column("pieces", Integer),
    _one_of("kind", EventKind),
    sqlite_autoincrement=True,
)
"""`pieces` is how many like pieces an event moved: on hold, cut, used or pruned; NULL for other events."""

TAKEN = Table(
    "taken",
    METADATA,
    Column("board_id", Integer, ForeignKey("boards.id"), primary_key=True),
    Column("offcut_id", Integer, ForeignKey("offcuts.id"), primary_key=True),
    _whole("pieces"),
    _whole("emptied"),
    CheckConstraint("pieces >= 1", name="pieces"),
    CheckConstraint("emptied IN (0, 1)", name="emptied"),
)
"""Which offcuts a board takes; `emptied` is 1 where its cut took the last piece of a tag."""

LEFT_OVER = Table(
    "left_over",
    METADATA,
    Column("offcut_id", Integer, ForeignKey("offcuts.id"), primary_key=True),
    _whole("board_id", ForeignKey("boards.id")),
    _whole("cut"),
    _whole("remainder"),
    _whole("undone"),
    CheckConstraint("undone IN (0, 1)", name="undone"),
)
"""The pieces that came back from a cut: leftover `remainder` of cut `cut` of the fill; `undone` with the cut."""

FORMS = Table(
    "forms",
    METADATA,
    Column("key", Text, primary_key=True),
    _text("answer"),
    _text("at"),
)
"""Forms that were answered, so that the same one sent again gets the same answer."""

PRINT_JOBS = Table(
    "print_jobs",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("printer"),
    _text("stock"),
    _text("title"),
    _text("state"),
    _text("reason"),
    _whole("number"),
    _text("sent_at"),
    Column("ended_at", Text),
    _one_of("state", PrintState),
    sqlite_autoincrement=True,
)
"""Labels that were sent to a printer; `number` is the job's there, `ended_at` NULL while it is under way."""

PRINT_LABELS = Table(
    "print_labels",
    METADATA,
    Column("job_id", Integer, ForeignKey("print_jobs.id"), primary_key=True),
    Column("offcut_id", Integer, ForeignKey("offcuts.id"), primary_key=True),
)
"""The pieces whose labels a job carries; none for blank tags and test sheets."""

DEVICES = Table(
    "devices",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("name"),
    _text("key_hash"),
    _text("entry"),
    _text("joined_at"),
    _text("seen_at"),
    Column("ended_at", Text),
    sqlite_autoincrement=True,
)
"""Browsers that were let in. `entry` is the mark of the passphrase that held then; `ended_at` NULL while it is in."""

USUAL_BOARDS = Table(
    "usual_boards",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("name"),
    _text("request"),
    _whole("hundredths"),
    _text("months"),
    _text("made_at"),
    Column("taken_off_at", Text),
    _whole("version"),
    CheckConstraint("hundredths > 0", name="hundredths"),
    sqlite_autoincrement=True,
)
"""Boards that are made again and again: `hundredths` of one a year, in `months` (1 to 12, by commas; empty for all)."""

PINS = Table(
    "pins",
    METADATA,
    Column("offcut_id", Integer, ForeignKey("offcuts.id"), primary_key=True),
    _text("at"),
)
"""Pieces that are to be kept whatever comes."""

FORECASTS = Table(
    "forecasts",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("made_at"),
    _text("document"),
)
"""What the usual boards were found to need; the latest row counts, older ones are written over."""

WALKS = Table(
    "walks",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("made_at"),
    _text("document"),
    Column("ended_at", Text),
    sqlite_autoincrement=True,
)
"""Lists to walk the rack with; `ended_at` NULL while one is under way."""

WALK_ENTRIES = Table(
    "walk_entries",
    METADATA,
    Column("walk_id", Integer, ForeignKey("walks.id"), primary_key=True),
    Column("offcut_id", Integer, ForeignKey("offcuts.id"), primary_key=True),
    _whole("place"),
    _whole("pieces"),
    _text("reason"),
    _text("decision"),
    Column("way", Text),
    Column("decided_at", Text),
    CheckConstraint("pieces >= 1", name="pieces"),
    _one_of("decision", Decision),
)
"""The pieces that a list proposes to let go: `pieces` like ones of a tag; `way` is where they went."""

STOCKTAKES = Table(
    "stocktakes",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("location"),
    _text("made_at"),
    Column("ended_at", Text),
    Column("outcome", Text),
    sqlite_autoincrement=True,
)
"""Looking after all pieces of a location; `ended_at` and `outcome` NULL while one is under way."""

STOCKTAKE_SEEN = Table(
    "stocktake_seen",
    METADATA,
    Column("stocktake_id", Integer, ForeignKey("stocktakes.id"), primary_key=True),
    Column("code", Text, primary_key=True),
    Column("pieces", Integer),
    _text("at"),
    CheckConstraint("pieces >= 1", name="pieces"),
)
"""Tags that were seen, each once; `pieces` is how many a bundle was found to hold, NULL where nobody counted."""

LABEL_STOCKS = Table(
    "label_stocks",
    METADATA,
    Column("key", Text, primary_key=True),
    _text("name"),
    _text("kind"),
    *(_whole(f"{name}_nm") for name in ("page_width", "page_height")),
    _whole("columns"),
    _whole("rows"),
    *(_whole(f"{name}_nm") for name in ("cell_width", "cell_height", "left", "top", "across", "down", "corner")),
    *(Column(f"hole_{name}_nm", Integer) for name in ("across", "down", "diameter")),
    _whole("version"),
    _one_of("kind", StockKind),
)
"""Label sheets and rolls of the shop's own; `across` and `down` lead from a label to the next, the hole may be none."""

LABEL_PRINTING = Table(
    "label_printing",
    METADATA,
    Column("stock_key", Text, primary_key=True),
    _text("tone"),
    _whole("dpi"),
    *(Column(f"{name}_nm", Integer) for name in ("across", "down", "left", "top")),
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
Index("ix_offcuts_parent_id", OFFCUTS.c.parent_id)
Index("ix_offcuts_from_board", OFFCUTS.c.from_board)
Index("ix_offcuts_label_place", OFFCUTS.c.label_place, sqlite_where=text("label_place IS NOT NULL"))
Index("ix_former_codes_offcut_id", FORMER_CODES.c.offcut_id)
Index("ix_photos_offcut_id", PHOTOS.c.offcut_id)
Index("ix_events_offcut_id", EVENTS.c.offcut_id)
Index("ix_taken_offcut_id", TAKEN.c.offcut_id)
Index("ix_left_over_board_id", LEFT_OVER.c.board_id)
Index("ix_print_labels_offcut_id", PRINT_LABELS.c.offcut_id)
Index("ix_print_jobs_ended_at", PRINT_JOBS.c.ended_at)
Index("ix_walk_entries_offcut_id", WALK_ENTRIES.c.offcut_id)
