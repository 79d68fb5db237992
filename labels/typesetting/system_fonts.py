"""Fonts of this computer, used only for characters that the program's own fonts lack.

Only fonts with TrueType outlines, because the PDF library embeds no others. A font that can't be read is skipped.
"""

from __future__ import annotations

import os
import struct
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

# common practice, no source: font folders of the operating systems, the user's own first
_FOLDERS = (
    "~/.local/share/fonts",
    "~/.fonts",
    "~/Library/Fonts",
    "/usr/local/share/fonts",
    "/usr/share/fonts",
    "/Library/Fonts",
    "/System/Library/Fonts",
    "C:/Windows/Fonts",
)
_STYLE_WORDS = ("bold", "black", "heavy", "light", "thin", "italic", "oblique", "mono")
_SUFFIXES = (".ttf", ".ttc")
MAX_FILES = 3000
MAX_FILE_SIZE = 64_000_000

_TRUETYPE = (b"\x00\x01\x00\x00", b"true")


@dataclass(frozen=True)
class SystemFont:
    """A font: its file, its index in the file, and its characters as ranges of code points."""

    path: Path
    index: int
    starts: tuple[int, ...]
    ends: tuple[int, ...]

    def has(self, character: str) -> bool:
        """Whether the font has a character."""
        at = bisect_right(self.starts, ord(character)) - 1
        return at >= 0 and ord(character) <= self.ends[at]


def font_folders() -> tuple[Path, ...]:
    """The folders of this computer that may have fonts."""
    own = os.environ.get("XDG_DATA_HOME")
    named = [Path(folder).expanduser() for folder in _FOLDERS]
    return (*([Path(own) / "fonts"] if own else []), *named)


def fonts_supporting(character: str, folders: tuple[Path, ...]) -> Iterator[SystemFont]:
    """The fonts in these folders that have a character, upright fonts of regular weight first."""
    for font in _fonts(folders):
        if font.has(character):
            yield font


@cache
def _fonts(folders: tuple[Path, ...]) -> tuple[SystemFont, ...]:
    return tuple(font for path in _files(folders) for font in _fonts_in(path))


def _files(folders: tuple[Path, ...]) -> list[Path]:
    found: dict[Path, None] = {}
    for folder in folders:
        try:
            inside = sorted(path for path in folder.rglob("*") if path.suffix.lower() in _SUFFIXES)
        except OSError:
            continue
        found |= dict.fromkeys(inside)
    # Upright fonts of regular weight come before bold and italic ones, in each group in the order of the folders.
    return sorted(list(found)[:MAX_FILES], key=lambda path: any(word in path.stem.lower() for word in _STYLE_WORDS))


def _fonts_in(path: Path) -> Iterator[SystemFont]:
    try:
        if path.stat().st_size > MAX_FILE_SIZE:
            return
        content = path.read_bytes()
        for index, start in enumerate(_table_offsets(content)):
            ranges = _character_ranges(content, start)
            if ranges:
                yield SystemFont(path, index, *zip(*ranges, strict=True))
    except (OSError, struct.error, ValueError):
        return


def _table_offsets(content: bytes) -> tuple[int, ...]:
    """The offsets of a file's table directories: one, or those of a collection."""
    if content[:4] != b"ttcf":
        return (0,)
    (count,) = struct.unpack_from(">I", content, 8)
    return struct.unpack_from(f">{min(count, 64)}I", content, 12)


def _character_ranges(content: bytes, start: int) -> list[tuple[int, int]]:
    """The first and last code point of each range in a font's character map; none without TrueType outlines."""
    if content[start : start + 4] not in _TRUETYPE:
        return []
    (count,) = struct.unpack_from(">H", content, start + 4)
    tables = {}
    for index in range(count):
        tag, _, offset, _ = struct.unpack_from(">4sIII", content, start + 12 + 16 * index)
        tables[tag] = offset
    if b"glyf" not in tables or b"cmap" not in tables:
        return []
    cmap = tables[b"cmap"]
    (count,) = struct.unpack_from(">H", content, cmap + 2)
    best: list[tuple[int, int]] = []
    for index in range(count):
        platform, encoding, offset = struct.unpack_from(">HHI", content, cmap + 4 + 8 * index)
        if (platform, encoding) in ((3, 1), (3, 10)) or platform == 0:
            ranges = _ranges(content, cmap + offset)
            best = max(best, ranges, key=lambda some: sum(last - first + 1 for first, last in some))
    return sorted(best)


def _ranges(content: bytes, at: int) -> list[tuple[int, int]]:
    (kind,) = struct.unpack_from(">H", content, at)
    if kind == 12:
        (count,) = struct.unpack_from(">I", content, at + 12)
        groups = (struct.unpack_from(">III", content, at + 16 + 12 * index) for index in range(count))
        return [(first, last) for first, last, glyph in groups if glyph]
    if kind == 4:
        (twice,) = struct.unpack_from(">H", content, at + 6)
        ends = struct.unpack_from(f">{twice // 2}H", content, at + 14)
        starts = struct.unpack_from(f">{twice // 2}H", content, at + 16 + twice)
        return [(first, last) for first, last in zip(starts, ends, strict=True) if first <= last and first != 0xFFFF]
    return []
