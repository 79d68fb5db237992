"""`rackful backup` and `rackful restore`."""

import re
from pathlib import Path

from PIL import Image

from inventory.services.rack import queries
from inventory.shop import Shop
from tests.cli.conftest import Rackful


def test_a_shop_is_backed_up_and_brought_back(rackful: Rackful, folder: Path, tmp_path: Path) -> None:
    Image.new("RGB", (50, 40)).save(tmp_path / "one.jpg")
    kept = rackful("add", "ash 1 x 2 x 3", "--photo", tmp_path / "one.jpg", "--json").document["tag"]
    file = tmp_path / "shop.zip"
    done = rackful("backup", file)
    assert (done.code, done.out, done.err) == (0, f'The shop with 1 photo is in "{file}", read back and sound.\n', "")
    rackful("add", "ash 4 x 5 x 6")

    done = rackful("restore", file)
    message = f'"{folder}" holds a shop already. Name another folder, or add --replace to put it aside.\n'
    assert (done.code, done.err) == (2, message)

    done = rackful("restore", file, "--replace", "--json")
    assert (done.code, done.err) == (0, "")
    document = done.document
    assert document["codes_held"] == 1 and document["photos"] == 1 and document["photos_missing"] == []
    assert re.fullmatch(rf"{folder}-before-restore-\d{{4}}-\d\d-\d\d-\d{{6}}", document["put_aside"])
    with Shop.open(folder) as shop:
        assert [record.code for record in queries.all_pieces(shop)] == [kept]


def test_a_restore_reports_what_it_did(rackful: Rackful, folder: Path, tmp_path: Path) -> None:
    rackful("add", "ash 1 x 2 x 3")
    rackful("backup", tmp_path / "shop.zip")
    rackful("add", "ash 1 x 2 x 3")
    lines = rackful("restore", tmp_path / "shop.zip", "--replace").out.splitlines()
    assert re.fullmatch(rf'The shop of \d{{4}}-\d\d-\d\d \d\d:\d\d with 0 photos is in "{folder}"\.', lines[0])
    assert lines[1].startswith(f'What was there before is in "{folder}-before-restore-')
    assert lines[2:] == ["1 code given since the backup will not be given again."]


def test_a_photo_that_is_gone_is_a_no_but_the_rest_is_safe(rackful: Rackful, folder: Path, tmp_path: Path) -> None:
    Image.new("RGB", (50, 40)).save(tmp_path / "one.jpg")
    [digest] = rackful("add", "ash 1 x 2 x 3", "--photo", tmp_path / "one.jpg", "--json").document["photos"]
    for each in (folder / "photos").rglob("*.jpg"):
        each.unlink()
    done = rackful("backup", tmp_path / "shop.zip", "--json")
    assert (done.code, done.document["photos_missing"]) == (1, [digest])
    assert done.err == (
        f"1 photo could not be backed up, because the files are gone or damaged: {digest[:12]}. Take these anew.\n"
    )
    assert rackful("restore", tmp_path / "shop.zip", "--replace").code == 0


def test_a_damaged_archive_changes_nothing(rackful: Rackful, folder: Path, tmp_path: Path) -> None:
    rackful("add", "ash 1 x 2 x 3")
    rackful("backup", tmp_path / "shop.zip")
    (tmp_path / "shop.zip").write_bytes((tmp_path / "shop.zip").read_bytes()[:-30])
    done = rackful("restore", tmp_path / "shop.zip", "--replace")
    assert (done.code, done.err) == (
        2,
        f'"{tmp_path}/shop.zip" is not a whole backup: it was cut off, or is another kind of file. '
        'Name a file that "rackful backup" wrote.\n',
    )
    assert {each.name for each in tmp_path.iterdir()} == {"my shop", "shop.zip"}
