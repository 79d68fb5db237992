"""The rack CSV read and written, with no shop at hand."""

from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.lengths import Length, Unit, inches, millimeters
from inventory.core.offcuts import Face, Mark, Offcut
from inventory.services.rack.csv_transfer import BadRows, InvalidRackFile, read_rack
from inventory.services.rack.rack_csv import COLUMNS, read_rows, write_rows

HEADER = "tag,species,length,width,thickness,face_a,face_b,count,location,tagged_on,notes\r\n"


def rack(text: str, unit: Unit = Unit.INCH) -> list[Offcut]:
    offcuts, warnings = read_rack(text.encode(), unit)
    assert warnings == ()
    return offcuts


def faults(text: str) -> list[tuple[int, str]]:
    with pytest.raises(BadRows) as error:
        read_rack(text.encode(), Unit.INCH)
    return [(fault.line, fault.reason) for fault in error.value.faults]


def refused(content: bytes) -> str:
    with pytest.raises(InvalidRackFile) as error:
        read_rack(content, Unit.INCH)
    return str(error.value)


def test_a_full_row_is_read_as_the_contract_writes_it() -> None:
    [piece] = rack(
        HEADER + 'ooo-0011,white oak,23 1/2,3 1/4 in,20 mm,planed,FINISHED,4,"wall 2, low",2030-01-31,"a ""knot"""'
    )
    assert piece == Offcut(
        length=inches("23 1/2"),
        width=inches("3 1/4"),
        thickness=millimeters("20"),
        species="white oak",
        face_a=Face.PLANED,
        face_b=Face.FINISHED,
        count=4,
        tag="0000011",
        location="wall 2, low",
        tagged_on=date(2030, 1, 31),
        notes='a "knot"',
    )


def test_only_the_three_sizes_are_needed_and_a_row_without_a_tag_is_called_after_its_line() -> None:
    first, second = rack("Thickness, WIDTH ,length\n1,2,3\n\n,,\n4,5,6\n")
    assert first == Offcut(inches("3"), inches("2"), inches("1"), tag="line 2")
    assert second == Offcut(inches("6"), inches("5"), inches("4"), tag="line 5")


def test_a_bare_number_is_in_the_unit_of_the_shop() -> None:
    assert rack("length,width,thickness\n600,80,20", Unit.MILLIMETER)[0].length == millimeters("600")
    assert rack('length,width,thickness\n"600,5",80,20', Unit.MILLIMETER)[0].length == millimeters("600.5")


def test_a_byte_order_mark_and_every_way_to_end_a_line_are_read() -> None:
    for mark in (b"", b"\xef\xbb\xbf"):
        for end in (b"\r\n", b"\n", b"\r"):
            offcuts, _ = read_rack(mark + end.join([b"length,width,thickness", b"1,2,3", b"4,5,6"]), Unit.INCH)
            assert [piece.tag for piece in offcuts] == ["line 2", "line 3"]


def test_a_note_over_several_lines_is_one_cell_and_the_next_row_knows_its_line() -> None:
    [first, second] = rack('length,width,thickness,notes\r\n1,2,3,"one\r\ntwo\nthree"\r\n4,5,6,\r\n')
    assert first.notes == "one\r\ntwo\nthree"
    assert (first.tag, second.tag) == ("line 2", "line 5")


def test_an_unknown_column_is_named_and_left_out() -> None:
    offcuts, warnings = read_rack(b"length,price,width,thickness,\n1,9.99,2,3,x\n", Unit.INCH)
    assert offcuts == [Offcut(inches("1"), inches("2"), inches("3"), tag="line 2")]
    assert warnings == (
        'The column "price" is not known here and was left out.',
        "Column 5 has no name and was left out.",
    )


def test_every_fault_of_every_row_is_listed() -> None:
    text = (
        HEADER + ",ash,1,2,3,,,,,,\n,ash,,2 furlongs,3,smooth,,two,,yesterday,\n0000012,ash,0,2,3,,,,,,\n,ash,1,2\n"
        ",ash,1,2,3,,,1000,,,\n"
    )
    assert faults(text) == [
        (3, "length: The size is missing. Type 23 1/2, 23.5 in or 597 mm."),
        (3, 'width: "2 furlongs" is not a length: "furlongs" is no unit known here. Type 23 1/2, 23.5 in or 597 mm.'),
        (3, 'face_a: "smooth" is no condition of a face. Type rough, planed or finished.'),
        (3, 'count: "two" is no number of pieces. Type a whole number, or nothing for 1.'),
        (3, 'tagged_on: "yesterday" is no day. Type it as 2030-01-31, or nothing for today.'),
        (4, "The length is 0. Type the length as measured."),
        (5, "The row has 4 cells, the first line 11. Check its commas and quotes."),
        (6, "A tag stands for 1 to 999 like pieces, not 1000."),
    ]
    with pytest.raises(BadRows) as error:
        read_rack(text.encode(), Unit.INCH)
    assert str(error.value) == (
        "Nothing was taken in: 4 rows are not right. "
        "Line 3: length: The size is missing. Type 23 1/2, 23.5 in or 597 mm."
    )


