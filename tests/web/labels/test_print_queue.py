"""Labels to print: the queue, a selection on a sheet, the PDF, and what leaves the queue."""

from html import unescape

import pypdfium2
import pytest
import zxingcpp

from inventory.core.codes import format_code
from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.services.labels import label_content, label_pdf
from inventory.services.rack import queries, tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.storage.photos import read_photo
from labels import CAUTION, PRINT_AT_100, STOCKS, has_picture_room
from tests.web.sample_pictures import jpeg_file
from tests.web.visitor import HttpClient, visible_text

CODES = ["0000011", "0000022", "0000033"]


@pytest.fixture
def queue(shop: Shop) -> list[str]:
    offcut = Offcut(inches("20"), inches("3"), inches("1"), "ash", location="wall 2")
    tagging.tag_all(shop, [NewPiece(offcut, code) for code in CODES])
    return CODES


def read_codes(pdf: bytes) -> list[tuple[int, list[str]]]:
    """What a scanner reads on each page, top to bottom and left to right; what it reads twice is named once."""
    pages = []
    document = pypdfium2.PdfDocument(pdf)
    try:
        for number, page in enumerate(document):
            picture = page.render(scale=300 / 72).to_pil()
            found = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
            in_order = sorted(found, key=lambda each: (each.position.top_left.y // 50, each.position.top_left.x))
            pages.append((number + 1, list(dict.fromkeys(each.text for each in in_order))))
    finally:
        document.close()
    return pages


def test_an_empty_queue_says_so(visitor: HttpClient) -> None:
    assert "No labels wait" in visible_text(visitor.get("/labels"))


def test_every_new_piece_waits_for_its_label(visitor: HttpClient, queue: list[str]) -> None:
    answer = visitor.get("/labels")
    words = visible_text(answer)
    assert "3 labels wait to be printed." in words
    assert CAUTION in words
    for code in queue:
        assert f'name="tag" value="{code}" checked' in answer.text


def test_the_sheet_page_says_to_print_at_100_per_cent_and_where_labels_come_off(
    visitor: HttpClient, queue: list[str]
) -> None:
    words = visible_text(visitor.get("/labels/sheet"))
    assert PRINT_AT_100 in words
    assert CAUTION in words


def test_a_selection_is_printed_from_a_cell_of_a_part_used_sheet(visitor: HttpClient, queue: list[str]) -> None:
    answer = visitor.get(f"/labels/labels.pdf?tag={queue[0]}&tag={queue[2]}&stock=letter-3x10&start=30")
    assert answer.mimetype == "application/pdf"
    assert read_codes(answer.data) == [(1, [queue[0]]), (2, [queue[2]])]


def test_without_a_selection_the_whole_queue_is_printed(visitor: HttpClient, queue: list[str]) -> None:
    assert read_codes(visitor.get("/labels/labels.pdf?stock=letter-3x10").data) == [(1, queue)]


def test_the_ruler_takes_the_first_cell(visitor: HttpClient, queue: list[str]) -> None:
    plain = visitor.get("/labels/labels.pdf?stock=letter-3x10&start=28").data
    ruled = visitor.get("/labels/labels.pdf?stock=letter-3x10&start=28&ruler=yes").data
    assert read_codes(plain) == [(1, queue)]
    assert read_codes(ruled) == [(1, queue[:2]), (2, queue[2:])]


@pytest.mark.parametrize("start", ["0", "31", "third", "-1", "9999999999"])
def test_a_cell_that_the_sheet_does_not_have_is_reported(visitor: HttpClient, queue: list[str], start: str) -> None:
    answer = visitor.get(f"/labels/labels.pdf?stock=letter-3x10&start={start}")
    assert answer.status_code == 422
    assert "Nothing was printed." in visible_text(answer)


def test_an_unknown_stock_is_reported_and_the_usual_one_offered(visitor: HttpClient, queue: list[str]) -> None:
    for path in ("/labels/sheet", "/labels/labels.pdf"):
        answer = visitor.get(f"{path}?stock=papyrus")
        assert answer.status_code == 422
        assert "papyrus" in unescape(answer.text)
        assert " selected>" in answer.text


def test_an_unknown_code_in_a_selection_is_a_page_that_says_so(visitor: HttpClient, queue: list[str]) -> None:
    assert visitor.get("/labels/sheet?tag=00000ZZ").status_code == 404


@pytest.mark.parametrize("stock", [each.key for each in STOCKS])
def test_every_stock_can_be_chosen_and_tried(visitor: HttpClient, queue: list[str], stock: str) -> None:
    assert visitor.get(f"/labels/sheet?stock={stock}").status_code == 200
    assert visitor.get(f"/labels/labels.pdf?stock={stock}").data.startswith(b"%PDF")
    assert visitor.get(f"/labels/test-sheet.pdf?stock={stock}").data.startswith(b"%PDF")


def test_labels_printed_all_right_leave_the_queue_and_others_stay(
    visitor: HttpClient, shop: Shop, queue: list[str]
) -> None:
    answer = visitor.post("/labels/printed", {"tag": queue[:2]}, page="/labels/sheet")
    assert answer.status_code == 303
    assert "2 labels are printed." in visible_text(visitor.get("/labels"))
    assert [record.code for record in label_content.queue(shop)] == queue[2:]
    assert queries.piece(shop, queue[0]).history[0].kind.value == "label printed"


def test_opening_the_pdf_alone_takes_nothing_out_of_the_queue(
    visitor: HttpClient, shop: Shop, queue: list[str]
) -> None:
    visitor.get("/labels/labels.pdf")
    assert len(label_content.queue(shop)) == 3


def test_a_label_printed_before_can_be_printed_again(visitor: HttpClient, shop: Shop, queue: list[str]) -> None:
    label_content.mark_printed(shop, queue)
    answer = visitor.get(f"/labels/sheet?tag={queue[1]}")
    assert "This label was printed before and waits in no queue." in visible_text(answer)
    assert read_codes(visitor.get(f"/labels/labels.pdf?tag={queue[1]}").data) == [(1, [queue[1]])]


def test_a_label_can_be_put_back_into_the_queue(visitor: HttpClient, shop: Shop, queue: list[str]) -> None:
    label_content.mark_printed(shop, queue)
    visitor.post("/labels/wanted", {"tag": [queue[1]]}, page=f"/labels/sheet?tag={queue[1]}")
    assert [record.code for record in label_content.queue(shop)] == [queue[1]]


def test_an_empty_selection_of_an_empty_queue_leads_back(visitor: HttpClient) -> None:
    assert visitor.get("/labels/sheet").headers["Location"] == "/labels"
    assert visitor.get("/labels/labels.pdf").headers["Location"] == "/labels"


def test_a_label_with_room_shows_the_photo_and_one_whose_photo_is_lost_is_printed_all_the_same(shop: Shop) -> None:
    stream, _ = jpeg_file(size=(300, 200))
    photo = shop.photos.keep(read_photo(stream))
    offcut = Offcut(inches("20"), inches("3"), inches("1"), "ash")
    record = tagging.tag(shop, offcut, photos=[photo])
    roomy = next(each.key for each in STOCKS if has_picture_room(each))
    with_photo = label_pdf.pieces_pdf(shop, [record], roomy)
    shop.photos.path(photo.digest, "thumb").unlink()
    without = label_pdf.pieces_pdf(shop, [record], roomy)
    assert with_photo != without
    assert read_codes(without) == [(1, [record.code])]


def test_blank_tags_carry_the_code_alone(shop: Shop) -> None:
    codes = label_content.blank_codes(shop, 2)
    pdf = label_pdf.blanks_pdf(shop, codes, "letter-3x10")
    assert read_codes(pdf) == [(1, list(codes))]
    document = pypdfium2.PdfDocument(pdf)
    words = document[0].get_textpage().get_text_bounded()
    document.close()
    assert format_code(codes[0]) in words


def test_a_long_queue_is_printed_in_turns(
    visitor: HttpClient, queue: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("inventory.web.labels.print_queue.MAX_PER_PDF", 2)
    answer = visitor.get("/labels")
    sentence = "3 labels wait to be printed. Here are the first 2; the others follow when these are printed."
    assert sentence in visible_text(answer)
    assert f'value="{queue[2]}"' not in answer.text
    assert read_codes(visitor.get("/labels/labels.pdf?stock=letter-3x10").data) == [(1, queue[:2])]
