"""QR symbols against ISO/IEC 18004 and against an independent encoder."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
import segno
import zxingcpp
from qrcode import QRCode

from inventory.core import codes
from labels import tag_payload
from labels.errors import LabelError
from labels.qr import LEVELS, QUIET_MODULES, dark_rectangles, min_side, symbol_at_level, symbol_for

# ISO/IEC 18004:2006, Annex I (Annex G of the 2000 edition): the text 01234567, version 1, level M, mask 010, as carried
# in the tests of public encoders. X is dark.
ANNEX_I = [
    "XXXXXXX..X.XX.XXXXXXX",
    "X.....X..XXXX.X.....X",
    "X.XXX.X.X.....X.XXX.X",
    "X.XXX.X.XX....X.XXX.X",
    "X.XXX.X.X.XXX.X.XXX.X",
    "X.....X.X...X.X.....X",
    "XXXXXXX.X.X.X.XXXXXXX",
    "........X..XX........",
    "X.XXXXX..X..X.XXXXX..",
    "...X.X.XX.X.X..X.XX..",
    "..X...XX.X.X.X..XXXXX",
    "....X....X.....XXXX..",
    "...XXXXXX..X.X..X....",
    "........X.XXXXX..XX..",
    "XXXXXXX..XX.X.XX.....",
    "X.....X.X.XXXXX...X.X",
    "X.XXX.X.X...X..X.XX..",
    "X.XXX.X.XX..X..X.....",
    "X.XXX.X.X.XX.X..X.X..",
    "X.....X........XX.XX.",
    "XXXXXXX.XXXX.X..X.X..",
]

BARE_CODE = "7KQ4M9X"
ADDRESSES = (
    "HTTP://SHOP.LOCAL/T/7KQ4M9X",
    "HTTP://RACK.LOCAL:8765/T/7KQ4M9X",
    "HTTP://192.168.100.123:8765/T/7KQ4M9X",
    "HTTPS://A-LONG-NAME.IN-A-WORKSHOP.EXAMPLE:8765/T/7KQ4M9X",
)
ADDRESS_WITH_A_PATH = "HTTP://RACK.LOCAL/our/own/rack/T/7KQ4M9X"


def test_iso_18004_annex_i() -> None:
    symbol = symbol_at_level("01234567", "M", mask=2)
    assert (symbol.version, symbol.level) == (1, "M")
    assert ["".join("X" if dark else "." for dark in row) for row in symbol.modules] == ANNEX_I


# segno 1.6.6 writes a zero codeword too many where a text ends with a whole codeword (its issues 123 and 148), which
# a bare code and every text in small letters do: those meet the second encoder below.
@pytest.mark.parametrize("payload", ADDRESSES)
@pytest.mark.parametrize("level", LEVELS)
def test_an_independent_encoder_draws_the_same_modules_with_every_mask(payload: str, level: str) -> None:
    for mask in range(8):
        ours = symbol_at_level(payload, level, mask)
        theirs = segno.make_qr(payload, error=level, version=ours.version, mask=mask, boost_error=False)
        assert ours.modules == tuple(tuple(bool(module) for module in row) for row in theirs.matrix)
    assert segno.make_qr(payload, error=level, boost_error=False).version == ours.version


@pytest.mark.parametrize("payload", [BARE_CODE, "0000011", "http:rack", *ADDRESSES])
@pytest.mark.parametrize("level", LEVELS)
def test_a_second_independent_encoder_draws_the_same_modules_with_the_mask_it_picks(payload: str, level: str) -> None:
    theirs = zxingcpp.create_barcode(payload, zxingcpp.BarcodeFormat.QRCode, ec_level=level)
    dark = np.array(theirs.to_image(scale=1, add_quiet_zones=False)) < 128
    same = [mask for mask in range(8) if np.array_equal(np.array(symbol_at_level(payload, level, mask).modules), dark)]
    assert len(same) == 1


@pytest.mark.parametrize(
    ("length", "version"),
    # ISO/IEC 18004, capacities at level M: version 1 holds 20 alphanumeric characters
    [(20, 1), (21, 2)],
)
def test_a_symbol_holds_what_the_standards_table_says(length: int, version: int) -> None:
    assert symbol_at_level("A" * length, "M", mask=0).version == version


@pytest.mark.parametrize(
    ("length", "version"),
    # ISO/IEC 18004, capacities at level M in byte mode, versions 1 to 6: 14, 26, 42, 62, 84, 106
    [(14, 1), (15, 2), (26, 2), (27, 3), (42, 3), (43, 4), (62, 4), (63, 5), (84, 5), (85, 6), (106, 6), (107, 7)],
)
def test_a_symbol_holds_as_many_bytes_as_the_standards_table_says(length: int, version: int) -> None:
    symbol = symbol_at_level("a" * length, "M", mask=0)
    assert symbol.version == version
    # ISO/IEC 18004: a symbol of version v has 17 + 4 v modules a side
    assert symbol.side == 17 + 4 * version


@pytest.mark.parametrize(
    ("payload", "version", "level"),
    [
        # a bare code gets the highest level for nothing
        ("7KQ4M9X", 1, "H"),
        # 27 characters: version 2 holds 29 at level Q
        ("HTTP://SHOP.LOCAL/T/7KQ4M9X", 2, "Q"),
        # 32 characters: version 2 holds 38 at level M, and Q would need version 3
        ("HTTP://RACK.LOCAL:8765/T/7KQ4M9X", 2, "M"),
    ],
)
def test_an_address_is_never_made_finer_for_the_sake_of_its_level(payload: str, version: int, level: str) -> None:
    symbol = symbol_for(payload)
    assert (symbol.version, symbol.level) == (version, level)
    assert symbol == symbol_at_level(payload, level)


def test_capitals_need_a_smaller_symbol_than_small_letters() -> None:
    assert symbol_for("HTTP://RACK.LOCAL:8765/T/7KQ4M9X").version == 2
    assert symbol_for("http://rack.local:8765/t/7kq4m9x").version == 3


def test_a_symbol_has_the_version_that_the_library_finds_and_reads_back_as_its_text() -> None:
    draw = random.Random(18004)
    for _ in range(60):
        letters, lengths = draw.choice((("ABC/:.0123456789", (7, 27, 33, 47, 60, 130)), ("abc/:.é", (7, 27, 33, 47))))
        text = "".join(draw.choice(letters) for _ in range(draw.choice(lengths)))
        level = draw.choice(list(LEVELS))
        symbol = symbol_at_level(text, level)
        theirs: Any = QRCode(error_correction=LEVELS[level])
        theirs.add_data(text, optimize=0)
        assert symbol.version == theirs.best_fit()
        light = np.pad(~np.array(symbol.modules), QUIET_MODULES, constant_values=True)
        picture = np.kron(light, np.full((4, 4), 255)).astype(np.uint8)
        assert [found.text for found in zxingcpp.read_barcodes(picture)] == [text]


@pytest.mark.parametrize("payload", [BARE_CODE, *ADDRESSES, ADDRESS_WITH_A_PATH])
def test_the_blocks_cover_each_dark_module_once_and_no_light_one(payload: str) -> None:
    symbol = symbol_for(payload)
    covered = [[0] * symbol.side for _ in range(symbol.side)]
    for column, row, wide, high in dark_rectangles(symbol):
        for y in range(row, row + high):
            for x in range(column, column + wide):
                covered[y][x] += 1
    assert covered == [[int(dark) for dark in row] for row in symbol.modules]


@pytest.mark.parametrize(
    ("base", "payload"),
    [
        ("", "7KQ4M9X"),
        ("  ", "7KQ4M9X"),
        ("http://rack.local:8765", "HTTP://RACK.LOCAL:8765/T/7KQ4M9X"),
        ("http://rack.local:8765/", "HTTP://RACK.LOCAL:8765/T/7KQ4M9X"),
        ("https://shop.example/Rack", "HTTPS://SHOP.EXAMPLE/Rack/T/7KQ4M9X"),
    ],
)
def test_a_tag_holds_the_address_in_capitals_or_the_bare_code(base: str, payload: str) -> None:
    assert tag_payload(base, "7kq4m9x") == payload


@pytest.mark.parametrize("base", ["", "http://rack.local:8765", "http://192.168.1.50:8765/"])
def test_what_a_tag_holds_is_read_back_as_its_code(base: str) -> None:
    assert codes.read_scanned(tag_payload(base, "0000011")) == "0000011"


def test_an_address_is_printed_at_15_mm_a_bare_code_at_12_and_no_module_under_half_a_millimeter() -> None:
    assert min_side("HTTP://RACK.LOCAL:8765/T/7KQ4M9X", 25) == 15
    assert min_side("7KQ4M9X", 21) == 12
    assert min_side("HTTP://RACK.LOCAL:8765/T/7KQ4M9X", 37) == 18.5


@pytest.mark.parametrize("length", [500, 8000])
def test_an_address_too_long_for_any_label_is_refused(length: int) -> None:
    address = "http://" + "a" * (length - 7)
    with pytest.raises(LabelError) as refused:
        symbol_for(address)
    assert str(refused.value) == (
        f"The address on the labels, http://{'a' * 33}…, has {length} characters: its code would be too fine to scan. "
        "Set a shorter base address."
    )
