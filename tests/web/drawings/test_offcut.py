"""The drawing of one offcut: its face and its end, each to scale."""

import re
from xml.etree import ElementTree

import pytest

from inventory.core.allowances import Allowances
from inventory.core.lengths import Display, Nearest, inches
from inventory.core.offcuts import Face, Offcut
from inventory.web.drawings.offcut import MIN_SIZE, draw_offcut

DISPLAY = Display(Nearest.SIXTEENTH)


def make_offcut(
    length: str, width: str, thickness: str, face_a: Face = Face.ROUGH, face_b: Face = Face.ROUGH
) -> Offcut:
    return Offcut(inches(length), inches(width), inches(thickness), "ash", face_a, face_b)


def drawn(offcut: Offcut) -> ElementTree.Element:
    return ElementTree.fromstring(draw_offcut(offcut, Allowances(), DISPLAY))


def wood(picture: ElementTree.Element) -> list[tuple[float, float]]:
    """Width and height on paper of the face and the end."""
    found = [each for each in picture.iter("rect") if each.get("class") == "drawing-wood"]
    return [(float(each.attrib["width"]), float(each.attrib["height"])) for each in found]


@pytest.mark.parametrize(
    ("length", "width", "thickness"), [("23 1/2", "3 1/4", "13/16"), ("3", "12", "2"), ("6", "6", "6")]
)
def test_the_face_and_the_end_keep_their_proportions(length: str, width: str, thickness: str) -> None:
    (face_long, face_wide), (end_wide, end_thick) = wood(drawn(make_offcut(length, width, thickness)))
    assert face_long / face_wide == pytest.approx(inches(length) / inches(width), rel=0.02)
    assert end_wide / end_thick == pytest.approx(inches(width) / inches(thickness), rel=0.02)


def test_a_long_thin_lath_is_still_a_pencil_line_wide() -> None:
    (_, face_wide), _ = wood(drawn(make_offcut("94", "1/4", "1/4")))
    assert face_wide == MIN_SIZE


@pytest.mark.parametrize(
    "sizes", [("23 1/2", "3 1/4", "13/16"), ("94", "1/4", "1/16"), ("12", "1/2", "7"), ("3", "30", "2")]
)
def test_nothing_is_drawn_beyond_the_paper(sizes: tuple[str, str, str]) -> None:
    picture = drawn(make_offcut(*sizes))
    _, _, paper_width, paper_height = (float(each) for each in picture.attrib["viewBox"].split())
    for each in picture.iter("rect"):
        assert float(each.attrib["x"]) + float(each.attrib["width"]) <= paper_width
        assert float(each.attrib["y"]) + float(each.attrib["height"]) <= paper_height
    for each in picture.iter("text"):
        # 8 px a letter is more than a 14 px sans serif takes on average.
        assert float(each.attrib["x"]) + 8 * len(each.text or "") <= paper_width + 8
        assert 10 <= float(each.attrib["y"]) <= paper_height


def test_the_drawing_says_in_words_what_it_shows() -> None:
    picture = drawn(make_offcut("23 1/2", "3 1/4", "13/16", Face.ROUGH, Face.PLANED))
    assert picture.attrib["role"] == "img"
    assert picture.find("title").text == (  # type: ignore[union-attr]
        "Drawn to scale: 23 1/2 in by 3 1/4 in by 13/16 in; face A rough, face B planed; 3/4 in clean."
    )


def test_a_veneer_that_cleaning_eats_up_is_drawn_so() -> None:
    picture = drawn(make_offcut("23 1/2", "3 1/4", "1/16"))
    assert "nothing left clean" in [each.text for each in picture.iter("text")]


def test_what_comes_off_is_hatched_only_on_a_face_that_is_not_planed() -> None:
    hatched = [
        sum(each.get("class") == "drawing-off" for each in drawn(make_offcut("9", "3", "1", a, b)).iter("path"))
        for a, b in [(Face.PLANED, Face.PLANED), (Face.ROUGH, Face.PLANED), (Face.ROUGH, Face.FINISHED)]
    ]
    assert hatched == [0, 1, 2]


def test_the_drawing_needs_no_style_that_the_pages_forbid() -> None:
    assert not re.search(r"style=|<style|<script", draw_offcut(make_offcut("9", "3", "1"), Allowances(), DISPLAY))
