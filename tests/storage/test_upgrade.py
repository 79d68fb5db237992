"""Opening a shop: a new one, an older one, a newer one, a damaged one."""

import json
import shutil
import sqlite3
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.layout.strip_order import StripPlacement
from inventory.services.boards import making
from inventory.services.pruning import checklists
from inventory.services.rack import queries, tagging
from inventory.services.rack.retagging import replace_tag
from inventory.shop import Shop
from inventory.storage.board_documents import order_document, requests_document, stored_fill_document
from inventory.storage.engine import copy_database, integrity_faults
from inventory.storage.errors import StorageFault
from inventory.storage.records import EventKind
from inventory.storage.repositories import stock_checks, usual_boards
from inventory.storage.repositories.idempotency_keys import stored_answer
from inventory.storage.tables import METADATA
from inventory.storage.upgrade import MIGRATIONS, revision_of, revisions, upgrade_database
from tests.verify.paper_plans import EDGE_PLAN

NOW = datetime(2030, 1, 31, 10, 0, tzinfo=UTC)
LATER = tuple(f"r{name}_*" for name in revisions()[1:])
ASH = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash")


@pytest.fixture
def database(shop: Shop) -> Path:
    """The database of a shop of one piece, closed."""
    tagging.tag(shop, ASH)
    shop.close()
    return shop.database


@pytest.fixture
def later(tmp_path: Path) -> Path:
    """The migrations of a program one revision on, which gives every offcut a color."""
    folder = tmp_path / "later"
    shutil.copytree(MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    add_revision(folder, "op.add_column('offcuts', sa.Column('colour', sa.Text))")
    return folder


def add_revision(folder: Path, *does: str) -> None:
    newest = revisions(folder)[-1]
    name = f"{int(newest) + 1:04}"
    lines = [
        "import sqlalchemy as sa",
        "from alembic import op",
        f"revision = {name!r}",
        f"down_revision = {newest!r}",
        "def upgrade():",
        *(f"    {each}" for each in does),
    ]
    (folder / "versions" / f"r{name}_next.py").write_text("\n".join(lines) + "\n")


def columns(database: Path) -> list[str]:
    connection = sqlite3.connect(database)
    try:
        return [row[1] for row in connection.execute("PRAGMA table_info(offcuts)")]
    finally:
        connection.close()


def test_the_migrations_make_exactly_the_tables_that_the_program_knows(shop: Shop) -> None:
    with shop.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), METADATA) == []
        made = {row[0]: row[1] for row in connection.exec_driver_sql(SCHEMA)}
    known = METADATA.tables
    for name, table in known.items():
        for check in (each for each in table.constraints if type(each).__name__ == "CheckConstraint"):
            assert f"{check.name} CHECK ({check.sqltext})" in made[name]  # type: ignore[attr-defined]


SCHEMA = "SELECT name, sql FROM sqlite_master WHERE type = 'table'"


def test_a_new_shop_is_at_the_newest_revision_and_puts_nothing_aside(shop: Shop) -> None:
    assert revision_of(shop.database) == revisions()[-1]
    assert not (shop.folder / "copies").exists()


def test_an_older_database_is_put_aside_then_brought_up_to_date(database: Path, later: Path, tmp_path: Path) -> None:
    before = columns(database)
    copy = upgrade_database(database, tmp_path / "copies", NOW, later)
    assert copy == tmp_path / "copies" / f"2030-01-31-100000-before-{revisions()[-1]}-changed.sqlite3"
    assert (columns(database), columns(copy)) == ([*before, "colour"], before)
    assert integrity_faults(copy) == integrity_faults(database) == ()
    assert revision_of(copy) == revisions()[-1]
    assert upgrade_database(database, tmp_path / "copies", NOW, later) is None


