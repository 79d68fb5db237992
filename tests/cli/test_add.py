"""`rackful add`."""

import re
from fractions import Fraction
from pathlib import Path

from PIL import Image

from inventory.core.offcuts import Mark
from inventory.services.rack import queries
from inventory.shop import Shop
from tests.cli.conftest import Rackful


def test_a_typed_line_is_tagged_and_answered_with_its_code(rackful: Rackful, folder: Path) -> None:
    done = rackful("add", "ash", "23", "1/2", "x", "3", "1/4", "x", "13/16", "rough", "@", "wall", "2")
    assert (done.code, done.err) == (0, "")
    assert re.fullmatch(r"[0-9A-Z]{3}-[0-9A-Z]{4}  ash 23 1/2 x 3 1/4 x 13/16 in rough @ wall 2\n", done.out)
    with Shop.open(folder) as shop:
        [record] = queries.all_pieces(shop)
        assert f"{record.code[:3]}-{record.code[3:]}" == done.out[:8]
        assert record.label_wanted


def test_photos_are_kept_in_their_order(rackful: Rackful, folder: Path, tmp_path: Path) -> None:
    for name, colour in (("one.jpg", "red"), ("two.png", "blue")):
        Image.new("RGB", (50, 40), colour).save(tmp_path / name)
    done = rackful("add", "ash 1 x 2 x 3", "--photo", tmp_path / "one.jpg", "--photo", tmp_path / "two.png", "--json")
    with Shop.open(folder) as shop:
        [record] = queries.all_pieces(shop)
    assert done.document == {
        "tag": record.code,
        "line": "ash 1 x 2 x 3 in rough",
        "photos": [photo.digest for photo in record.photos],
        "marks": [],
        "moisture": None,
        "moisture_on": None,
        "batch": "",
    }
    assert len(set(done.document["photos"])) == 2


def test_a_bad_photo_keeps_the_piece_and_the_other_photo_out(rackful: Rackful, folder: Path, tmp_path: Path) -> None:
    Image.new("RGB", (50, 40)).save(tmp_path / "one.jpg")
    (tmp_path / "two.jpg").write_text("Dear Ada")
    done = rackful("add", "ash 1 x 2 x 3", "--photo", tmp_path / "one.jpg", "--photo", tmp_path / "two.jpg")
    assert (done.code, done.out, done.err) == (
        2,
        "",
        '"two.jpg" is not a picture that can be read here. Send a JPEG, PNG, WebP, HEIC or AVIF.\n',
    )
    with Shop.open(folder) as shop:
        assert queries.all_pieces(shop) == ()
    assert not list((folder / "photos").rglob("*.jpg"))


def test_a_missing_photo_is_reported(rackful: Rackful, tmp_path: Path) -> None:
    done = rackful("add", "ash 1 x 2 x 3", "--photo", tmp_path / "none.jpg")
    assert (done.code, done.err) == (
        2,
        f"Invalid value for '--photo': File '{tmp_path}/none.jpg' does not exist. "
        'Type "rackful add --help" for what it takes.\n',
    )


def test_a_line_that_can_t_be_read_is_reported(rackful: Rackful) -> None:
    done = rackful("add", "ash 23 1/2 x 3")
    assert (done.code, done.err) == (
        2,
        "The line has 2 sizes; it needs length, width and thickness. "
        "Type it as: ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 2\n",
    )


def test_the_code_of_a_blank_tag_is_kept_and_never_given_twice(rackful: Rackful) -> None:
    assert rackful("add", "ash 1 x 2 x 3", "--code", "000-0011", "--json").document["tag"] == "0000011"
    done = rackful("add", "ash 1 x 2 x 3", "--code", "000-0011")
    assert (done.code, done.err) == (
        2,
        "000-0011 is the code of another piece and is never given twice. "
        "Take another tag, or leave the code out for a fresh one.\n",
    )


def test_nothing_is_carried_over_from_the_last_piece_unless_asked(rackful: Rackful) -> None:
    rackful("add", "ash 1 x 2 x 3 planed @ wall 2")
    assert rackful("add", "4 x 5 x 6", "--json").document["line"] == "4 x 5 x 6 in rough"
    rackful("add", "ash 1 x 2 x 3 planed @ wall 2")
    assert rackful("add", "4 x 5 x 6", "--like-last", "--json").document["line"] == "ash 4 x 5 x 6 in planed @ wall 2"


def test_marks_moisture_and_batch_are_kept_and_shown(rackful: Rackful, folder: Path) -> None:
    options = ("--mark", "damp", "--mark", "Live Edge", "--moisture", "18,5", "--batch", "elm 2029")
    done = rackful("add", "elm 40 x 9 x 2", *options)
    with Shop.open(folder) as shop:
        [record] = queries.all_pieces(shop)
    offcut = record.offcut
    assert (offcut.marks, offcut.moisture, offcut.batch) == ((Mark.DAMP, Mark.LIVE_EDGE), Fraction("18.5"), "elm 2029")
    assert done.out[10:] == (
        f"elm 40 x 9 x 2 in rough; damp, live edge; 18.5 % moisture on {offcut.moisture_on}; batch elm 2029\n"
    )
    again = rackful("add", "elm 40 x 9 x 2", *options, "--json").document
    assert (again["marks"], again["moisture"], again["batch"]) == (["damp", "live edge"], "18.5", "elm 2029")
    assert again["moisture_on"] == f"{offcut.moisture_on}"


def test_like_the_last_takes_its_batch_and_none_of_its_marks(rackful: Rackful) -> None:
    rackful("add", "elm 40 x 9 x 2", "--mark", "damp", "--moisture", "18", "--batch", "elm 2029")
    like = rackful("add", "--like-last", "30 x 9 x 2", "--json").document
    assert (like["batch"], like["marks"], like["moisture"]) == ("elm 2029", [], None)
    assert rackful("add", "--like-last", "30 x 9 x 2", "--batch", "", "--json").document["batch"] == ""


def test_a_mark_that_is_none_is_reported(rackful: Rackful) -> None:
    done = rackful("add", "elm 40 x 9 x 2", "--mark", "wormy")
    assert (done.code, done.out, done.err) == (
        2,
        "",
        '"wormy" is no mark. Choose from keep, damp, metal, live edge, crack, knots, paint grade, oily.\n',
    )
