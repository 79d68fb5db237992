"""`rackful import` and `rackful export`."""

import io
import sys
from pathlib import Path

import pytest

from inventory.services.rack import queries
from inventory.shop import Shop
from tests.cli.conftest import Rackful

HEADER = "tag,species,length,width,thickness,face_a,face_b,count,location,tagged_on,notes\r\n"
ROW = "0000011,ash,23 1/2 in,3 1/4 in,13/16 in,rough,rough,2,wall 2,2020-01-31,\r\n"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "rack.csv"
    path.write_bytes((HEADER + ROW).encode())
    return path


def test_a_rack_goes_in_and_comes_out_the_same(rackful: Rackful, file: Path, tmp_path: Path) -> None:
    done = rackful("import", file)
    assert (done.code, done.out, done.err) == (
        0,
        "1 tag came onto the rack. rackful labels prints what wants a label.\n",
        "",
    )
    out = tmp_path / "out.csv"
    done = rackful("export", out)
    assert (done.code, done.out, done.err) == (0, f'1 tag written to "{out}".\n', "")
    assert out.read_bytes() == file.read_bytes()
    assert rackful("export", out, "--json").document == {"file": str(out), "tags": 1}


def test_the_rack_can_go_through_a_pipe(rackful: Rackful, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(file.read_bytes())))
    assert rackful("import", "-", "--json").document == {"tags": ["0000011"], "warnings": []}
    done = rackful("export", "-")
    assert (done.code, done.out.splitlines(), done.err) == (0, (HEADER + ROW).splitlines(), "")


def test_a_document_and_the_rack_can_t_both_go_to_standard_output(rackful: Rackful, file: Path) -> None:
    rackful("import", file)
    done = rackful("export", "-", "--json")
    message = "--json and the file - would both write to standard output. Name a file."
    assert (done.code, done.err) == (2, f'{message} Type "rackful export --help" for what it takes.\n')


def test_every_bad_row_is_listed_and_nothing_is_stored(rackful: Rackful, file: Path, folder: Path) -> None:
    file.write_text(HEADER + ROW + ",ash,1,2,thick,,,,,,\n,ash,0,2,3,,,,,,\n")
    done = rackful("import", file)
    reason = 'thickness: "thick" is not a length. Type 23 1/2, 23.5 in or 597 mm.'
    assert done.code == 2
    assert done.out == f"line 3: {reason}\nline 4: The length is 0. Type the length as measured.\n"
    assert done.err == f"Nothing was taken in: 2 rows are not right. Line 3: {reason}\n"
    done = rackful("import", file, "--json")
    assert done.document == {
        "error": done.err.strip(),
        "faults": [
            {"line": 3, "reason": reason},
            {"line": 4, "reason": "The length is 0. Type the length as measured."},
        ],
    }
    with Shop.open(folder) as shop:
        assert queries.all_pieces(shop) == ()


def test_an_unknown_column_is_a_note(rackful: Rackful, file: Path) -> None:
    file.write_text("length,width,thickness,price\n1,2,3,4\n")
    done = rackful("import", file, "--json")
    message = 'The column "price" is not known here and was left out.'
    assert (done.code, done.err, done.document["warnings"]) == (0, f"Note: {message}\n", [message])


def test_a_file_that_is_not_csv_is_an_error(rackful: Rackful, tmp_path: Path) -> None:
    done = rackful("import", tmp_path / "none.csv")
    assert (done.code, done.err) == (
        2,
        f"Invalid value for 'FILE': '{tmp_path}/none.csv': No such file or directory. "
        'Type "rackful import --help" for what it takes.\n',
    )
    (tmp_path / "book.xlsx").write_bytes(b"PK\x03\x04\xff\xfe")
    assert rackful("import", tmp_path / "book.xlsx").err == (
        "The file is not text in UTF-8. Save the table as CSV in UTF-8 (not as a workbook) and try again.\n"
    )