def test_a_shop_of_the_first_program_keeps_its_wood_and_all_of_its_history(tmp_path: Path) -> None:
    first = tmp_path / "first"
    shutil.copytree(MIGRATIONS, first, ignore=shutil.ignore_patterns("__pycache__", *LATER))
    assert revisions(first) == ("0001",)
    folder = tmp_path / "shop"
    folder.mkdir()
    database = folder / "rackful.sqlite3"
    upgrade_database(database, folder / "copies", NOW, first)
    connection = sqlite3.connect(database)
    with connection:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("INSERT INTO given_codes VALUES ('0000011', '2029-01-01T08:00:00+00:00')")
        row = dict.fromkeys(columns(database)) | {
            "id": 5, "code": "0000011", "species": "ash", "species_key": "ash", "length_nm": inches("20"),
            "width_nm": inches("3"), "thickness_nm": inches("1"), "volume_mm3": 983_224, "face_a": "rough",
            "face_b": "rough", "pieces": 2, "set_aside": 0, "state": "on the rack", "location": "wall 2",
            "location_key": "wall 2", "notes": "", "searched": "ash", "tagged_on": "2029-01-01",
            "tagged_at": "2029-01-01T08:00:00+00:00", "version": 3,
        }  # fmt: skip
        marks = ", ".join("?" * len(row))
        connection.execute(f"INSERT INTO offcuts ({', '.join(row)}) VALUES ({marks})", tuple(row.values()))
        for number, kind in ((7, "tagged"), (9, "changed")):
            message = (number, 5, f"2029-01-01T08:0{number}:00+00:00", kind, f"word {number}")
            connection.execute("INSERT INTO events VALUES (?, ?, ?, ?, ?)", message)
    connection.close()
    with Shop.open(folder) as shop:
        piece = queries.piece(shop, "0000011")
        record = piece.record
        assert (record.id, record.version, record.offcut.count, record.seen_at) == (5, 3, 2, record.tagged_at)
        assert [(each.kind, each.detail) for each in piece.history] == [
            (EventKind.CHANGED, "word 9"),
            (EventKind.TAGGED, "word 7"),
        ]
        fresh = replace_tag(shop, record.code, record.version)
        assert queries.record(shop, "0000011").code == fresh.code
        carried = record.offcut.marks, record.offcut.moisture, record.offcut.moisture_on, record.offcut.batch
        assert carried == ((), None, None, "")
    assert integrity_faults(database) == ()


def test_the_pieces_that_events_moved_are_read_once_from_their_old_sentences(tmp_path: Path) -> None:
    database = older_database(tmp_path, "0008")
    at = "2029-01-01T08:00:00+00:00"
    # By piece: its state and count now, and its events, the earliest first, each with the pieces that it moved.
    pieces = (
        ("used up", 1, [("tagged", "ash", None), ("used", "3 of 4, the stool", 1)]),
        ("used up", 1, [("used", "4 of 4: pegs", 1)]),
        ("used up", 2, [("used", "2 of 4: wedges", 2), ("used", "2 of 2: pegs", 2)]),
        ("on the rack", 3, [("used", "1 of 4", 1)]),
        ("on the rack", 1, [("let go", "sold", 1), ("taken back", "was let go", None)]),
        ("on the rack", 4, [("let go", "given away, 2 of 4: short", 2), ("taken back", "was given away", None)]),
        ("used up", 1, [("used", "3 of 4: pegs", 3), ("cut", "for Board 1", None)]),
    )
    connection = sqlite3.connect(database)
    with connection:
        for number, (state, count, events) in enumerate(pieces, 1):
            code = f"{number:06}X"
            connection.execute("INSERT INTO given_codes VALUES (?, ?)", (code, at))
            row = dict.fromkeys(columns(database)) | {
                "id": number, "code": code, "species": "ash", "species_key": "ash", "length_nm": inches("20"),
                "width_nm": inches("3"), "thickness_nm": inches("1"), "volume_mm3": 983_224, "face_a": "rough",
                "face_b": "rough", "pieces": count, "set_aside": 0, "state": state, "location": "",
                "location_key": "", "notes": "", "searched": "ash", "tagged_on": "2029-01-01", "tagged_at": at,
                "version": 1,
            }  # fmt: skip
            marks = ", ".join("?" * len(row))
            connection.execute(f"INSERT INTO offcuts ({', '.join(row)}) VALUES ({marks})", tuple(row.values()))
            for kind, detail, _ in events:
                values = (number, at, kind, detail)
                connection.execute("INSERT INTO events (offcut_id, at, kind, detail) VALUES (?, ?, ?, ?)", values)
    connection.close()
    upgrade_database(database, tmp_path / "copies", NOW)
    connection = sqlite3.connect(database)
    moved = [each for (each,) in connection.execute("SELECT pieces FROM events ORDER BY id")]
    connection.close()
    assert moved == [expected for _, _, events in pieces for _, _, expected in events]


