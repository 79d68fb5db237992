"""Names in other scripts: in the program's own fonts, in fonts of the computer, and without a font."""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator
from pathlib import Path

import pypdfium2
import pytest

import labels
from labels.typesetting import fonts, system_fonts
from labels.typesetting.fonts import FontFace, font_runs, missing_characters, printable, text_width
from labels.typesetting.words import LineKind, set_text

OWN = Path(fonts.__file__).parent / "faces" / "DejaVuSansCondensed.ttf"

# Names of oak and other species in the languages of the places where they grow.
KNOWN = (
    "chêne sessile",
    "dąb szypułkowy",
    "tölgyfa",
    "mañío",
    "дуб черешчатый",
    "δρυς η ποδισκοφόρος",
    "gỗ sồi",
    "אלון",
)
EVERY_RANGE = 0x6A2B, 0x30CA, 0x30E9


def build_font(characters: tuple[int, ...], letter: str = "O", outlines: bytes = b"glyf") -> bytes:
    """The program's own font with another list of letters: each of these shows the glyph of `letter`."""
    content = OWN.read_bytes()
    (count,) = struct.unpack_from(">H", content, 4)
    tables = [struct.unpack_from(">4sIII", content, 12 + 16 * number) for number in range(count)]
    glyph = fonts.load_font(FontFace.REGULAR).face.charToGlyph[ord(letter)]
    groups = b"".join(struct.pack(">III", each, each, glyph) for each in sorted(characters))
    # OpenType specification, cmap: version 0, one table for platform 3, encoding 10, in format 12
    listed = struct.pack(">HHHHI", 0, 1, 3, 10, 12)
    listed += struct.pack(">HHIII", 12, 0, 16 + len(groups), 0, len(characters)) + groups
    bodies = {tag: listed if tag == b"cmap" else content[at : at + size] for tag, _, at, size in tables}
    # a font of another name, in both encodings: the PDF library treats fonts of one name as one font
    for way in ("ascii", "utf-16-be"):
        bodies[b"name"] = bodies[b"name"].replace("DejaVu".encode(way), "LentTo".encode(way))
    named = [(outlines if tag == b"glyf" else tag, body) for tag, body in bodies.items()]
    at, directory, rest = 12 + 16 * count, b"", b""
    for tag, body in named:
        directory += struct.pack(">4sIII", tag, 0, at + len(rest), len(body))
        rest += body + b"\0" * (-len(body) % 4)
    return content[:12] + directory + rest


@pytest.fixture
def font_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder instead of those in which the computer keeps its fonts."""
    folder = tmp_path / "lent"
    folder.mkdir()
    monkeypatch.setattr(fonts, "font_folders", lambda: (folder, tmp_path / "not there"))
    yield folder
    fonts._find_fallback.cache_clear()
    system_fonts._fonts.cache_clear()


@pytest.mark.parametrize("name", KNOWN)
def test_names_in_the_scripts_that_the_own_faces_have_never_show_a_box(name: str) -> None:
    assert missing_characters(name) == ""
    assert labels.MISSING_GLYPH not in printable(name)
    assert font_runs(printable(name), FontFace.BOLD) == [(FontFace.BOLD.value, printable(name))]


@pytest.mark.parametrize("name", KNOWN)
def test_a_letter_in_another_script_is_drawn_and_can_be_copied(
    name: str, page_text: Callable[[bytes], str], make_labels: Callable[..., list[labels.LabelText]]
) -> None:
    label = labels.LabelText("7KQ-4M9X", "HTTP://RACK.LOCAL:8765/T/7KQ4M9X", name, location=name)
    text = page_text(labels.sheet_pdf([label], labels.find_stock("roll-100x50")))
    assert sorted(text.split()[1]) == sorted(fonts.visual_order(printable(name)).split()[0])


def test_what_the_own_faces_lack_a_font_of_the_computer_lends(
    font_folder: Path, page_text: Callable[[bytes], str]
) -> None:
    (font_folder / "lent.ttf").write_bytes(build_font(EVERY_RANGE))
    assert missing_characters("樫 (ナラ) oak") == ""
    assert printable("樫 (ナラ)") == "樫 (ナラ)"
    lent = font_runs("樫 oak ナラ", FontFace.BOLD)
    assert [run for _, run in lent] == ["樫", " oak ", "ナラ"]
    assert lent[0][0] == lent[2][0] != lent[1][0] == FontFace.BOLD.value
    assert text_width("樫ナ", FontFace.BOLD, 10) == pytest.approx(text_width("OO", FontFace.REGULAR, 10))
    label = labels.LabelText("7KQ-4M9X", "HTTP://RACK.LOCAL:8765/T/7KQ4M9X", "樫 oak ナラ")
    pdf = labels.sheet_pdf([label], labels.find_stock("roll-100x50"))
    assert "樫 oak ナラ" in page_text(pdf)
    document = pypdfium2.PdfDocument(pdf)
    drawn = document[0].render(scale=300 / 72, grayscale=True).to_numpy()
    document.close()
    assert (drawn < 128).any()


def test_long_names_in_lent_letters_stay_within_their_space(font_folder: Path) -> None:
    (font_folder / "lent.ttf").write_bytes(build_font(EVERY_RANGE, "W"))
    words = [(LineKind.CODE, "7KQ-4M9X"), (LineKind.SPECIES, "樫" * 60), (LineKind.LOCATION, "ナ" * 60)]
    rows = set_text(words, 34.0, 26.0)
    assert max(row.width for row in rows) <= 34.0 + 1e-5
    assert [(row.text[0], row.text[-1]) for row in rows[1:]] == [("樫", "…"), ("ナ", "…")]


def test_letters_that_no_font_has_are_named_once_and_shown_as_boxes(font_folder: Path) -> None:
    assert missing_characters("樫 oak 樫 ナ\n🪵") == "樫ナ🪵"
    assert printable("樫 oak") == "▯ oak"


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\x00\x01\x00\x00",
        b"no font at all",
        build_font(EVERY_RANGE)[:200],
        build_font(EVERY_RANGE, outlines=b"CFF "),
    ],
    ids=["empty", "a beginning", "text", "cut off", "other outlines"],
)
def test_files_that_are_no_font_to_be_lent_are_passed_over(font_folder: Path, content: bytes) -> None:
    (font_folder / "a.ttf").write_bytes(content)
    assert missing_characters("樫") == "樫"
    fonts._find_fallback.cache_clear()
    system_fonts._fonts.cache_clear()
    (font_folder / "b.ttf").write_bytes(build_font(EVERY_RANGE))
    assert missing_characters("樫") == ""


def test_a_font_within_a_collection_and_one_in_the_older_list_of_letters_are_found(font_folder: Path) -> None:
    collection = struct.pack(">4sIII", b"ttcf", 0x00010000, 1, 16)
    inside = build_font(EVERY_RANGE)
    (count,) = struct.unpack_from(">H", inside, 4)
    moved = bytearray(inside)
    for number in range(count):
        at = 12 + 16 * number + 8
        struct.pack_into(">I", moved, at, struct.unpack_from(">I", inside, at)[0] + len(collection))
    (font_folder / "a.ttc").write_bytes(collection + bytes(moved))
    (font_folder / "old.ttf").write_bytes(OWN.read_bytes())
    assert missing_characters("樫") == ""
    assert [font.path.name for font in system_fonts.fonts_supporting("ж", (font_folder,))] == ["old.ttf"]
    assert system_fonts.font_folders()
