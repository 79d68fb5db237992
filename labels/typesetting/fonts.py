"""The two fonts of labels: text widths, fallback fonts, printable text.

Widths are millimeters, type sizes points (1/72 in).

The font files are part of the program (DejaVu Sans Condensed, license beside them), so that fractions, × and foreign
names print on any machine. Characters that they lack are printed in a font of this computer. A character that no font
has is printed as ▯, and `missing_characters` lists it. Right-to-left text is reordered run by run; Arabic letters are
not joined.
"""

from __future__ import annotations

import re
import struct
import unicodedata
import zlib
from enum import Enum
from functools import cache, lru_cache
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

from labels.typesetting.system_fonts import font_folders, fonts_supporting

MM_PER_POINT = 25.4 / 72
MISSING_GLYPH = "▯"

# Height of capitals and figures, and depth below the baseline, as shares of the type size.
CAP_HEIGHT = 0.73
DESCENT = 0.24

_FRACTION = re.compile(r"(?:(?<=\d) )?(?<![\d/.,])(\d{1,2})/(2|4|8|16|32|64)(?![\d/])")
_FRACTION_GLYPHS = {"1/2": "½", "1/4": "¼", "3/4": "¾", "1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞"}
_SUPERSCRIPTS = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
_SUBSCRIPTS = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
_FRACTION_BAR = "⁄"


class FontFace(Enum):
    """A font by the name of its file."""

    REGULAR = "DejaVuSansCondensed"
    BOLD = "DejaVuSansCondensed-Bold"


@cache
def load_font(face: FontFace) -> TTFont:
    """The font, read once and registered with the PDF library."""
    font = TTFont(face.value, str(Path(__file__).parent / "faces" / f"{face.value}.ttf"))
    pdfmetrics.registerFont(font)
    return font


def text_width(text: str, face: FontFace, size: float) -> float:
    """Width in mm of a text at a type size in points."""
    if _is_supported(text):
        return 0.001 * size * _advance(text, face) * MM_PER_POINT
    return (
        sum(float(_registered(name, face).stringWidth(run, size)) for name, run in font_runs(text, face)) * MM_PER_POINT
    )


@lru_cache(maxsize=4096)
def _advance(text: str, face: FontFace) -> float:
    """The width of a text that the font supports, in thousandths of the type size."""
    measures = load_font(face).face
    widths = (measures.charWidths.get(ord(character), measures.defaultWidth) for character in text)
    return float(sum(widths))


def font_runs(text: str, face: FontFace) -> list[tuple[str, str]]:
    """A text split into runs of one font each: the font's name in the PDF library, and the run."""
    if _is_supported(text):
        return [(face.value, text)]
    runs: list[tuple[str, str]] = []
    for character in text:
        name = face.value if ord(character) in _supported_codepoints() else _fallback_font(character) or face.value
        if runs and runs[-1][0] == name:
            runs[-1] = (name, runs[-1][1] + character)
        else:
            runs.append((name, character))
    return runs


def missing_characters(text: str) -> str:
    """The characters of a text that no font of this computer has, each once.

    >>> missing_characters("oak, дуб, δρυς, chêne")
    ''
    """
    wanted = unicodedata.normalize("NFC", text)
    plain = (each for each in wanted if unicodedata.category(each) not in ("Zs", "Zl", "Zp", "Cc", "Cf"))
    return "".join(each for each in dict.fromkeys(plain) if not _has_glyph(each))


def printable(text: str) -> str:
    """A text as it can be printed: one line, composed characters (NFC), ▯ for missing characters.

    >>> printable("chêne \\n 樫")
    'chêne ▯'
    """
    shown = []
    for character in unicodedata.normalize("NFC", text):
        kind = unicodedata.category(character)
        if kind in ("Zs", "Zl", "Zp", "Cc"):
            shown.append(" ")
        elif kind != "Cf":
            shown.append(character if _has_glyph(character) else MISSING_GLYPH)
    return " ".join("".join(shown).split())


@lru_cache(maxsize=4096)
def visual_order(text: str) -> str:
    """A text in visual order, from left to right: runs of right-to-left letters are reversed.

    >>> visual_order("oak אלון") == "oak " + "אלון"[::-1]
    True
    """
    ordered: list[str] = []
    run: list[str] = []
    waiting: list[str] = []
    for character in text:
        way = unicodedata.bidirectional(character)
        if way in ("R", "AL"):
            run += [*waiting, character]
            waiting = []
        elif run and way in ("NSM", "WS"):
            waiting.append(character)
        else:
            ordered += [*reversed(run), *waiting, character]
            run, waiting = [], []
    return "".join([*ordered, *reversed(run), *waiting])


def with_fractions(sizes: str) -> str:
    """Fractions of an inch as fraction characters.

    >>> with_fractions("23 1/2 × 3 1/4 × 13/16 in")
    '23½ × 3¼ × ¹³⁄₁₆ in'
    >>> with_fractions("597 × 82.5 × 20.6 mm")
    '597 × 82.5 × 20.6 mm'
    """
    return _FRACTION.sub(lambda found: _fraction(found.group(1), found.group(2)), sizes)


def _fraction(numerator: str, denominator: str) -> str:
    glyph = _FRACTION_GLYPHS.get(f"{numerator}/{denominator}")
    return glyph or numerator.translate(_SUPERSCRIPTS) + _FRACTION_BAR + denominator.translate(_SUBSCRIPTS)


def _has_glyph(character: str) -> bool:
    return ord(character) in _supported_codepoints() or _fallback_font(character) is not None


@lru_cache(maxsize=4096)
def _is_supported(text: str) -> bool:
    return _supported_codepoints().issuperset(map(ord, text))


@cache
def _supported_codepoints() -> frozenset[int]:
    """The code points that both fonts have."""
    regular, bold = (frozenset(load_font(face).face.charToGlyph) for face in FontFace)
    return regular & bold


def _fallback_font(character: str) -> str | None:
    """The name of a font of this computer that has a character, registered with the PDF library."""
    return _find_fallback(character, font_folders())


@cache
def _find_fallback(character: str, folders: tuple[Path, ...]) -> str | None:
    if unicodedata.category(character) in ("Cs", "Cn", "Co"):
        return None
    for font in fonts_supporting(character, folders):
        # Two folders may have files of one name, so the font's name includes a checksum of the whole path.
        name = f"fallback-{font.path.stem}-{zlib.crc32(str(font.path).encode())}-{font.index}"
        try:
            if name not in pdfmetrics.getRegisteredFontNames():
                pdfmetrics.registerFont(TTFont(name, str(font.path), subfontIndex=font.index))
        except (TTFError, OSError, struct.error, ValueError, KeyError):
            continue  # damaged, or its license forbids embedding
        if ord(character) in pdfmetrics.getFont(name).face.charToGlyph:
            return name
    return None


def _registered(name: str, face: FontFace) -> TTFont:
    return load_font(face) if name == face.value else pdfmetrics.getFont(name)