def older_database(tmp_path: Path, revision: str) -> Path:
    """An empty database at an earlier revision."""
    before = tmp_path / "before"
    later = [f"r{name}_*" for name in revisions() if name > revision]
    shutil.copytree(MIGRATIONS, before, ignore=shutil.ignore_patterns("__pycache__", *later))
    assert revisions(before)[-1] == revision
    database = tmp_path / "shop" / "rackful.sqlite3"
    database.parent.mkdir()
    upgrade_database(database, tmp_path / "copies", NOW, before)
    return database


def insert(connection: sqlite3.Connection, table: str, **values: object) -> None:
    marks = ", ".join("?" * len(values))
    connection.execute(f"INSERT INTO {table} ({', '.join(values)}) VALUES ({marks})", tuple(values.values()))


def insert_offcut(connection: sqlite3.Connection, number: int, offcut: Offcut, state: str) -> None:
    """A row of revision 0009."""
    at = "2029-10-28T02:50:00+02:00"
    insert(connection, "given_codes", code=offcut.tag, given_at=at)
    insert(
        connection, "offcuts", id=number, code=offcut.tag, species="ash", species_key="ash", length_nm=offcut.length,
        width_nm=offcut.width, thickness_nm=offcut.thickness, volume_mm3=1, face_a="rough", face_b="rough",
        pieces=offcut.count, set_aside=0, state=state, location="", location_key="", notes="", searched="ash",
        tagged_on="2029-10-28", tagged_at=at, version=1,
    )  # fmt: skip


def by_tag(document: Any, tags: dict[int, str]) -> Any:
    """A stored document as revisions before 0012 wrote it, with tags in the place of rows."""
    if isinstance(document, list):
        return [by_tag(each, tags) for each in document]
    if not isinstance(document, dict):
        return document
    found = {key: by_tag(value, tags) for key, value in document.items() if key != "offcut_id"}
    return found | ({"tag": tags[document["offcut_id"]]} if "offcut_id" in document else {})