def test_a_tag_stands_in_one_row_only() -> None:
    rows = "tag,length,width,thickness\n0000011,1,2,3\nO000-01I,1,2,3\nline 5,1,2,3\n,1,2,3\n"
    assert faults(rows) == [(3, "tag: 0000011 stands in line 2 too. Keep it in one row.")]
    assert faults(rows.replace("O000-01I", "")) == [
        (5, 'tag: the row has none and "line 5" is another row\'s. Give it a tag.')
    ]


def test_a_file_that_is_no_table_is_refused_in_a_sentence() -> None:
    mend = "The first line must name the columns: " + ",".join(COLUMNS) + "."
    assert refused(b"") == f"There is no column length and no column width and no column thickness in line 1. {mend}"
    assert refused(b"length,width\n1,2") == f"There is no column thickness in line 1. {mend}"
    assert refused(b"\n\nlength,width,depth\n") == f"There is no column thickness in line 3. {mend}"
    assert refused(b"length;width;thickness\n1;2;3") == (
        "There is no column length and no column width and no column thickness in line 1. "
        "Columns must be separated by commas, not by semicolons or tabs: save the table anew."
    )
    assert refused(b"length,width,thickness,Length\n") == (
        'The column "length" stands twice in line 1. Keep one of them.'
    )
    assert refused("species,length,width,thickness\nchêne,1,2,3".encode("latin-1")) == (
        "The file is not text in UTF-8. Save the table as CSV in UTF-8 (not as a workbook) and try again."
    )


def test_a_quote_out_of_place_is_reported_with_its_line() -> None:
    mend = "Put quotes around the whole cell, and two for each one in it."
    start = "length,width,thickness,notes\n1,2,3,\n"
    assert refused((start + '4,5,6,"a" b\n').encode()) == (
        f"Line 3 is not CSV: a quote stands inside a cell that goes on after it. {mend}"
    )
    assert refused((start + '4,5,6,"never closed\n1,2,3,\n').encode()) == (
        f"Line 3 is not CSV: a quote is opened and never closed. {mend}"
    )
    assert refused((start + "4,5,6," + "x" * 140_000).encode()) == (
        f"Line 3 is not CSV: a cell is longer than any note; perhaps a quote is never closed. {mend}"
    )


def test_inches_typed_with_their_mark_need_no_quotes_unless_first() -> None:
    assert rack('length,width,thickness\n1\' 11 1/2",3 1/4",13/16"\n')[0].length == inches("23 1/2")


def test_a_text_that_a_spreadsheet_would_evaluate_is_marked_as_text() -> None:
    piece = Offcut(Length(1), Length(2), Length(3), species="=1+1", location="+wall", notes="-sound\n@home")
    [row] = write_rows([piece], Unit.INCH).decode().removeprefix(HEADER).splitlines()[:1]
    assert row.startswith(",'=1+1,") and ",'+wall," in row and "\"'-sound" in row
    assert rack("length,width,thickness,notes\n1,2,3,=1+1")[0].notes == "=1+1"
    assert rack("length,width,thickness,notes\n1,2,3,'=1+1")[0].notes == "=1+1"
    assert rack("length,width,thickness,notes\n1,2,3,''=1+1")[0].notes == "'=1+1"
    assert rack("length,width,thickness,notes\n1,2,3,'t was sound")[0].notes == "'t was sound"


def test_the_file_is_written_as_the_contract_says() -> None:
    pieces = [
        Offcut(inches("23 1/2"), millimeters("82.55"), millimeters("20"), "ash", tag="0000011", location="wall 2"),
        Offcut(Length(596_900_001), Length(1), inches("13/16"), 'a, "b"', Face.PLANED, Face.FINISHED, 12, notes="x\ny"),
    ]
    assert write_rows(pieces, Unit.INCH).decode() == (
        HEADER + "0000011,ash,23 1/2 in,3 1/4 in,20 mm,rough,rough,1,wall 2,,\r\n"
        ',"a, ""b""",596.900001 mm,0.000001 mm,13/16 in,planed,finished,12,,,"x\ny"\r\n'
    )


