"""The whole way through a real CUPS to virtual printers: what arrives is measured and read."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pypdfium2
import pytest
import zxingcpp
from playwright.sync_api import Browser
from werkzeug.test import TestResponse

from inventory.cli import main
from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.printers.cups import Cups, CupsFault, find_cups
from inventory.services.labels import label_content, print_jobs
from inventory.services.rack import tagging
from inventory.services.rack.tagging import NewPiece
from inventory.shop import Shop
from inventory.storage.records import PrintState
from tests.printers.virtual_printer import CupsSystem, printing
from tests.web.browser import (
    DESK,
    PHONE,
    accessibility_violations,
    browser_page,
    overflowing_elements,
    serve_app,
    small_targets,
)
from tests.web.visitor import HttpClient, visible_text

CODES = ["0000011", "0000022", "0000033"]
POINTS_A_MM = 72 / 25.4


@pytest.fixture(scope="module")
def running() -> Iterator[CupsSystem]:
    """CUPS with virtual printers; ends with the tests."""
    with printing() as ours:
        yield ours


@pytest.fixture
def cups_environment(running: CupsSystem, monkeypatch: pytest.MonkeyPatch) -> CupsSystem:
    """The same as the CUPS of this machine, with nothing received yet."""
    monkeypatch.setenv("CUPS_SERVER", running.socket)
    running.forget()
    return running


@pytest.fixture
def queue(shop: Shop) -> list[str]:
    offcut = Offcut(inches("20"), inches("3"), inches("1"), "ash", location="wall 2")
    tagging.tag_all(shop, [NewPiece(offcut, code) for code in CODES])
    return CODES


def queued(shop: Shop) -> list[str]:
    return [record.code for record in label_content.queue(shop)]


def printed(visitor: HttpClient, printer: str, stock: str, *codes: str, press: str = "") -> TestResponse:
    """Presses the button of a page with these labels; answers the page of the job."""
    fields = {"tag": list(codes), "stock": stock, "printer": printer, "start": "1", "press": press}
    answer = visitor.post("/labels/print", fields, page=f"/labels/sheet?tag={codes[0]}&stock={stock}")
    return visitor.get(answer.headers["Location"]) if answer.status_code == 303 else answer


def wait_for_job(visitor: HttpClient, page: TestResponse) -> TestResponse:
    """Looks again until the job has ended, as the page does by itself."""
    path = page.request.path
    for _ in range(1200):
        page = visitor.get(path)
        if "data-poll" not in page.text:
            return page
        time.sleep(0.05)
    raise AssertionError(visible_text(page))


@contextmanager
def document(pdf: bytes) -> Iterator[pypdfium2.PdfDocument]:
    browser_page = pypdfium2.PdfDocument(pdf)
    try:
        yield browser_page
    finally:
        browser_page.close()


def sizes_in_mm(pdf: bytes) -> list[tuple[float, float]]:
    with document(pdf) as pages:
        return [(page.get_width() / POINTS_A_MM, page.get_height() / POINTS_A_MM) for page in pages]


def codes_in_order(pdf: bytes) -> list[str]:
    """What a scanner reads, page by page, from the top left."""
    read = []
    with document(pdf) as pages:
        for page in pages:
            picture = page.render(scale=300 / 72).to_pil()
            found = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
            read += sorted({each.text for each in found})
    return read


@pytest.mark.parametrize(
    ("printer", "stock", "pages"),
    [
        ("office", "letter-3x10", [(215.9, 279.4)]),
        ("office", "a4-3x8", [(210, 297)]),
        ("label", "roll-62x29", [(62, 29)] * 3),
    ],
)
def test_labels_arrive_at_the_size_they_were_drawn_at_and_leave_the_queue(
    visitor: HttpClient, shop: Shop, queue: list[str], cups_environment: CupsSystem, printer: str, stock: str,
    pages: list[tuple[float, float]],
) -> None:  # fmt: skip
    answer = wait_for_job(visitor, printed(visitor, printer, stock, *queue))
    assert "Printed. The labels are out of the queue." in visible_text(answer)
    assert queued(shop) == []
    [received] = cups_environment.received
    assert codes_in_order(received) == queue
    for (width, height), (wanted_width, wanted_height) in zip(sizes_in_mm(received), pages, strict=True):
        assert abs(width - wanted_width) < 0.02
        assert abs(height - wanted_height) < 0.02
    # The drawing itself, not only the page: its QR is as wide as in the PDF that anybody can open.
    drawn = visitor.get(f"/labels/labels.pdf?stock={stock}" + "".join(f"&tag={code}" for code in queue)).data
    assert abs(code_width(received) - code_width(drawn)) < 0.2


def code_width(pdf: bytes) -> float:
    """The width of the first QR of a document in mm, measured at 300 dpi."""
    with document(pdf) as pages:
        picture = pages[0].render(scale=300 / 72).to_pil()
    first = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)[0].position
    return (first.top_right.x - first.top_left.x) / 300 * 25.4


def test_a_job_that_fails_says_why_and_its_labels_are_back_in_the_queue(
    visitor: HttpClient, shop: Shop, queue: list[str], cups_environment: CupsSystem
) -> None:
    answer = wait_for_job(visitor, printed(visitor, "broken", "roll-62x29", *queue[:2]))
    assert re.search(r"Not printed\. It says: “.*”\. The labels wait in the queue\.", visible_text(answer))
    assert cups_environment.received == []
    assert queued(shop) == queue
    assert "failed" in visible_text(visitor.get("/labels"))


def test_a_printer_that_stands_still_is_reported_and_the_job_can_be_given_up(
    visitor: HttpClient, shop: Shop, queue: list[str], cups_environment: CupsSystem
) -> None:
    cups_environment.admin("cupsdisable", "-r", "out of tags", "office")
    try:
        page = printed(visitor, "office", "a4-3x8", queue[0])
        assert "Waiting for the printer … It is paused. It says: “out of tags”." in visible_text(page)
        assert "The label stays wanted until the printer is done." in visible_text(page)
        assert queued(shop) == queue[1:]
        assert "office, " in visible_text(visitor.get("/labels")) and "queued" in visible_text(visitor.get("/labels"))
        visitor.post(f"{page.request.path}/give-up", {}, page="/settings")
        assert "Not printed. It was given up here." in visible_text(visitor.get(page.request.path))
        assert queued(shop) == queue
    finally:
        cups_environment.admin("cupsenable", "office")
    assert cups_environment.received == []


def test_a_button_pressed_twice_prints_once(
    visitor: HttpClient, shop: Shop, queue: list[str], cups_environment: CupsSystem
) -> None:
    pages = [printed(visitor, "office", "a4-3x8", queue[0], press="abc") for _ in range(2)]
    assert pages[0].request.path == pages[1].request.path
    wait_for_job(visitor, pages[0])
    assert len(cups_environment.received) == 1


def test_the_page_offers_the_printers_that_have_the_paper_and_the_last_one_first(
    visitor: HttpClient, shop: Shop, queue: list[str], cups_environment: CupsSystem
) -> None:
    def options(stock: str) -> list[tuple[str, str]]:
        text = visitor.get(f"/labels/sheet?stock={stock}").text
        choice = re.search(r'<select id="field-printer".*?</select>', text, re.DOTALL)
        return re.findall(r'<option value="(\w+)"([^>]*)>', choice[0]) if choice else []

    assert options("roll-62x29") == [
        ("broken", " selected"), ("label", ""), ("off", " disabled"), ("office", " disabled"),
    ]  # fmt: skip
    assert options("a4-3x8") == [("broken", " selected"), ("label", ""), ("off", " disabled"), ("office", "")]
    wait_for_job(visitor, printed(visitor, "office", "a4-3x8", queue[0]))
    assert ("office", " selected") in options("a4-3x8")
    refused = printed(visitor, "office", "roll-62x29", queue[1])
    assert refused.status_code == 422
    assert 'The printer "office" has no paper of 62 × 29 mm' in visible_text(refused)


def test_the_test_sheet_goes_the_way_of_the_labels(
    visitor: HttpClient, shop: Shop, cups_environment: CupsSystem
) -> None:
    page = visitor.get("/labels/test-sheet?stock=roll-62x29")
    assert "Print the test sheet" in visible_text(page)
    fields = {"stock": "roll-62x29", "printer": "label", "press": "1"}
    answer = visitor.post("/labels/test-sheet", fields, page="/labels/test-sheet?stock=roll-62x29")
    wait_for_job(visitor, visitor.get(answer.headers["Location"]))
    [received] = cups_environment.received
    assert {(round(width, 1), round(height, 1)) for width, height in sizes_in_mm(received)} == {(62.0, 29.0)}
    refused = visitor.post("/labels/test-sheet", fields | {"printer": "off", "press": "2"}, page="/labels/test-sheet")
    assert (refused.status_code, 'The printer "off" takes no jobs now.' in visible_text(refused)) == (422, True)


def test_blank_tags_go_the_way_of_the_labels(visitor: HttpClient, shop: Shop, cups_environment: CupsSystem) -> None:
    given = visitor.post("/labels/blank-tags", {"how_many": "2"}, page="/labels/blank-tags").headers["Location"]
    sheet = f"{given}&stock=roll-62x29"
    codes = re.findall(r"tag=(\w+)", given)
    fields = {"tag": codes, "stock": "roll-62x29", "printer": "broken", "press": "1"}
    answer = visitor.post("/labels/blank-tags/print", fields, page=sheet)
    ended = wait_for_job(visitor, visitor.get(answer.headers["Location"]))
    assert "To send it again, go back to the page that it was sent from." in visible_text(ended)
    page = visitor.get(sheet)
    assert "The job says which paper it wants and that nothing be scaled." in visible_text(page)
    answer = visitor.post("/labels/blank-tags/print", fields | {"printer": "label"}, page=sheet)
    ended = wait_for_job(visitor, visitor.get(answer.headers["Location"]))
    assert "2 blank tags" in visible_text(ended)
    assert "Printed. The printer says that it is done." in visible_text(ended)
    [received] = cups_environment.received
    assert [(round(width, 1), round(height, 1)) for width, height in sizes_in_mm(received)] == [(62, 29)] * 2
    assert codes_in_order(received) == codes


def test_the_command_line_prints_and_waits(
    tmp_path_factory: pytest.TempPathFactory, cups_environment: CupsSystem, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path_factory.mktemp("shop")
    with Shop.open(folder) as shop:
        tagging.tag(shop, Offcut(inches("20"), inches("3"), inches("1"), "ash"))
    data = ["--data", str(folder)]
    assert main(["labels", *data, "--printers"]) == 0
    listed = capsys.readouterr().out
    assert "office             The office printer\n" in listed
    assert "off                off (It takes no jobs at present.)\n" in listed
    assert main(["labels", *data, "--printer", "broken", "--stock", "roll-62x29"]) == 1
    assert capsys.readouterr().err.startswith('Not printed on "broken". ')
    assert main(["labels", *data, "--printer", "label", "--stock", "roll-62x29"]) == 0
    assert capsys.readouterr().out == '1 label printed on "label".\n'
    assert main(["labels", *data, "--printer", "label"]) == 1
    assert capsys.readouterr().err.startswith("No label waits to be printed.")
    [received] = cups_environment.received[-1:]
    assert [(round(width), round(height)) for width, height in sizes_in_mm(received)] == [(62, 29)]


def test_cups_says_what_it_refuses(cups_environment: CupsSystem) -> None:
    cups = find_cups({"CUPS_SERVER": cups_environment.socket})
    assert cups is not None
    with pytest.raises(CupsFault) as fault:
        cups.send("attic", b"%PDF", "1 label", "iso_a4_210x297mm")
    assert str(fault.value) == 'CUPS knows no printer "attic" any more. Choose another one.'
    gone = cups.job(4711, "office")
    assert (gone.state, gone.reason) == (
        PrintState.FAILED,
        "CUPS knows this job no more. Look whether the labels came out.",
    )
    with pytest.raises(CupsFault) as fault:
        cups.cancel(4711)
    assert re.fullmatch(r"CUPS did not cancel the job: .*\. Cancel it at the printer\.", str(fault.value))


def test_a_number_that_is_another_printers_job_is_not_taken_for_ours(
    visitor: HttpClient, shop: Shop, queue: list[str], cups_environment: CupsSystem
) -> None:
    page = wait_for_job(visitor, printed(visitor, "label", "roll-62x29", queue[0]))
    cups = Cups(cups_environment.socket)
    number = print_jobs.job_of(shop, int(page.request.path.rpartition("/")[2])).number
    assert cups.job(number, "label").state is PrintState.PRINTED
    assert cups.job(number, "office").reason == "CUPS knows this job no more. Look whether the labels came out."


def test_cups_that_is_not_there_is_none_and_one_that_went_away_is_reported() -> None:
    assert find_cups({"CUPS_SERVER": "/nowhere/cups.sock"}) is None
    with pytest.raises(CupsFault) as fault:
        Cups("/nowhere/cups.sock").printers()
    assert str(fault.value) == (
        "CUPS can't be reached at /nowhere/cups.sock ([Errno 2] No such file or directory). "
        "Start it, or open the PDF and print that."
    )


def test_without_cups_the_page_says_that_the_pdf_is_the_way(visitor: HttpClient, shop: Shop, queue: list[str]) -> None:
    assert "The shop's computer has no CUPS, so the PDF is the way to print." in visible_text(
        visitor.get("/labels/sheet")
    )
    answer = printed(visitor, "office", "a4-3x8", queue[0])
    assert answer.status_code == 422
    assert "This computer has no CUPS, the system that prints, or it doesn't run." in visible_text(answer)
    assert print_jobs.latest(shop) == ()


@pytest.mark.browser
def test_one_press_on_a_phone_prints_and_the_page_follows(
    chromium: Browser, visitor: HttpClient, shop: Shop, queue: list[str], cups_environment: CupsSystem
) -> None:
    with serve_app(visitor.app) as address, browser_page(chromium, PHONE, bypass_csp=True) as page:
        page.goto(f"{address}/labels/sheet?stock=a4-3x8")
        assert accessibility_violations(page) == []
        assert (overflowing_elements(page), small_targets(page)) == ([], [])
        page.select_option("#field-printer", "office")
        page.click("text=Print them")
        page.wait_for_selector("text=Printed.")
        assert page.title().startswith("3 labels: printed")
        assert accessibility_violations(page) == []
        assert (overflowing_elements(page), small_targets(page)) == ([], [])
        page.click("text=To the labels")
        assert accessibility_violations(page) == []
        assert page.locator(".job-line").inner_text().startswith("3 labels to office")
    with serve_app(visitor.app) as address, browser_page(chromium, DESK, java_script_enabled=False) as page:
        page.goto(f"{address}/labels/sheet?stock=a4-3x8&tag={queue[0]}")
        page.click("text=Print it")
        assert page.url.startswith(f"{address}/labels/print-jobs/")
