"""Where a piece lies in its photo: found where it stands out, else taken to lie in the middle."""

from collections.abc import Iterator
from math import cos, radians, sin
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from inventory.services.rack import editing, photo_outline, queries
from inventory.services.rack.photo_outline import FALLBACK_SHARE, USED_SHARE, PhotoPlacement, locate_in_photo
from inventory.shop import Shop
from inventory.storage.photos import PhotoSize, read_photo
from inventory.storage.records import OffcutRecord
from tests.services.fills import tagged
from tests.web.sample_pictures import jpeg_file


def photo_of_a_piece(
    path: Path, turn: float, *, long: float = 300, wide: float = 60, middle: tuple[float, float] = (240, 180)
) -> Path:
    """A pale board on a dark bench, turned by so many degrees."""
    picture = Image.new("RGB", (480, 360), (70, 60, 55))
    along, across = (cos(radians(turn)), sin(radians(turn))), (-sin(radians(turn)), cos(radians(turn)))
    corners = [
        tuple(middle[axis] + u * long / 2 * along[axis] + v * wide / 2 * across[axis] for axis in (0, 1))
        for u, v in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    ImageDraw.Draw(picture).polygon(corners, fill=(220, 190, 140))
    picture.save(path, "JPEG")
    return path


@pytest.mark.parametrize("turn", [0, 12, -25, 40, 80])
def test_a_piece_is_found_however_it_is_turned(tmp_path: Path, turn: float) -> None:
    placement = locate_in_photo(photo_of_a_piece(tmp_path / "piece.jpg", turn), 5.0)
    assert (placement.x, placement.y) == pytest.approx((0.5, 0.375), abs=0.01)
    assert placement.long == pytest.approx(300 / 480 * USED_SHARE, rel=0.06)
    assert placement.wide == pytest.approx(60 / 480 * USED_SHARE, rel=0.12)
    assert (placement.turn - turn + 90) % 180 - 90 == pytest.approx(0, abs=2)


def test_a_piece_that_lies_off_the_middle_is_found_there(tmp_path: Path) -> None:
    placement = locate_in_photo(photo_of_a_piece(tmp_path / "piece.jpg", 10, middle=(200, 240)), 5.0)
    assert (placement.x, placement.y) == pytest.approx((200 / 480, 240 / 480), abs=0.01)


def test_a_piece_wider_than_long_has_its_grain_across(tmp_path: Path) -> None:
    placement = locate_in_photo(photo_of_a_piece(tmp_path / "piece.jpg", 0, long=300, wide=100), 1 / 3)
    assert placement.turn == pytest.approx(90, abs=2)
    assert placement.wide > placement.long


def framed(path: Path, size: tuple[int, int], proportion: float) -> PhotoPlacement:
    """Where a piece is taken to lie in a photo in which nothing stands out."""
    Image.new("RGB", size, (150, 120, 80)).save(path, "JPEG")
    return locate_in_photo(path, proportion)


@pytest.fixture
def paths(tmp_path: Path) -> Iterator[Path]:
    return (tmp_path / f"photo-{number}.jpg" for number in range(9))


def test_where_nothing_stands_out_the_piece_lies_in_the_middle_along_the_longer_side(paths: Iterator[Path]) -> None:
    lying = framed(next(paths), (480, 360), 4.0)
    assert lying == PhotoPlacement(0.5, 0.375, FALLBACK_SHARE * USED_SHARE, FALLBACK_SHARE * USED_SHARE / 4, 0.0)
    assert framed(next(paths), (360, 480), 4.0).turn == 90.0
    assert framed(next(paths), (480, 360), 0.5).turn == 90.0


def test_something_of_other_proportions_is_not_taken_for_the_piece(paths: Iterator[Path]) -> None:
    placement = locate_in_photo(photo_of_a_piece(next(paths), 0, long=150, wide=150), 8.0)
    assert placement.long == FALLBACK_SHARE * USED_SHARE


@pytest.fixture
def seen(shop: Shop) -> OffcutRecord:
    """A piece with a photo."""
    ash = tagged(shop, "ash 23 1/2 x 3 1/4 x 13/16")
    picture, _ = jpeg_file()
    return editing.add_photo(shop, ash.code, ash.version, shop.photos.keep(read_photo(picture)))


def test_pieces_without_a_photo_are_left_out(shop: Shop, seen: OffcutRecord) -> None:
    oak = tagged(shop, "oak 40 x 6 x 1 1/4")
    found = photo_outline.pictured(shop, {each.code: each for each in (seen, oak)})
    assert list(found) == [seen.code]
    assert found[seen.code].photo == seen.main_photo


def test_a_photo_whose_file_is_gone_is_left_out(shop: Shop, seen: OffcutRecord) -> None:
    photo = seen.main_photo
    assert photo is not None
    shop.photos.path(photo.digest, PhotoSize.THUMB.value).unlink()
    assert photo_outline.pictured(shop, {seen.code: queries.record(shop, seen.code)}) == {}
