"""Takes the README's pictures from the demo shop: `python -m tests.project.readme_pictures`.

Needs Chromium, as the browser tests do. Each picture is reduced to few tones and at most 200 kB.
"""

from __future__ import annotations

import tempfile
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Any

import pypdfium2
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from inventory.demo.shop import make_demo
from inventory.services.labels import label_pdf
from inventory.services.rack import queries
from inventory.shop import Shop
from inventory.storage.photos import PhotoSize
from inventory.storage.records import OffcutRecord
from inventory.web import create_app
from tests.web.browser import CHROMIUM, FLAGS, PHONE, browser_page, serve_app

PICTURES = Path(__file__).resolve().parents[2] / "static" / "pictures"
DESK: dict[str, Any] = {"viewport": {"width": 1100, "height": 900}}
BOARD = "length=18&width=12&thickness=1+1%2F2&grain=edge&prefer=least-waste"
WIDTH = 800
MAX_BYTES = 200_000


def main() -> None:
    """Makes the demo shop and takes every picture."""
    with tempfile.TemporaryDirectory() as folder, make_demo(Path(folder) / "shop", today=date.today()) as shop:
        take_all(shop)


def take_all(shop: Shop) -> None:
    """Serves the shop and takes every picture."""
    PICTURES.mkdir(exist_ok=True)
    with serve_app(create_app(shop)) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        save_picture("saw", at_the_saw(browser, address, shop), PHONE["viewport"]["width"])
        save_picture("bench", screenshot_from(browser, f"{address}/bench?{BOARD}", "article.set"), WIDTH)
        save_picture("rack", screenshot_from(browser, f"{address}/rack"), WIDTH)
        save_picture("piece", screenshot_from(browser, f"{address}/t/{a_leftover(shop).code}"), WIDTH)
        save_picture("labels", labels_of(shop), WIDTH)
        browser.close()


def screenshot_from(browser: Browser, address: str, top: str = "body") -> Image.Image:
    """The part of a page that a desktop screen shows, from `top` on."""
    with browser_page(browser, DESK) as page:
        page.goto(address)
        page.locator(top).first.evaluate("element => element.scrollIntoView({block: 'start'})")
        return screenshot(page)


def at_the_saw(browser: Browser, address: str, shop: Shop) -> Image.Image:
    """A phone with a half-filled form for tagging."""
    photographed = next(each for each in queries.all_pieces(shop) if each.main_photo)
    assert photographed.main_photo
    with browser_page(browser, PHONE) as page:
        page.goto(f"{address}/saw")
        photo = shop.photos.path(photographed.main_photo.digest, PhotoSize.FULL).read_bytes()
        page.set_input_files("input[name=photo]", {"name": "photo.jpg", "mimeType": "image/jpeg", "buffer": photo})
        for name, typed in (("length", "23 1/2"), ("width", "3 1/4"), ("thickness", "13/16")):
            page.fill(f"input[name={name}]", typed)
        return screenshot(page)


def screenshot(page: Page) -> Image.Image:
    page.wait_for_load_state("networkidle")
    page.evaluate("document.fonts.ready")
    return Image.open(BytesIO(page.screenshot()))


def a_leftover(shop: Shop) -> OffcutRecord:
    """A piece with a photo: a leftover of a board if there is one."""
    pieces = [each for each in queries.all_pieces(shop) if each.main_photo]
    return next((each for each in pieces if each.from_board), pieces[0])


def labels_of(shop: Shop) -> Image.Image:
    """The upper part of a sheet of labels, as it is printed."""
    pieces = [each for each in queries.all_pieces(shop) if each.main_photo][:4]
    sheet = pypdfium2.PdfDocument(label_pdf.pieces_pdf(shop, pieces, "letter-2x5", cut_marks=True))
    page = sheet[0].render(scale=3).to_pil()
    return page.crop((0, 0, page.width, page.height * 46 // 100))


def save_picture(name: str, picture: Image.Image, width: int) -> None:
    """Writes a picture, small enough for the README."""
    height = round(picture.height * width / picture.width)
    small = picture.convert("RGB").resize((width, height), Image.Resampling.LANCZOS)
    path = PICTURES / f"{name}.png"
    for tones in (256, 160, 96, 64):
        small.quantize(tones, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(path, optimize=True)
        if path.stat().st_size < MAX_BYTES:
            return
    raise SystemExit(f"{path.name} is {path.stat().st_size} bytes, more than {MAX_BYTES}: show less in it.")


if __name__ == "__main__":
    main()