def test_a_shop_of_revision_0009_keeps_its_boards_checklists_history_and_moments(tmp_path: Path) -> None:
    [fill] = EDGE_PLAN.fills
    offcuts = {cut.offcut.tag: replace(cut.offcut, count=9) for cut in fill.cuts}
    rows = {tag: number for number, tag in enumerate(offcuts, 1)}
    tags = {number: tag for tag, number in rows.items()}
    order = tuple((StripPlacement(tag, 1, 0),) for tag in offcuts)
    database = older_database(tmp_path, "0009")
    connection = sqlite3.connect(database)
    with connection:
        for tag, number in rows.items():
            insert_offcut(connection, number, offcuts[tag], "on the rack")
        gone, part = len(rows) + 1, len(rows) + 2
        insert_offcut(connection, gone, replace(ASH, tag="0000011"), "let go")
        insert_offcut(connection, part, replace(ASH, tag="0000022", count=4), "on the rack")
        insert(connection, "given_codes", code="0000033", given_at="2029-01-01T08:00:00+00:00")
        insert(connection, "former_codes", code="0000033", offcut_id=gone, replaced_at="2029-01-01T08:00:00+00:00")
        for board, changed_at in ((1, "2029-10-28T02:50:00+02:00"), (2, "2029-10-28T02:10:00+01:00")):
            insert(
                connection, "boards", id=board, name=f"board {board}", state="cut",
                request=json.dumps(requests_document([EDGE_PLAN.request])),
                fill=json.dumps(by_tag(stored_fill_document(fill, rows), tags)),
                created_at="2029-10-01T08:00:00+02:00", cut_at=changed_at, changed_at=changed_at, version=2,
                strip_order=json.dumps(by_tag(order_document(order, rows), tags)),
            )  # fmt: skip
            for number in rows.values():
                insert(connection, "taken", board_id=board, offcut_id=number, pieces=1, emptied=board - 1)
        insert(connection, "left_over", offcut_id=gone, board_id=1, cut=0, remainder=1, undone=1)
        insert(connection, "left_over", offcut_id=part, board_id=2, cut=0, remainder=0, undone=0)
        insert(connection, "forms", key="a form", answer="1", at="2029-10-28T02:50:00+02:00")
        insert(connection, "pins", offcut_id=part, at="2029-10-28T02:50:00+02:00")
        for number, months in ((1, "3,12"), (2, "")):
            insert(
                connection, "usual_boards", id=number, name=f"tray {number}", request="{}", hundredths=250,
                months=months, made_at="2029-10-28T02:50:00+02:00", version=1,
            )  # fmt: skip
        insert(connection, "walks", id=4, made_at="2029-11-01T08:00:00+01:00", document="{}")
        for number, pieces in ((gone, 1), (part, 2)):
            insert(
                connection, "walk_entries", walk_id=4, offcut_id=number, place=number, pieces=pieces, reason="short",
                decision="gone", way="given away", decided_at="2029-11-01T09:00:00+01:00",
            )  # fmt: skip
        for number, detail, pieces in ((gone, "given away: short", 1), (part, "given away, 2 of 6: short", 2)):
            insert(
                connection, "events", offcut_id=number, at="2029-11-01T09:00:00+01:00", kind="let go",
                detail=detail, pieces=pieces,
            )  # fmt: skip
        insert(connection, "stocktakes", id=3, location="wall 2", made_at="2029-11-02T09:00:00+01:00")
        insert(connection, "stocktake_seen", stocktake_id=3, code="0000022", at="2029-11-02T09:00:00+01:00", pieces=4)
    connection.close()
    with Shop.open(database.parent, now=lambda: NOW) as shop:
        assert [each.id for each in making.boards(shop)] == [2, 1], "by the moment of the last change"
        board = making.board(shop, 1)
        assert (board.fill, board.order, board.requests) == (fill, order, (EDGE_PLAN.request,))
        assert board.cut_at == datetime(2029, 10, 28, 0, 50, tzinfo=UTC)
        assert [(each.code, each.emptied) for each in board.taken] == [(tag, False) for tag in rows]
        assert (board.left_over, making.board(shop, 2).left_over) == ((), ("0000022",))
        assert all(each.emptied for each in making.board(shop, 2).taken)
        [line] = queries.piece(shop, "0000022").history
        assert (line.kind, line.detail) == (EventKind.REMOVED, "given away, 2 of 6: short")
        for code in ("0000011", "0000022"):
            entry = checklists.entry_for(shop, 4, code)
            checklists.undo(shop, 4, code, entry.mark)
        assert [queries.record(shop, code).free for code in ("0000033", "0000022")] == [1, 6]
        with shop.reading() as connected:
            assert [each.months for each in usual_boards.usual_boards(connected)] == [(3, 12), ()]
            assert usual_boards.pinned(connected, NOW) == {"0000022": datetime(2029, 10, 28, 0, 50, tzinfo=UTC)}
            assert usual_boards.pinned(connected, NOW + timedelta(days=365)) == {}
            assert stored_answer(connected, "a form") == "1"
            [seen] = stock_checks.sightings(connected, 3)
        assert (seen.code, seen.pieces, seen.at) == ("0000022", 4, datetime(2029, 11, 2, 8, 0, tzinfo=UTC))
    assert integrity_faults(database) == ()


def test_a_copy_never_takes_the_place_of_another(database: Path, later: Path, tmp_path: Path) -> None:
    first = upgrade_database(database, tmp_path / "copies", NOW, later)
    assert first is not None
    shutil.copy(first, database)
    second = upgrade_database(database, tmp_path / "copies", NOW, later)
    assert second is not None and second.name == first.name.replace("changed", "changed-2")
    assert first.exists()


def test_the_wood_is_there_after_all_of_it(database: Path, later: Path, tmp_path: Path) -> None:
    upgrade_database(database, tmp_path / "copies", NOW, later)
    copy = next((tmp_path / "copies").iterdir())
    (tmp_path / "old").mkdir()
    copy.rename(tmp_path / "old" / database.name)
    with Shop.open(tmp_path / "old") as shop:
        assert [record.offcut.species for record in queries.all_pieces(shop)] == ["ash"]


def test_revisions_run_all_together_or_not_at_all(database: Path, later: Path, tmp_path: Path) -> None:
    add_revision(later, "op.drop_column('boards', 'no_such_column')")
    before = columns(database)
    with pytest.raises(Exception, match="no_such_column"):
        upgrade_database(database, tmp_path / "copies", NOW, later)
    assert columns(database) == before
    assert revision_of(database) == revisions()[-1]


