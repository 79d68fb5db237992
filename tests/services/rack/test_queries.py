"""The rack asked: filters, order, pages, totals; a piece with all that is known of it; quick when it is full."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest
from sqlalchemy import Connection, event, text

from inventory.core.codes import InvalidCode
from inventory.core.lengths import Unit, inches, millimeters, volume_mm3
from inventory.core.offcuts import Face, Mark, Offcut, State
from inventory.services.boards import making
from inventory.services.rack import editing, queries, tagging
from inventory.services.rack.queries import (
    Condition,
    InvalidFilter,
    NoSuchPiece,
    RackFilter,
    RackSort,
    RackView,
    SpeciesTotal,
    StatusFilter,
    read_filter,
)
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord
from inventory.storage.tables import OFFCUTS
from tests.conftest import Clock
from tests.services.fills import BOARD, make_fill, now, tagged


def found(shop: Shop, **asked: object) -> list[str]:
    """The notes of what is found, in order."""
    return [record.offcut.notes for record in queries.find(shop, RackFilter(**asked)).records]  # type: ignore[arg-type]


@pytest.fixture
def rack(shop: Shop, clock: Clock) -> dict[str, OffcutRecord]:
    """Five pieces, tagged a day apart."""
    pieces = {}
    for line in (
        "ash 24 x 3 x 1 rough @ wall 10 # a",
        "White Oak 30 x 4 x 1 1/4 planed @ Wall 2 # b",
        "3 of white  oak 12 x 6 x 2 planed finished @ bin # c",
        "18 x 2 x 1/2 rough planed # d",
        "cherry 40 x 5 x 7/8 planed @ wallaby # e",
    ):
        record = tagged(shop, line)
        pieces[record.offcut.notes] = record
        clock.add(days=1)
    return pieces


@pytest.mark.usefixtures("rack")
@pytest.mark.parametrize(
    ("asked", "notes"),
    [
        ({}, "edcba"),
        ({"species": "WHITE OAK"}, "cb"),
        ({"species": "oak"}, ""),
        ({"length": inches("24")}, "eba"),
        ({"length": inches("24") + 1}, "eb"),
        ({"width": inches("4")}, "ecb"),
        ({"thickness": inches("1")}, "cba"),
        ({"length": inches("20"), "width": inches("4"), "thickness": inches("1")}, "b"),
        ({"condition": Condition.PLANED}, "eb"),
        ({"condition": Condition.ROUGH}, "da"),
        ({"condition": Condition.FINISHED}, "c"),
        ({"location": "wall"}, "ba"),
        ({"location": "wall 2"}, "b"),
        ({"location": "%"}, ""),
        ({"text": "oak bin"}, "c"),
        ({"text": "WALL"}, "eba"),
        ({"text": "_"}, ""),
        ({"sort": RackSort.OLDEST}, "abcde"),
        ({"sort": RackSort.LONGEST}, "ebadc"),
        ({"sort": RackSort.WIDEST}, "cebad"),
        ({"sort": RackSort.THICKEST}, "cbaed"),
        # 40×5×⅞ = 175, 30×4×1¼ = 150, 12×6×2 = 144, 24×3×1 = 72, 18×2×½ = 18 in³
        ({"sort": RackSort.LARGEST}, "ebcad"),
        ({"sort": RackSort.LOCATION}, "cbaed"),
        ({"status": StatusFilter.GONE}, ""),
    ],
)
def test_the_rack_answers_what_is_asked(shop: Shop, asked: dict[str, object], notes: str) -> None:
    assert "".join(found(shop, **asked)) == notes


def test_pieces_are_found_by_mark_and_by_batch(shop: Shop, rack: dict[str, OffcutRecord]) -> None:
    carried = {"a": ((Mark.KEEP, Mark.OILY), "Elm 2029"), "b": ((Mark.KNOTS,), "elm  2029"), "d": ((), "elm")}
    for name, (marks, batch) in carried.items():
        editing.change(shop, rack[name].code, 1, replace(rack[name].offcut, marks=marks, batch=batch))
    assert found(shop, mark=Mark.KEEP) == found(shop, mark=Mark.OILY) == ["a"]
    assert found(shop, mark=Mark.DAMP) == []
    assert found(shop, batch="ELM 2029") == ["b", "a"]
    assert found(shop, batch="elm 2029", mark=Mark.KNOTS) == ["b"]
    assert found(shop, text="knots elm") == ["b"]
    assert queries.choices(shop).batches == ("elm", "elm 2029")
    asked = RackFilter(mark=Mark.LIVE_EDGE, batch="elm 2029")
    assert asked.query() == {"mark": "live edge", "batch": "elm 2029"}
    assert read_filter(asked.query(), Unit.INCH) == asked


def test_species_are_in_order_and_those_without_come_last(shop: Shop, rack: dict[str, OffcutRecord]) -> None:
    names = [record.offcut.species for record in queries.find(shop, RackFilter(sort=RackSort.SPECIES)).records]
    assert names[0] == "ash" and names[1] == "cherry" and names[-1] == ""
    assert {name.lower() for name in names[2:4]} == {"white oak"}


def test_a_code_is_found_however_it_is_typed(shop: Shop, rack: dict[str, OffcutRecord]) -> None:
    code = rack["c"].code
    assert found(shop, text=code) == found(shop, text=f"{code[:3]} - {code[3:]}".lower()) == ["c"]
    assert "c" in found(shop, text=code[:3].lower())


def test_totals_are_over_all_that_is_found(shop: Shop, rack: dict[str, OffcutRecord]) -> None:
    def box(length: str, width: str, thickness: str) -> int:
        return volume_mm3(inches(length), inches(width), inches(thickness))

    oak = box("30", "4", "1 1/4") + 3 * box("12", "6", "2")
    page = queries.find(shop, RackFilter())
    assert page.by_species == (
        SpeciesTotal("ash", 1, 1, box("24", "3", "1")),
        SpeciesTotal("cherry", 1, 1, box("40", "5", "7/8")),
        SpeciesTotal("white oak", 2, 4, oak),
        SpeciesTotal("", 1, 1, box("18", "2", "1/2")),
    )
    assert (page.tags, page.pieces, page.pages) == (5, 7, 1)
    assert page.volume == sum(each.volume for each in page.by_species) == sum(rec.volume for rec in rack.values())


def test_a_piece_that_went_is_asked_for_by_where_it_went(shop: Shop, rack: dict[str, OffcutRecord]) -> None:
    editing.use_up(shop, rack["a"].code, 1)
    editing.remove(shop, rack["b"].code, 1, editing.RemovalReason.BURNT)
    making.set_aside(shop, BOARD, make_fill(BOARD, [(rack["e"], 1)]))
    assert found(shop) == ["e", "d", "c"]
    assert found(shop, status=StatusFilter.FREE) == ["d", "c"]
    assert found(shop, status=StatusFilter.ON_HOLD) == ["e"]
    assert found(shop, status=StatusFilter.USED_UP) == ["a"]
    assert found(shop, status=StatusFilter.GONE) == ["b"]
    assert found(shop, status=StatusFilter.ALL) == ["e", "d", "c", "b", "a"]
    assert queries.choices(shop) == queries.FilterChoices(("cherry", "white oak"), ("bin", "wallaby"), ())


def test_pages_are_turned_and_one_past_the_end_is_the_last(shop: Shop) -> None:
    like = Offcut(inches("9"), inches("3"), inches("1"))
    tagging.tag_all(shop, [NewPiece(replace(like, notes=str(number))) for number in range(121)])
    pages = [found(shop, page=page, sort=RackSort.OLDEST) for page in (1, 2, 3)]
    assert [len(page) for page in pages] == [60, 60, 1]
    assert sorted(pages[0] + pages[1] + pages[2], key=int) == [str(number) for number in range(121)]
    last = queries.find(shop, RackFilter(page=9, sort=RackSort.OLDEST))
    assert ([record.offcut.notes for record in last.records], last.filter.page, last.pages) == (pages[2], 3, 3)


def test_an_empty_rack_has_one_empty_page(shop: Shop) -> None:
    page = queries.find(shop, RackFilter(page=4))
    assert (page.records, page.tags, page.pieces, page.volume, page.pages) == ((), 0, 0, 0, 1)


FULL_FILTER = RackFilter(
    species="white oak",
    length=inches("23 1/2"),
    width=millimeters("82.5"),
    thickness=inches("13/16"),
    condition=Condition.PLANED,
    status=StatusFilter.ALL,
    location="wall 2",
    text="knot & nail",
    sort=RackSort.LONGEST,
    view=RackView.TABLE,
    page=3,
)


@pytest.mark.parametrize("unit", list(Unit))
def test_a_filter_lives_in_the_address_whatever_the_unit_of_the_shop(unit: Unit) -> None:
    query = FULL_FILTER.query()
    assert query == {
        "species": "white oak",
        "length": "23 1/2 in",
        "width": "82.5 mm",
        "thickness": "13/16 in",
        "condition": "planed",
        "status": "all",
        "location": "wall 2",
        "text": "knot & nail",
        "sort": "longest",
        "view": "table",
        "page": "3",
    }
    assert read_filter(query, unit) == FULL_FILTER
    assert read_filter({}, unit) == RackFilter()
    assert read_filter({"text": " a  b ", "length": "", "page": "", "utm": "x"}, unit) == RackFilter(text="a b")


def test_another_order_begins_at_page_one_another_view_stays_on_the_page() -> None:
    assert RackFilter(page=3).address(sort=RackSort.WIDEST) == "?sort=widest"
    assert RackFilter(page=3).address(view=RackView.TABLE) == "?view=table&page=3"
    assert RackFilter().address() == "?"


def test_a_filter_narrows_where_anything_but_order_and_page_is_asked() -> None:
    assert not RackFilter(sort=RackSort.WIDEST, view=RackView.TABLE, page=2).is_active
    assert RackFilter(status=StatusFilter.ALL).is_active
    assert RackFilter(text="a").is_active


@pytest.mark.parametrize(
    ("query", "what", "sentence"),
    [
        ({"length": "long"}, "length", '"long" is not a length. Type 23 1/2, 23.5 in or 597 mm.'),
        ({"page": "0"}, "page", '"0" is no page. Pages count from 1.'),
        ({"page": "two"}, "page", '"two" is no page. Pages count from 1.'),
        (
            {"condition": "nice"},
            "condition",
            'condition can\'t be "nice". Choose one of: planed, rough, finished.',
        ),
        ({"text": "t" * 201}, "text", "The text to look for is longer than 200 letters. Shorten it."),
    ],
)
def test_a_filter_that_cannot_be_is_reported(query: dict[str, str], what: str, sentence: str) -> None:
    with pytest.raises(InvalidFilter) as refused:
        read_filter(query, Unit.INCH)
    assert (str(refused.value), refused.value.what) == (sentence, what)


def test_a_piece_is_shown_with_all_that_is_known_of_it(shop: Shop) -> None:
    parent = tagged(shop, "ash 40 x 6 x 1 1/4 @ wall 2")
    board = making.set_aside(shop, BOARD, make_fill(BOARD, [(parent, 2)]), "tread")
    left = [each for each in making.proposed_leftovers(shop, board.id) if each.keep]
    board = making.cut(
        shop,
        board.id,
        board.version,
        [
            making.ConfirmedLeftover(each.cut, each.remainder, each.length, each.width, each.thickness, True, "bin")
            for each in left
        ],
    )
    view = queries.piece(shop, parent.code.lower())
    assert view.record == now(shop, parent)
    assert view.record.state is State.USED_UP
    assert tuple(each.code for each in view.leftovers) == board.left_over
    assert [each.name for each in view.boards] == ["tread"]
    assert (view.parent, view.from_board) == (None, None)
    child = queries.piece(shop, board.left_over[0])
    assert child.parent == now(shop, parent)
    assert child.from_board is not None and child.from_board.name == "tread"
    assert (child.record.parent_tag, child.record.from_board) == (parent.code, board.id)


def test_a_code_that_no_piece_has_is_reported(shop: Shop) -> None:
    with pytest.raises(NoSuchPiece) as refused:
        queries.piece(shop, "000 0011")
    assert str(refused.value) == "No piece here has the code 000-0011. Read the tag once more, or tag it anew."
    with pytest.raises(InvalidCode):
        queries.piece(shop, "nonsense")


def test_the_shop_at_a_glance(shop: Shop, rack: dict[str, OffcutRecord]) -> None:
    making.set_aside(shop, BOARD, make_fill(BOARD, [(rack["e"], 1)]))
    editing.use_up(shop, rack["a"].code, 1)
    shop_summary = queries.shop_summary(shop)
    volume = sum(rack[name].volume for name in "bcde")
    assert shop_summary == queries.ShopSummary(4, 6, volume, 4, 1, 0)


@pytest.fixture(scope="module")
def full_rack(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """10,000 pieces of eight species in forty places: a thousand tagged, and nine more like each."""
    species = ("ash", "beech", "birch", "cherry", "maple", "oak", "walnut", "white oak")
    pieces = [
        NewPiece(
            Offcut(
                inches(str(8 + number % 40)),
                inches(str(1 + number % 9)),
                inches(f"{4 + number % 13}/16"),
                species[number % 8],
                list(Face)[number % 3],
                list(Face)[number % 2],
                location=f"wall {number % 40}",
                notes=f"piece {number}",
            )
        )
        for number in range(1000)
    ]
    others = ", ".join(column.name for column in OFFCUTS.c if column.name not in ("id", "code"))
    with Shop.open(tmp_path_factory.mktemp("full")) as shop:
        tagging.tag_all(shop, pieces)
        with shop.writing() as connection:
            for copy in range(9):
                connection.execute(
                    text(
                        f"INSERT INTO given_codes SELECT code || {copy}, given_at FROM given_codes"
                        " WHERE length(code) = 7"
                    )
                )
                connection.execute(
                    text(
                        f"INSERT INTO offcuts (code, {others}) SELECT code || {copy}, {others}"
                        " FROM offcuts WHERE length(code) = 7"
                    )
                )
        assert queries.shop_summary(shop).tags == 10_000
        yield shop


def plan_of(connection: Connection, statement: str) -> str:
    return " / ".join(row.detail for row in connection.execute(text(f"EXPLAIN QUERY PLAN {statement}")))


@pytest.mark.parametrize(
    ("statement", "index"),
    [
        ("SELECT * FROM offcuts WHERE code = '0000011'", "sqlite_autoindex_offcuts_1 (code=?)"),
        ("SELECT * FROM offcuts ORDER BY tagged_on DESC, id DESC LIMIT 60", "ix_offcuts_tagged_on"),
        ("SELECT * FROM offcuts WHERE length_nm >= 9 ORDER BY length_nm DESC LIMIT 60", "ix_offcuts_length_nm"),
        ("SELECT * FROM offcuts WHERE parent_id = 7", "ix_offcuts_parent_id"),
        ("SELECT * FROM offcuts WHERE label_place IS NOT NULL ORDER BY label_place", "ix_offcuts_label_place"),
        ("SELECT * FROM photos WHERE offcut_id IN (1, 2)", "ix_photos_offcut_id"),
        ("SELECT * FROM events WHERE offcut_id = 7 ORDER BY id DESC", "ix_events_offcut_id"),
        ("SELECT * FROM board_offcuts WHERE offcut_id = 7", "ix_board_offcuts_offcut_id"),
    ],
)
def test_what_is_asked_often_goes_by_an_index(full_rack: Shop, statement: str, index: str) -> None:
    with full_rack.reading() as connection:
        assert index in plan_of(connection, statement)


def ways_to_pieces(shop: Shop, ask: Callable[[Shop], object]) -> list[str]:
    """By what SQLite goes to the offcuts in everything that is asked: an index, its own order, or row by row."""
    asked: list[tuple[str, Any]] = []

    def keep(*given: Any) -> None:
        asked.append(given[2:4])

    with shop.reading() as connection:
        engine = connection.engine
    event.listen(engine, "before_cursor_execute", keep)
    ask(shop)
    event.remove(engine, "before_cursor_execute", keep)
    with shop.reading() as connection:
        plans = [connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {each}", given).all() for each, given in asked]
    return [row.detail for plan in plans for row in plan if "offcuts" in row.detail]


ITS_PIECE = "SEARCH offcuts USING INTEGER PRIMARY KEY (rowid=?)"
ALL_BY_INDEX = "SEARCH offcuts USING COVERING INDEX ix_offcuts_totals (state=?)"
THOSE_WAITING = "SEARCH offcuts USING INDEX ix_offcuts_label_place (label_place>?)"


def test_the_first_page_looks_at_few_pieces_of_a_full_rack(full_rack: Shop) -> None:
    assert ways_to_pieces(full_rack, queries.shop_summary) == [ALL_BY_INDEX, ITS_PIECE, THOSE_WAITING]


def test_the_species_of_a_full_rack_are_reported_by_looking_at_one_piece_of_each(full_rack: Shop) -> None:
    assert ways_to_pieces(full_rack, queries.species_here) == [ITS_PIECE, ALL_BY_INDEX]
