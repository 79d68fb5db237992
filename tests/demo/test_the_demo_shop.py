"""The demo shop has pieces, boards and photos of every kind, a consistent history, and only invented names."""

import re
from collections import Counter
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from inventory.core.lengths import NM_PER_INCH, inches
from inventory.core.offcuts import Face, Mark, State
from inventory.cutting.costs import Preference
from inventory.demo.shop import make_demo
from inventory.demo.stock import read_pieces
from inventory.demo.story import BOARDS, REMOVED, USED
from inventory.fill.plan import Plan
from inventory.services.boards import filling, making
from inventory.services.labels import label_content
from inventory.services.rack import queries
from inventory.services.rack.queries import StatusFilter
from inventory.shop import Shop
from inventory.storage.records import BoardState, EventKind, OffcutRecord
from tests.verify import faults

TODAY = date(2030, 1, 31)
INVENTED_NAMES = {"Mossgate", "Stairs", "Doors", "Weir", "Street"}


def fill_board(demo: Shop, given: dict[str, Any]) -> Plan:
    plan = filling.fill(demo, filling.request(demo, given))
    here = queries.all_pieces(demo)
    assert faults(plan, [replace(record.offcut, count=record.free) for record in here if record.free]) == []
    return plan


@pytest.fixture(scope="module")
def all_records(demo: Shop) -> tuple[OffcutRecord, ...]:
    return queries.all_pieces(demo, StatusFilter.ALL)


def test_at_least_eighty_tags_are_in_the_shop(demo: Shop) -> None:
    shop_summary = queries.shop_summary(demo)
    assert shop_summary.tags >= 80
    assert shop_summary.pieces > shop_summary.tags


def test_every_line_of_the_table_was_tagged_as_listed(all_records: tuple[OffcutRecord, ...]) -> None:
    def sizes(species: str, *lengths: int) -> tuple[str, tuple[int, ...]]:
        return species, lengths

    table = Counter(sizes(s.offcut.species, s.offcut.length, s.offcut.width, s.offcut.thickness) for s in read_pieces())
    tagged = Counter(
        sizes(r.offcut.species, r.offcut.length, r.offcut.width, r.offcut.thickness)
        for r in all_records
        if r.parent_tag is None
    )
    assert tagged == table


def test_pieces_carry_marks_moisture_and_batches(all_records: tuple[OffcutRecord, ...]) -> None:
    marks = {mark for record in all_records for mark in record.offcut.marks}
    assert marks == {Mark.KEEP, Mark.METAL, Mark.CRACK, Mark.KNOTS, Mark.PAINT_GRADE}
    [moist] = [record.offcut for record in all_records if record.offcut.moisture]
    assert (moist.moisture, moist.moisture_on) == (Fraction("11.5"), moist.tagged_on)
    assert Counter(record.offcut.batch for record in all_records if record.parent_tag is None)["Weir Street"] == 2


def test_every_piece_of_the_table_has_a_unique_name() -> None:
    names = [line.name for line in read_pieces()]
    assert len(names) == len(set(names))


def test_there_are_pieces_in_every_state(all_records: tuple[OffcutRecord, ...]) -> None:
    assert {record.state for record in all_records} == set(State)


def test_there_are_boards_in_every_state_and_each_has_that_of_its_last_step(demo: Shop) -> None:
    def ends_as(finished: int | None, cut: int | None, abandoned: int | None) -> BoardState:
        if abandoned is not None:
            return BoardState.ABANDONED
        if finished is not None:
            return BoardState.FINISHED
        return BoardState.ON_HOLD if cut is None else BoardState.CUT

    boards = {board.name: board.state for board in making.boards(demo)}
    assert boards == {made.name: ends_as(made.finished, made.cut, made.abandoned) for made in BOARDS}
    assert set(boards.values()) == set(BoardState)


def test_every_board_was_made_by_a_valid_fill(demo: Shop) -> None:
    for summary in making.boards(demo):
        board = making.board(demo, summary.id)
        rack = list({cut.offcut.tag: cut.offcut for cut in board.fill.cuts}.values())
        assert faults(Plan(board.request, (board.fill,)), rack) == []


def test_leftovers_have_their_parent_and_their_board(demo: Shop, all_records: tuple[OffcutRecord, ...]) -> None:
    leftovers = [record for record in all_records if record.parent_tag is not None]
    assert len(leftovers) >= 10
    for record in leftovers:
        view = queries.piece(demo, record.code)
        assert view.parent is not None
        assert view.parent.offcut.species == record.offcut.species
        assert view.from_board is not None
        assert view.from_board.state in (BoardState.CUT, BoardState.FINISHED)


def test_some_labels_are_in_the_print_queue(demo: Shop, all_records: tuple[OffcutRecord, ...]) -> None:
    queue = label_content.queue(demo)
    assert 5 <= len(queue) <= 30
    assert any(record.parent_tag is not None for record in queue), "a leftover of the board that was cut last"
    assert len(all_records) > 3 * len(queue)


def test_pieces_were_removed_for_different_reasons(demo: Shop, all_records: tuple[OffcutRecord, ...]) -> None:
    gone = [record for record in all_records if record.state is State.GONE]
    assert len(gone) == len(REMOVED)
    assert len({each.reason for each in REMOVED}) == len(REMOVED)
    for record in gone:
        assert queries.piece(demo, record.code).history[0].kind is EventKind.REMOVED


