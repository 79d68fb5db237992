"""The two faces that labels are lettered in, and what they can show.

Knows character widths and which characters are lacking. Knows nothing of lines
or labels. Widths are millimetres, type sizes points (1/72 in).

The font files come with the program (DejaVu Sans Condensed, licence beside
them), because fractions, × and names from elsewhere must print on any machine.
What the font lacks is shown as ▯, one for each character: the code and the QR
still tell the piece. Right-to-left scripts are put in reading order run by run;
Arabic letters stand unjoined.
"""

from __future__ import annotations

import re
import unicodedata
from enum import Enum
from functools import cache
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

MM_PER_POINT = 25.4 / 72
LACKING = "▯"

# How the faces measure, as shares of the type size: height of capitals and figures, and what hangs below the line.
CAPITALS = 0.73
DESCENDERS = 0.24

_FRACTION = re.compile(r"(?:(?<=\d) )?(?<![\d/.,])(\d{1,2})/(2|4|8|16|32|64)(?![\d/])")
_WHOLE_GLYPHS = {"1/2": "½", "1/4": "¼", "3/4": "¾", "1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞"}
_ABOVE = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
_BELOW = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
_FRACTION_BAR = "⁄"


class Face(Enum):
    """A face by the name of its file."""

    REGULAR = "DejaVuSansCondensed"
    BOLD = "DejaVuSansCondensed-Bold"


@cache
def font_of(face: Face) -> TTFont:
    """The face, read once and made known to the PDF library."""
    font = TTFont(face.value, str(Path(__file__).parent / "fonts" / f"{face.value}.ttf"))
    pdfmetrics.registerFont(font)
    return font


def text_width(text: str, face: Face, size: float) -> float:
    """Width in mm of a text at a type size in points."""
    return float(font_of(face).stringWidth(text, size)) * MM_PER_POINT


def printable(text: str) -> str:
    """A text as the faces can show it: one line, accents joined, ▯ for what is lacking.

    >>> printable("chêne \\n 樫")
    'chêne ▯'
    """
    shown = []
    for character in unicodedata.normalize("NFC", text):
        kind = unicodedata.category(character)
        if kind in ("Zs", "Zl", "Zp", "Cc"):
            shown.append(" ")
        elif kind != "Cf":
            shown.append(character if _has(character) else LACKING)
    return " ".join("".join(shown).split())


def reading_order(text: str) -> str:
    """A text as it is set from left to right: runs of right-to-left letters turned round.

    >>> reading_order("oak אלון") == "oak " + "אלון"[::-1]
    True
    """
    turned: list[str] = []
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
            turned += [*reversed(run), *waiting, character]
            run, waiting = [], []
    return "".join([*turned, *reversed(run), *waiting])


def with_fractions(sizes: str) -> str:
    """Fractions of an inch set as one sign each, as they stand on a rule.

    >>> with_fractions("23 1/2 × 3 1/4 × 13/16 in")
    '23½ × 3¼ × ¹³⁄₁₆ in'
    >>> with_fractions("597 × 82.5 × 20.6 mm")
    '597 × 82.5 × 20.6 mm'
    """
    return _FRACTION.sub(lambda found: _fraction(found.group(1), found.group(2)), sizes)


def _fraction(above: str, below: str) -> str:
    glyph = _WHOLE_GLYPHS.get(f"{above}/{below}")
    return glyph or above.translate(_ABOVE) + _FRACTION_BAR + below.translate(_BELOW)


def _has(character: str) -> bool:
    return ord(character) in _known()


@cache
def _known() -> frozenset[int]:
    """The code points that both faces can show."""
    regular, bold = (frozenset(font_of(face).face.charToGlyph) for face in Face)
    return regular & bold
