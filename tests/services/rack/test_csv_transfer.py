"""The rack into a shop and out of it."""

from dataclasses import replace
from datetime import date, datetime
from fractions import Fraction
from pathlib import Path
from random import Random

import pytest

from inventory.core.codes import new_code
from inventory.core.lengths import Display, Nearest, inches, millimeters
from inventory.core.offcuts import Face, Mark, Offcut, State
from inventory.services.labels import label_content
from inventory.services.rack import csv_transfer, editing, queries, retagging, tagging
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.rack_csv import COLUMNS, BadRows
from inventory.services.stock_check import unseen
from inventory.services.stock_check.unseen import CheckResult
from inventory.shop import Shop
from tests.conftest import Clock

HEADER = ",".join(COLUMNS) + "\r\n"
ASH = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash", location="wall 2")


def bring(shop: Shop, text: str) -> csv_transfer.ImportedRack:
    return csv_transfer.import_file(shop, text.encode())


def faults(shop: Shop, text: str) -> list[tuple[int, str]]:
    """Why a file is refused; the shop must be as it was."""
    before = queries.all_pieces(shop, queries.StatusFilter.ALL), shop.issued_codes()
    with pytest.raises(BadRows) as error:
        bring(shop, text)
    assert (queries.all_pieces(shop, queries.StatusFilter.ALL), shop.issued_codes()) == before
    return [(fault.line, fault.reason) for fault in error.value.faults]


def test_rows_come_onto_the_rack_in_their_order(shop: Shop) -> None:
    done = bring(
        shop, HEADER + "0000011,ash,23 1/2,3 1/4,13/16,planed,rough,3,wall 2,2029-12-24,dry\r\n,oak,12,2,1,,,,,,\r\n"
    )
    kept, fresh = done.records
    assert done.warnings == ()
    assert kept.offcut == Offcut(
        inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash", Face.PLANED, Face.ROUGH, 3, "0000011", "wall 2",
        date(2029, 12, 24), "dry",
    )  # fmt: skip
    assert (fresh.offcut.species, fresh.offcut.tagged_on, len(fresh.code)) == ("oak", date(2030, 1, 31), 7)
    assert queries.all_pieces(shop) == (kept, fresh)


def test_a_piece_that_has_its_tag_is_not_in_the_queue_of_labels(shop: Shop) -> None:
    _, fresh = bring(shop, HEADER + "0000011,,1,2,3,,,,,,\r\n,,4,5,6,,,,,,\r\n").records
    assert label_content.queue(shop) == (fresh,)


def test_a_bare_number_is_in_the_shop_s_unit_and_an_unknown_column_is_reported(shop: Shop) -> None:
    shop.save_settings(replace(shop.settings(), display=Display(Nearest.TENTH_MM)))
    done = bring(shop, "length,width,thickness,price\r\n600,80,20,9\r\n")
    assert done.records[0].offcut.length == millimeters("600")
    assert done.warnings == ('The column "price" is not known here and was left out.',)


def test_one_bad_row_keeps_all_others_out(shop: Shop) -> None:
    assert faults(shop, HEADER + ",ash,1,2,3,,,,,,\r\n,ash,1,2,thick,,,,,,\r\n") == [
        (3, 'thickness: "thick" is not a length. Type 23 1/2, 23.5 in or 597 mm.')
    ]


def test_a_tag_must_be_a_code_and_never_given_before(shop: Shop) -> None:
    old = tagging.tag(shop, ASH)
    gone = tagging.tag(shop, ASH)
    editing.remove(shop, gone.code, gone.version, RemovalReason.BURNT)
    rows = [f"{old.code.lower()},1,2,3", f"{gone.code},1,2,3", "shelf 4,1,2,3", "0000012,1,2,3", "0000011,1,2,3"]
    assert faults(shop, "tag,length,width,thickness\n" + "\n".join(rows)) == [
        (4, 'tag: "shelf 4" is no code: a tag has 7 letters and digits, such as 4G7-M2KM. Type all 7.'),
        (5, 'tag: "0000012" is not quite a code: the last character does not match. Read the tag once more.'),
    ]
    assert faults(shop, "tag,length,width,thickness\n" + "\n".join(rows[:2] + rows[4:])) == [
        (2, f"tag: {old.code} was given before. Leave the cell empty for a fresh one."),
        (3, f"tag: {gone.code} was given before. Leave the cell empty for a fresh one."),
    ]


def test_a_blank_tag_that_was_written_down_in_a_table_is_tied_to_its_piece(shop: Shop) -> None:
    [blank] = label_content.blank_codes(shop, 1)
    assert bring(shop, f"tag,length,width,thickness\n{blank},1,2,3").records[0].code == blank


def test_a_day_that_is_yet_to_come_is_a_slip(shop: Shop) -> None:
    table = "length,width,thickness,tagged_on,seen_on\n1,2,3,2030-01-31,2030-02-01\n1,2,3,2030-02-01,\n"
    assert faults(shop, table) == [
        (2, "seen_on: 2030-02-01 is yet to come. Check the year."),
        (3, "tagged_on: 2030-02-01 is yet to come. Check the year."),
    ]


@pytest.mark.parametrize(
    "file", ["tag,length,width,thickness\n0000022,1,2,3\n", "length,width,thickness,former_tags\n1,2,3,0000022\n"]
)
def test_a_code_that_a_phone_takes_while_a_file_is_read_keeps_the_file_out(
    tmp_path: Path, clock: Clock, file: str
) -> None:
    with Shop.open(tmp_path / "busy", now=clock) as phone:
        waiting = [tagging.tag(phone, ASH, code="0000011")]

        def now() -> datetime:
            while waiting and begun:
                retagging.replace_tag(phone, waiting[0].code, waiting.pop().version, "0000022")
            return clock()

        begun = False
        with Shop.open(tmp_path / "busy", now=now) as shop, pytest.raises(BadRows) as error:
            begun = True
            bring(shop, file)
        assert [fault.line for fault in error.value.faults] == [2]
        assert len(queries.all_pieces(phone)) == 1