def test_wood_was_used_for_other_things_than_boards(demo: Shop, all_records: tuple[OffcutRecord, ...]) -> None:
    events = [event for record in all_records for event in queries.piece(demo, record.code).history]
    assert sum(event.kind is EventKind.USED for event in events) == len(USED)


def test_the_history_runs_over_three_years_in_working_hours_and_ends_before_today(
    demo: Shop, all_records: tuple[OffcutRecord, ...]
) -> None:
    moments = [event.at for record in all_records for event in queries.piece(demo, record.code).history]
    assert max(moments) < datetime(2030, 1, 31, tzinfo=UTC)
    assert timedelta(days=1000) < max(moments) - min(moments) < timedelta(days=1100)
    assert all(8 <= moment.astimezone(UTC).hour <= 17 for moment in moments)


def test_each_history_begins_with_the_day_on_the_tag(demo: Shop, all_records: tuple[OffcutRecord, ...]) -> None:
    for record in all_records:
        first = queries.piece(demo, record.code).history[-1]
        assert first.kind in (EventKind.TAGGED, EventKind.LEFTOVER)
        assert first.at.astimezone(UTC).date() == record.offcut.tagged_on


def test_sizes_are_sixteenths_with_some_in_millimeters(all_records: tuple[OffcutRecord, ...]) -> None:
    step = NM_PER_INCH // 16
    metric = 0
    for line in read_pieces():
        sizes = (line.offcut.length, line.offcut.width, line.offcut.thickness)
        if all(size % 1_000_000 == 0 for size in sizes):
            metric += 1
        else:
            assert all(size % step == 0 for size in sizes), line.name
    assert metric >= 6
    assert sum(line.offcut.length % (NM_PER_INCH // 8) != 0 for line in read_pieces()) >= 6


def test_there_are_bundles_all_faces_and_many_species_and_locations(all_records: tuple[OffcutRecord, ...]) -> None:
    here = [record for record in all_records if record.here]
    assert sum(record.offcut.count > 1 for record in here) >= 8
    assert {face for record in here for face in record.offcut.faces} == set(Face)
    assert len({record.offcut.species for record in here}) >= 12
    assert len({record.offcut.location for record in here}) >= 7


ASH_BOARD = {
    "length": "18 in",
    "width": "12 in",
    "thickness": "1 1/2 in",
    "grain": "edge",
    "bands": [{"species": ["ash"]}],
}
PANEL = {"length": "24 in", "width": "14 in", "thickness": "7/8 in", "grain": "face"}
METRIC_BOARD = {"length": "450 mm", "width": "300 mm", "thickness": "40 mm", "grain": "edge"}


@pytest.mark.parametrize("given", [ASH_BOARD, PANEL, METRIC_BOARD], ids=["ash", "panel", "metric"])
def test_the_rack_fills_the_boards_of_the_readme(demo: Shop, given: dict[str, Any]) -> None:
    plan = fill_board(demo, given)
    assert plan.shortfall is None
    assert {fill.prefer for fill in plan.fills} == set(Preference)


def test_the_rack_has_no_walnut_board_of_forty_inches(demo: Shop) -> None:
    plan = fill_board(
        demo,
        {
            "length": "40 in",
            "width": "8 in",
            "thickness": "3/4 in",
            "grain": "face",
            "bands": [{"species": ["black walnut"]}],
        },
    )
    assert plan.fills == ()
    assert plan.shortfall is not None
    assert plan.shortfall.reasons["too short"] > 0
    assert plan.shortfall.largest_length is not None
    assert plan.shortfall.largest_length < inches("40")


def test_every_photo_is_a_jpeg_of_one_size_without_metadata(demo: Shop, all_records: tuple[OffcutRecord, ...]) -> None:
    tagged = [record for record in all_records if record.parent_tag is None]
    assert all(record.photos for record in tagged)
    assert len({record.photos[0].digest for record in tagged}) == len(tagged), "each piece has a picture of its own"
    for record in tagged:
        for size, side in (("full", 800), ("thumb", 480)):
            content = demo.photos.path(record.photos[0].digest, size).read_bytes()
            with Image.open(BytesIO(content)) as picture:
                picture.load()
                assert picture.format == "JPEG"
                assert max(picture.size) == side
                assert not picture.getexif()


def test_texts_have_only_invented_names() -> None:
    """Every word with a capital inside a sentence must be one of the names made up for the demo."""
    words = [line.offcut.notes for line in read_pieces()]
    words += [board.name for board in BOARDS] + [gone.note for gone in REMOVED] + [used.note for used in USED]
    words += [line.offcut.location for line in read_pieces()] + [line.offcut.species for line in read_pieces()]
    found = {name for text in words for name in re.findall(r"(?<=[^.;] )[A-Z]\w+", text)}
    assert found <= INVENTED_NAMES


def test_the_same_day_gives_the_same_shop(demo: Shop, all_records: tuple[OffcutRecord, ...], tmp_path: Path) -> None:
    again = make_demo(tmp_path / "again", today=TODAY)
    try:
        assert queries.all_pieces(again, StatusFilter.ALL) == all_records
        for summary in making.boards(demo):
            assert making.board(again, summary.id) == making.board(demo, summary.id)
        assert label_content.queue(again) == label_content.queue(demo)
    finally:
        again.close()
