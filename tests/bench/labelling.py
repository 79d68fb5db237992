"""Sheets of labels with a photo on each beside the same labels drawn without."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from io import BytesIO

import numpy as np
from PIL import Image

from labels import LabelText, sheet_pdf, stock_named
from tests.bench.measuring import Compared, side_by_side

STOCK = stock_named("letter-2x5")
PHOTO = (480, 360)


def photos_beside_none(many: int, times: int) -> Iterator[Compared]:
    """`many` labels, each with another photo, beside the same with a silhouette in its place."""
    plain = [_label(number) for number in range(many)]
    with_photos = [replace(label, picture=_photo(number)) for number, label in enumerate(plain)]
    yield side_by_side(
        f"a PDF of {many} labels",
        ("plainly drawn", lambda: sheet_pdf(plain, STOCK)),
        ("with photos", lambda: sheet_pdf(with_photos, STOCK)),
        times,
    )


def _label(number: int) -> LabelText:
    return LabelText(
        code_shown=f"{number:03d}-0000",
        qr_payload=f"HTTP://192.168.1.20:8765/T/{number:03d}0000",
        species="white oak",
        sizes="23 1/2 × 3 1/4 × 13/16 in",
        condition="rough",
        location=f"wall {number % 7}",
        silhouette=(596.9, 82.55),
    )


def _photo(number: int) -> bytes:
    """A picture about as hard to pack as one of wood: soft noise, another for each number."""
    dice = np.random.default_rng(number)
    noise = Image.fromarray(dice.integers(60, 200, (36, 48, 3), dtype=np.uint8))
    stream = BytesIO()
    noise.resize(PHOTO, Image.Resampling.BICUBIC).save(stream, "JPEG", quality=80)
    return stream.getvalue()
