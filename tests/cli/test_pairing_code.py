"""What `rackful serve` shows to phones: a pairing code in the terminal, and nowhere else."""

from __future__ import annotations

import os
import pty
import re
import select
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import zxingcpp
from PIL import Image
from werkzeug.security import generate_password_hash

from inventory.cli.terminal_qr import qr_lines, supports_blocks
from inventory.shop import Shop

PROGRAM = [sys.executable, "-c", "import sys; from inventory.cli import main; sys.exit(main())"]
HALVES = {" ": (255, 255), "▀": (0, 255), "▄": (255, 0), "█": (0, 0)}


@pytest.fixture
def guarded(folder: Path) -> Path:
    """A shop with a passphrase."""
    with Shop.open(folder) as shop:
        shop.save_settings(replace(shop.settings(), pass_phrase_hash=generate_password_hash("x", "pbkdf2:sha256:1")))
    return folder


class Terminal:
    """A pseudo-terminal that a program writes to."""

    def __init__(self, master: int) -> None:
        self._master = master
        self._read = b""
        self.seen = ""

    def until(self, words: str, times: int = 1) -> str:
        limit = time.monotonic() + 90
        while self.seen.count(words) < times:
            assert time.monotonic() < limit, self.seen
            # With a timeout, so that text that never comes fails the test.
            if select.select([self._master], [], [], 1)[0]:
                # Decoded from the beginning: what is read may end within a letter.
                self._read += os.read(self._master, 65536)
                self.seen = self._read.decode("utf-8", "replace").replace("\r\n", "\n")
        return self.seen

    def type(self, text: str) -> None:
        os.write(self._master, text.encode())


@contextmanager
def run_in_terminal(*arguments: str) -> Iterator[Terminal]:
    master, slave = pty.openpty()
    program = subprocess.Popen(
        [*PROGRAM, *arguments], stdin=slave, stdout=slave, stderr=slave, start_new_session=True,
        env=os.environ | {"PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip
    os.close(slave)
    try:
        yield Terminal(master)
        program.terminate()
        assert program.wait(20) == 0
    finally:
        program.kill()
        program.wait()
        os.close(master)


def read_codes(seen: str) -> list[str]:
    """What a camera reads from the screen, code by code."""
    lines = re.findall(r"\x1b\[38;5;16;48;5;231m([ ▀▄█]+)\x1b\[0m", seen)
    wide = len(lines[0])
    high = (wide + 1) // 2
    read = []
    for start in range(0, len(lines), high):
        picture = Image.new("L", (wide, 2 * high), 255)
        for y, line in enumerate(lines[start : start + high]):
            for x, half in enumerate(line):
                for lower, shade in enumerate(HALVES[half]):
                    picture.putpixel((x, 2 * y + lower), shade)
        [code] = zxingcpp.read_barcodes(picture.resize((wide * 6, 12 * high), Image.Resampling.NEAREST))
        read.append(code.text)
    return read


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_: Any) -> None:
        return None


def answer_to(address: str) -> tuple[int, str]:
    """The status of a response and its redirect."""
    try:
        with urllib.request.build_opener(_NoRedirect).open(address, timeout=20) as answer:
            return answer.status, ""
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.headers.get("Location", "")


def test_in_a_terminal_a_code_pairs_a_phone_and_enter_shows_a_new_one_after_it_was_used(guarded: Path) -> None:
    with run_in_terminal("serve", "--data", str(guarded), "--host", "0.0.0.0", "--port", "0", "--no-name") as terminal:
        seen = terminal.until("Press Enter for a fresh code.")
        port = re.search(r"open at http://\S+:(\d+)/", seen)
        assert port
        assert "it lets one device in at http://" in seen
        [code] = read_codes(seen)
        word = re.fullmatch(rf"HTTP://\S+:{port[1]}/J/(\w{{20}})", code)
        assert word
        assert word[1] not in seen
        assert answer_to(f"http://127.0.0.1:{port[1]}/J/{word[1]}") == (303, "/pair")
        terminal.type("\n")
        assert read_codes(terminal.until("it lets one device in", 2)) == [code, code]


def test_what_goes_into_a_file_holds_no_code(guarded: Path) -> None:
    program = subprocess.Popen(
        [*PROGRAM, "serve", "--data", str(guarded), "--host", "0.0.0.0", "--port", "0", "--no-name"],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    assert program.stdout
    assert program.stdout.readline().startswith("Rackful is open at ")
    program.terminate()
    rest, _ = program.communicate(timeout=20)
    assert rest == ""


def test_every_line_of_a_code_is_as_wide_as_the_first() -> None:
    lines = qr_lines("HTTP://192.168.1.20:8765/J/0123456789ABCDEFGHJK")
    assert len({len(line) for line in lines}) == 1
    assert supports_blocks("utf-8") and supports_blocks("cp437")
    assert not supports_blocks("latin-1") and not supports_blocks(None) and not supports_blocks("no such")
