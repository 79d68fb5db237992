"""Fixtures of the label tests: rendered pages, their text, invented labels and photos."""

from __future__ import annotations

import random
from collections.abc import Callable
from io import BytesIO

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray
from PIL import Image

import labels
from labels.typesetting import fonts

DPI = 300
Page = NDArray[np.uint8]

SPECIES = ("White ash", "Black cherry", "Sugar maple", "Yellow birch (flame)", "Black walnut")
SIZES = (
    "23 1/2 × 3 1/4 × 13/16 in",
    "41 × 5 3/8 × 1 3/4 in",
    "≈ 12 7/16 × 2 1/2 × 3/4 in",
    "597 × 82.5 × 20.6 mm",
    "96 1/32 × 11 15/64 × 2 1/16 in",
)
CONDITIONS = ("rough / planed", "both planed", "rough", "finished / rough", "both rough")
LOCATIONS = ("Wall 2, shelf 3", "Long rack", "Bin B", "North wall, upper bay by the window", "Cart")
FACES = ((597.0, 82.0), (1041.0, 137.0), (316.0, 63.0), (597.0, 82.5), (2440.0, 285.0))


@pytest.fixture(autouse=True)
def _no_system_fonts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Labels are the same with any fonts on the computer that runs the tests."""
    monkeypatch.setattr(fonts, "font_folders", lambda: ())


@pytest.fixture(scope="session")
def render_pages() -> Callable[[bytes], list[Page]]:
    """Renders every page of a PDF at 300 dpi in gray.

    The renderer rounds pixels up, and 8.5 × 11 in times 300 is a little more than an integer in floats, so the scale is
    a little less.
    """

    def render(pdf: bytes) -> list[Page]:
        document = pypdfium2.PdfDocument(pdf)
        pages = [
            page.render(scale=DPI / 72 * (1 - 1e-9), grayscale=True).to_numpy().squeeze().copy() for page in document
        ]
        document.close()
        return pages

    return render


@pytest.fixture(scope="session")
def page_text() -> Callable[[bytes], str]:
    """The text that can be copied from the first page of a PDF."""

    def read(pdf: bytes) -> str:
        document = pypdfium2.PdfDocument(pdf)
        text: str = document[0].get_textpage().get_text_bounded()
        document.close()
        return text

    return read


@pytest.fixture(scope="session")
def photo() -> bytes:
    """A board on a bench, as a phone photo: 1200 × 900, in color."""
    drawn = np.full((900, 1200, 3), (150, 140, 128), dtype=np.uint8)
    grain = (np.sin(np.arange(400)[:, None] * 0.35 + np.sin(np.arange(1050)[None, :] * 0.004) * 4) * 18).astype(
        np.int16
    )
    board = np.clip(np.array([196, 150, 100]) + grain[:, :, None], 0, 255).astype(np.uint8)
    drawn[250:650, 75:1125] = board
    out = BytesIO()
    Image.fromarray(drawn).save(out, "JPEG", quality=90)
    return out.getvalue()


@pytest.fixture(scope="session")
def make_labels(photo: bytes) -> Callable[..., list[labels.LabelText]]:
    """Invented labels, every second one with a photo."""

    def make(count: int, base_url: str = "http://rack.local:8765", seed: int = 1) -> list[labels.LabelText]:
        draw = random.Random(seed)
        made = []
        for number in range(count):
            code = "".join(draw.choice("0123456789ABCDEFGHJKMNPQRSTVWXYZ") for _ in range(7))
            kind = number % 5
            made.append(
                labels.LabelText(
                    code_text=f"{code[:3]}-{code[3:]}",
                    qr_payload=labels.tag_payload(base_url, code),
                    species=SPECIES[kind],
                    sizes=SIZES[kind],
                    condition=CONDITIONS[kind],
                    location=LOCATIONS[kind],
                    picture=photo if number % 2 else None,
                    silhouette=FACES[kind],
                )
            )
        return made

    return make