def test_a_revision_that_leaves_a_row_pointing_to_nothing_is_taken_back(
    database: Path, later: Path, tmp_path: Path
) -> None:
    add_revision(later, "op.execute('DELETE FROM given_codes')")
    with pytest.raises(StorageFault) as refused:
        upgrade_database(database, tmp_path / "copies", NOW, later)
    assert str(refused.value) == (
        f'The shop\'s database "{database}" could not be brought up to date: a row of offcuts points to nothing. '
        "It was left as it was; bring the shop back from a backup."
    )
    assert "colour" not in columns(database)


def test_a_newer_database_is_left_alone(database: Path, later: Path, tmp_path: Path) -> None:
    upgrade_database(database, tmp_path / "copies", NOW, later)
    before = database.read_bytes()
    with pytest.raises(StorageFault) as refused:
        Shop.open(database.parent)
    assert str(refused.value) == (
        f'The shop\'s database "{database}" was written by a newer Rackful than this one. Update Rackful.'
    )
    assert database.read_bytes() == before


def test_a_database_of_something_else_is_left_alone(tmp_path: Path) -> None:
    database = tmp_path / "rackful.sqlite3"
    connection = sqlite3.connect(database)
    connection.execute("CREATE TABLE birds (name TEXT)")
    connection.close()
    with pytest.raises(StorageFault) as refused:
        Shop.open(tmp_path)
    assert str(refused.value) == (
        f'"{database}" is not a shop\'s database. Name the folder of a shop, or an empty one.'
    )


@pytest.mark.parametrize("spoilt", [b"no database at all" * 1000, b"SQLite format 3\x00" + b"\x07" * 9000])
def test_a_damaged_database_is_reported(tmp_path: Path, spoilt: bytes) -> None:
    database = tmp_path / "rackful.sqlite3"
    database.write_bytes(spoilt)
    with pytest.raises(StorageFault) as refused:
        Shop.open(tmp_path)
    assert str(refused.value) == (
        f'The shop\'s database "{database}" is damaged. '
        "Put the folder aside and bring the shop back from the latest backup with rackful restore."
    )
    assert database.read_bytes() == spoilt


def test_damage_is_found_before_an_older_database_is_changed(database: Path, later: Path, tmp_path: Path) -> None:
    connection = sqlite3.connect(database, isolation_level=None)
    connection.execute("PRAGMA foreign_keys = OFF")
    connection.execute("DELETE FROM given_codes")
    connection.close()
    with pytest.raises(StorageFault) as refused:
        upgrade_database(database, tmp_path / "copies", NOW, later)
    assert str(refused.value) == (
        f'The shop\'s database "{database}" is damaged (row 1 of offcuts points to nothing) and was left as it is. '
        "Bring the shop back from the latest backup with rackful restore."
    )
    assert "colour" not in columns(database)


OPEN_AT_ONCE = """
import sys
from pathlib import Path
from inventory.shop import Shop
sys.stdin.readline()
with Shop.open(Path(sys.argv[1])) as shop:
    print(shop.settings().secret_key)
"""


def test_two_programs_that_open_a_new_shop_at_once_open_the_same(tmp_path: Path) -> None:
    programs = [
        subprocess.Popen(
            [sys.executable, "-c", OPEN_AT_ONCE, str(tmp_path / "new")],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(3)
    ]
    for each in programs:
        assert each.stdin is not None
        each.stdin.write("\n")
        each.stdin.flush()
    message = [each.communicate(timeout=60) for each in programs]
    assert [error for _, error in message] == [""] * 3
    assert len({key for key, _ in message}) == 1


def test_a_copy_is_whole_while_the_shop_is_written_to(shop: Shop, tmp_path: Path) -> None:
    tagging.tag(shop, ASH)
    target = tmp_path / "copy.sqlite3"
    shop.copy_database(target)
    tagging.tag(shop, ASH)
    assert integrity_faults(target) == ()
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith("copy")] == ["copy.sqlite3"]
    (tmp_path / "other").mkdir()
    target.rename(tmp_path / "other" / "rackful.sqlite3")
    with Shop.open(tmp_path / "other") as other:
        assert queries.shop_summary(other).tags == 1
    assert queries.shop_summary(shop).tags == 2


def test_a_copy_is_not_written_over_a_file(shop: Shop, tmp_path: Path) -> None:
    target = tmp_path / "copy.sqlite3"
    target.write_bytes(b"mine")
    with pytest.raises(StorageFault) as refused:
        copy_database(shop.database, target)
    assert str(refused.value) == f'"{target}" is there already and is not written over. Name another file.'
    assert target.read_bytes() == b"mine"