def test_marks_moisture_and_batch_go_along(shop: Shop, clock: Clock, tmp_path: Path) -> None:
    carried = replace(ASH, marks=(Mark.METAL, Mark.KEEP), moisture=Fraction("8.5"), batch="=elm 2029")
    tagging.tag(shop, ASH), tagging.tag(shop, carried)
    written, _ = csv_transfer.export_file(shop)
    with Shop.open(tmp_path / "other", now=clock) as other:
        [_, record] = csv_transfer.import_file(other, written).records
        assert record.offcut.marks == (Mark.KEEP, Mark.METAL)
        assert (record.offcut.moisture, record.offcut.moisture_on) == (Fraction("8.5"), date(2030, 1, 31))
        assert record.offcut.batch == "=elm 2029"
        assert csv_transfer.export_file(other)[0] == written


def test_moisture_without_a_day_was_read_when_the_piece_was_tagged(shop: Shop) -> None:
    table = "length,width,thickness,tagged_on,moisture,moisture_on\n1,2,3,2029-05-01,8,\n1,2,3,,9,\n"
    assert [record.offcut.moisture_on for record in bring(shop, table).records] == [date(2029, 5, 1), date(2030, 1, 31)]
    assert faults(shop, "length,width,thickness,moisture,moisture_on\n1,2,3,8,2030-02-01\n") == [
        (2, "moisture_on: 2030-02-01 is yet to come. Check the year.")
    ]


def test_an_empty_rack_is_carried_in_and_out(shop: Shop) -> None:
    assert csv_transfer.export_file(shop) == (HEADER.encode(), 0)
    assert bring(shop, HEADER).records == ()


def test_what_is_in_the_shop_is_carried_out_and_what_is_gone_is_not(shop: Shop) -> None:
    here = tagging.tag(shop, replace(ASH, count=3))
    burnt, used = tagging.tag(shop, ASH), tagging.tag(shop, ASH)
    editing.remove(shop, burnt.code, burnt.version, RemovalReason.BURNT)
    editing.use_up(shop, used.code, used.version)
    written, tags = csv_transfer.export_file(shop)
    assert tags == 1
    assert written.decode() == (
        HEADER + f"{here.code},ash,23 1/2 in,3 1/4 in,13/16 in,rough,rough,3,wall 2,2030-01-31,\r\n"
    )


@pytest.mark.parametrize("there", Nearest)
def test_a_rack_reads_back_the_same_in_a_shop_of_any_unit(
    shop: Shop, clock: Clock, tmp_path: Path, there: Nearest
) -> None:
    awkward = [
        replace(ASH, species="=cherry", location="@home", notes='-sound\n\nsecond, "line"\n\'=1+1'),
        replace(ASH, length=millimeters("0.000001"), width=inches("1/64"), thickness=millimeters("899.999999")),
        replace(ASH, species='a, "b"', face_a=Face.PLANED, face_b=Face.FINISHED, count=999, notes="''+x"),
        replace(ASH, species="", location="", notes="é – ½ 木"),
        replace(ASH, tagged_on=date(1999, 12, 31)),
    ]
    tagging.tag_all(shop, [tagging.NewPiece(piece) for piece in awkward])
    written, _ = csv_transfer.export_file(shop)
    with Shop.open(tmp_path / "other", now=clock) as other:
        other.save_settings(replace(other.settings(), display=Display(there)))
        again = csv_transfer.import_file(other, written).records
        assert [record.offcut for record in again] == [record.offcut for record in queries.all_pieces(shop)]
        assert all(record.state is State.ON_RACK for record in again)
        assert csv_transfer.export_file(other)[0].decode().splitlines()[0] == HEADER.strip()


def test_when_a_piece_was_last_seen_goes_along(shop: Shop, clock: Clock, tmp_path: Path) -> None:
    seen, other = tagging.tag(shop, ASH), tagging.tag(shop, ASH)
    clock.add(days=20)
    unseen.settle(shop, [seen.code], CheckResult.HERE)
    written, _ = csv_transfer.export_file(shop)
    assert [line.rpartition(",")[2] for line in written.decode().splitlines()] == ["seen_on", "2030-02-20", ""]
    clock.add(days=300)
    with Shop.open(tmp_path / "other", now=clock) as there:
        carried = csv_transfer.import_file(there, written)
        assert carried.warnings == ()
        assert {each.code: each.seen_at.date() for each in carried.records} == {
            seen.code: date(2030, 2, 20),
            other.code: clock().date(),
        }
        assert csv_transfer.export_file(there)[0] == written
    assert faults(shop, "length,width,thickness,seen_on\n1,2,3,2031-12-31\n1,2,3,soon\n") == [
        (3, 'seen_on: "soon" is no day. Type it as 2030-01-31, or nothing where nobody looked.')
    ]


def test_hundreds_of_rows_come_in_at_once_and_one_taken_tag_keeps_them_all_out(shop: Shop) -> None:
    rows = [f"{code},1,2,3" for code in sorted({new_code(Random(seed).randrange) for seed in range(600)})]
    assert len(rows) == 600
    taken = tagging.tag(shop, ASH, code=rows[-1][:7]).code
    line = len(rows) + 1
    assert faults(shop, "tag,length,width,thickness\n" + "\n".join(rows)) == [
        (line, f"tag: {taken} was given before. Leave the cell empty for a fresh one.")
    ]
    assert len(bring(shop, "tag,length,width,thickness\n" + "\n".join(rows[:-1])).records) == len(rows) - 1