# What a person can type into a field: any character but those that no text file holds.
letters = st.characters(exclude_categories=["Cs"])
names = st.text(letters, max_size=60).map(lambda text: " ".join(text.split()))
notes = st.text(letters | st.sampled_from("=+-@'\t\r\n\","), max_size=200)
sizes = st.integers(1, 900_000_000).map(Length) | st.integers(1, 64 * 35).map(lambda parts: Length(parts * 396_875))
offcuts = st.builds(
    Offcut,
    length=sizes,
    width=sizes,
    thickness=sizes,
    species=names | st.sampled_from(["=ash", "'+ash", "''@", "-"]),
    face_a=st.sampled_from(Face),
    face_b=st.sampled_from(Face),
    count=st.integers(1, 999),
    location=names,
    tagged_on=st.none() | st.dates(),
    notes=notes,
    marks=st.sets(st.sampled_from(Mark)).map(tuple),
    moisture=st.integers(1, 2000).map(lambda tenths: Fraction(tenths, 10)),
    moisture_on=st.none() | st.dates(),
    batch=names | st.sampled_from(["=elm", "'+elm"]),
)


@given(st.lists(offcuts, max_size=6), st.sampled_from(Unit), st.sampled_from(Unit), st.booleans())
@settings(max_examples=150, deadline=None)
def test_what_is_carried_out_reads_back_the_same_in_any_shop(
    pieces: list[Offcut], here: Unit, there: Unit, marked: bool
) -> None:
    written = write_rows(pieces, here)
    read = read_rows((b"\xef\xbb\xbf" if marked else b"") + written, there, str)
    assert [row.offcut for row in read.rows] == pieces
    assert read.warnings == ()


CARRIED = "length,width,thickness,marks,moisture,moisture_on,batch\n"


def test_what_a_piece_carries_is_read_as_the_contract_writes_it() -> None:
    [full, empty, plain] = rack(
        CARRIED + "1,2,3, Oily; keep;live  edge;keep,8.5 %,2030-01-31, elm 2029 \n1,2,3,,,,\n1,2,3,knots,12,,\n"
    )
    assert full.marks == (Mark.KEEP, Mark.LIVE_EDGE, Mark.OILY)
    assert (full.moisture, full.moisture_on, full.batch) == (Fraction("8.5"), date(2030, 1, 31), "elm 2029")
    assert (empty.marks, empty.moisture, empty.moisture_on, empty.batch) == ((), None, None, "")
    assert (plain.marks, plain.moisture, plain.moisture_on) == ((Mark.KNOTS,), 12, None)


def test_the_columns_are_written_only_where_some_piece_has_them() -> None:
    plain = Offcut(inches("1"), inches("2"), inches("3"), tag="0000011")
    marked = Offcut(inches("1"), inches("2"), inches("3"), tag="0000022", marks=(Mark.METAL, Mark.OILY))
    batch = Offcut(inches("1"), inches("2"), inches("3"), tag="0000033", batch="=elm")
    moist = Offcut(inches("1"), inches("2"), inches("3"), moisture=Fraction("12.5"), moisture_on=date(2030, 1, 31))
    assert write_rows([plain], Unit.INCH).startswith(HEADER.encode())
    [header, first, second] = write_rows([plain, marked], Unit.INCH).decode().splitlines()
    assert header == HEADER.strip() + ",marks"
    assert (first.rpartition(",")[2], second.rpartition(",")[2]) == ("", "metal;oily")
    every = write_rows([plain, marked, batch, moist], Unit.INCH, seen={"0000022": date(2030, 1, 31)}).decode()
    assert [line.split(",", 11)[11] for line in every.splitlines()] == [
        "marks,moisture,moisture_on,batch,seen_on",
        ",,,,",
        "metal;oily,,,,2030-01-31",
        ",,,'=elm,",
        ",12.5,2030-01-31,,",
    ]


def test_what_can_not_be_carried_is_a_fault_of_its_row() -> None:
    rows = (
        "1,2,3,wormy,,,\n1,2,3,metal,dry,,\n1,2,3,,250,,\n1,2,3,,8,yesterday,\n1,2,3,,,2030-01-31,\n1,2,3,,,,"
        + "x" * 61
    )
    assert faults(CARRIED + rows) == [
        (2, 'marks: "wormy" is no mark. Choose from keep, damp, metal, live edge, crack, knots, paint grade, oily.'),
        (3, 'moisture: "dry" is no moisture content. Type a percentage such as 8.5.'),
        (4, "250 % is no moisture content of wood: it is over 0 and at most 200. Read the meter again."),
        (5, 'moisture_on: "yesterday" is no day. Type it as 2030-01-31, or nothing where none was read.'),
        (6, "The moisture was read on 2030-01-31, but its percentage is missing. Type it, or leave the day empty."),
        (7, "The batch is longer than 60 letters. Shorten it."),
    ]
