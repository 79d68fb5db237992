"""`rackful labels`."""

from pathlib import Path

import pypdfium2
import pytest

from inventory.core.lengths import Length, inches, millimeters
from inventory.core.offcuts import Offcut
from inventory.services.labels import label_content, label_stocks
from inventory.services.rack import tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.storage.label_stock_records import OwnStock, StockKind
from labels import PRINT_AT_100, STOCKS
from tests.cli.conftest import Rackful


def pdf_text(pdf: Path) -> str:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return "\n".join(page.get_textpage().get_text_range() for page in document)
    finally:
        document.close()


@pytest.fixture
def codes(rackful: Rackful) -> list[str]:
    """Two pieces on the rack, both in the queue."""
    return [str(rackful("add", f"ash {n} x 2 x 1", "--json").document["tag"]) for n in (20, 30)]


def test_the_queue_goes_into_a_pdf_and_stays_until_it_is_printed(
    rackful: Rackful, folder: Path, tmp_path: Path, codes: list[str]
) -> None:
    out = tmp_path / "labels.pdf"
    done = rackful("labels", "--out", out)
    assert (done.code, done.out, done.err) == (0, f'2 labels written to "{out}". {PRINT_AT_100}\n', "")
    assert all(f"{code[:3]}-{code[3:]}" in pdf_text(out) for code in codes)
    assert rackful("labels", "--out", out, "--printed", "--json").document == {"file": str(out), "tags": codes}
    with Shop.open(folder) as shop:
        assert label_content.queue(shop) == ()
    done = rackful("labels", "--out", out)
    assert (done.code, done.err) == (1, "No label waits to be printed. Name the codes of pieces, or use --all.\n")
    assert rackful("labels", "--out", out, "--all", "--json").document["tags"] == codes


def test_one_piece_by_its_code_as_it_is_typed(rackful: Rackful, tmp_path: Path, codes: list[str]) -> None:
    typed = f"{codes[1][:3]}-{codes[1][3:]}".lower()
    done = rackful("labels", typed, "--out", tmp_path / "one.pdf", "--stock", "roll-62x29", "--json")
    assert done.document["tags"] == [codes[1]]
    assert f"{codes[0][:3]}-{codes[0][3:]}" not in pdf_text(tmp_path / "one.pdf")


def test_blank_tags_have_codes_that_are_given_and_the_test_sheet_has_none(
    rackful: Rackful, folder: Path, tmp_path: Path, codes: list[str]
) -> None:
    blank = rackful("labels", "--blank", 3, "--out", tmp_path / "blank.pdf", "--json").document["tags"]
    with Shop.open(folder) as shop:
        assert set(blank) | set(codes) == shop.issued_codes()
    done = rackful("labels", "--test-sheet", "--out", tmp_path / "test.pdf", "--stock", "a4-3x7")
    assert (done.code, done.out) == (0, f'The test sheet written to "{tmp_path}/test.pdf". {PRINT_AT_100}\n')


def test_the_stocks_are_listed_without_a_shop(rackful: Rackful, folder: Path) -> None:
    done = rackful("labels", "--stocks")
    assert [line.split()[0] for line in done.out.splitlines()] == [stock.key for stock in STOCKS]
    assert len(rackful("labels", "--stocks", "--json").document["stocks"]) == len(STOCKS)
    assert not folder.exists()


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], 'Name the file that the labels go to, such as "--out labels.pdf", or a printer with --printer.'),
        (
            ["--all", "--stocks"],
            "Name codes, or one of --all, --blank, --test-sheet, --stocks and --printers, not two of them.",
        ),
        (
            ["--printer", "desk", "--printed"],
            "--printed goes with a PDF: what a --printer has printed leaves the queue by itself.",
        ),
        (
            ["--test-sheet", "--printed"],
            "--printed goes with the labels of pieces: blank tags and test sheets are in no queue.",
        ),
    ],
)
def test_options_that_don_t_go_together_are_an_error(rackful: Rackful, arguments: list[str], message: str) -> None:
    done = rackful("labels", *arguments)
    assert (done.code, done.err) == (2, f'{message} Type "rackful labels --help" for what it takes.\n')


def test_a_stock_or_cell_that_is_none_writes_nothing(rackful: Rackful, tmp_path: Path, codes: list[str]) -> None:
    out = tmp_path / "labels.pdf"
    done = rackful("labels", "--out", out, "--stock", "papyrus")
    assert (done.code, done.err.startswith('"papyrus" is no label stock that is known here.')) == (2, True)
    assert rackful("labels", "--out", out, "--start-cell", 0).code == 2
    assert rackful("labels", "--out", out, "--stock", "a4-3x7", "--start-cell", 22).code == 2
    assert rackful("labels", "ZZZ", "--out", out).code == 2
    assert not out.exists()


def test_without_cups_the_pdf_is_the_way(rackful: Rackful, codes: list[str]) -> None:
    message = (
        "There is no CUPS on this machine, the system that prints, or it doesn't run. "
        "Write the labels to a PDF with --out and print that at 100 %.\n"
    )
    for arguments in (["--printers"], ["--printer", "desk"]):
        done = rackful("labels", *arguments)
        assert (done.code, done.out, done.err) == (2, "", message)


def test_own_stocks_copies_and_letters_that_cannot_be_printed(rackful: Rackful, folder: Path, tmp_path: Path) -> None:
    with Shop.open(folder) as shop:
        size = (millimeters("90"), millimeters("40"))
        margins = (Length(0), Length(0))
        tag = OwnStock("", "Tags", StockKind.ROLL, size, 1, 1, size, margins, size, Length(0))
        label_stocks.save_stock(shop, tag)
        tagging.tag_all(shop, [NewPiece(Offcut(inches("9"), inches("3"), inches("1"), "oak \ue123"), "0000011")])
    assert rackful("labels", "--stocks").out.splitlines()[0].split() == ["own-tags", "Tags"]
    done = rackful("labels", "--stock", "own-tags", "--copies", "3", "--cut-marks", "--out", tmp_path / "tags.pdf")
    assert (done.code, done.err) == (
        0,
        "Note: No font on this computer has \ue123: on the label stands ▯ instead. Install a TrueType font that has "
        "it, or write the name in other letters.\n",
    )
    document = pypdfium2.PdfDocument(tmp_path / "tags.pdf")
    assert len(document) == 3
    document.close()
