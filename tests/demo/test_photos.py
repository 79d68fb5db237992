"""Demo photos show the piece in its true proportions and the look of its species."""

import math
from importlib.resources import files
from io import BytesIO

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from inventory.core.lengths import inches
from inventory.core.offcuts import Face, Offcut
from inventory.demo.photo import PHOTO_SIZE, Coat, photo, picture
from inventory.demo.stock import read_pieces

Pixels = NDArray[np.float64]
SPECIES = sorted({piece.offcut.species for piece in read_pieces()})


def piece(
    species: str, length: str = "20", width: str = "12", thickness: str = "1", face: Face = Face.PLANED, count: int = 1
) -> Offcut:
    return Offcut(inches(length), inches(width), inches(thickness), species, face, face, count)


def pixels(offcut: Offcut, seed: int = 5, coat: Coat = Coat.BLUE_PAINT) -> Pixels:
    return np.asarray(picture(offcut, seed, coat), np.float64)


def blue(offcut: Offcut, seed: int) -> NDArray[np.bool_]:
    """Where the picture of a piece with blue paint shows the paint."""
    seen = pixels(offcut, seed)
    return np.asarray(seen[..., 2] > seen[..., 0] * 1.12)


def middle(offcut: Offcut, seed: int = 5, coat: Coat = Coat.VARNISH) -> Pixels:
    """The middle of the picture: nothing but the face, its grain nearly along the rows."""
    return pixels(offcut, seed, coat)[240:360, 280:520]


@pytest.mark.parametrize(("length", "width"), [("30", "6"), ("24", "12"), ("16", "3"), ("12", "11")])
def test_a_piece_is_shown_in_its_true_proportions(length: str, width: str) -> None:
    rows, columns = np.nonzero(blue(piece("pine", length, width, "1/2", Face.FINISHED), 3))
    spread = np.linalg.eigvalsh(np.cov(np.stack([columns, rows])))
    # The standard deviation of an evenly filled side is the side over the root of 12.
    short, long = (math.sqrt(12 * each) for each in spread)
    assert long / short == pytest.approx(float(length) / float(width), rel=0.08)


def test_a_piece_fills_most_of_the_picture_and_none_of_it_is_cut_off() -> None:
    columns = np.flatnonzero(blue(piece("pine", "30", "8", "1", Face.FINISHED), 8).sum(axis=0) > 5)
    assert columns[-1] - columns[0] > 0.8 * PHOTO_SIZE[0]
    assert columns[0] > 10
    assert columns[-1] < PHOTO_SIZE[0] - 10


def test_walnut_is_darker_than_cherry_and_cherry_darker_than_maple() -> None:
    walnut, cherry, maple = (middle(piece(name)).mean() for name in ("black walnut", "cherry", "hard maple"))
    assert walnut < 0.75 * cherry
    assert cherry < 0.85 * maple


def test_ash_shows_its_rings_and_maple_hardly_any() -> None:
    assert middle(piece("ash")).mean(axis=2).std() > 2 * middle(piece("hard maple")).mean(axis=2).std()


@pytest.mark.parametrize("species", SPECIES)
def test_grain_runs_along_the_length_in_every_species(species: str) -> None:
    face = middle(piece(species)).mean(axis=2)
    along, across = np.abs(np.diff(face, axis=1)).mean(), np.abs(np.diff(face, axis=0)).mean()
    assert across > 1.3 * along


def test_saw_marks_run_across_a_rough_face() -> None:
    def ripple(face: Face) -> float:
        """How much a narrow run along the grain goes up and down, over several pieces."""
        runs = [middle(piece("hard maple", face=face), seed)[60:66].mean(axis=(0, 2)) for seed in range(8)]
        return float(np.mean([run.std() / run.mean() for run in runs]))

    assert ripple(Face.ROUGH) > 1.8 * ripple(Face.PLANED)


@pytest.mark.parametrize("coat", list(Coat))
def test_a_coat_changes_the_color_of_the_face(coat: Coat) -> None:
    bare = middle(piece("pine")).mean(axis=(0, 1))
    coated = middle(piece("pine", face=Face.FINISHED), coat=coat).mean(axis=(0, 1))
    assert np.abs(coated - bare).max() > 0.05 * 255


def test_an_unknown_species_is_shown_as_plain_pale_wood() -> None:
    assert photo(piece("hornbeam"), 1) == photo(piece("hard maple"), 1)


def test_no_two_species_of_the_demo_look_the_same() -> None:
    assert len({photo(piece(species), 1).full for species in SPECIES}) == len(SPECIES)


def test_a_bundle_shows_more_wood_than_one_piece() -> None:
    def painted(count: int) -> float:
        return float(blue(piece("pine", "20", "2", "1", Face.FINISHED, count), 4).mean())

    assert painted(3) > 1.6 * painted(1)


def test_the_same_seed_gives_the_same_photo_and_another_seed_another() -> None:
    board = piece("ash", "24", "5")
    assert photo(board, 1) == photo(board, 1)
    assert photo(board, 1).full != photo(board, 2).full


def test_a_photo_comes_with_a_small_one_of_the_same_picture() -> None:
    taken = photo(piece("cherry", "24", "5"), 1)
    with Image.open(BytesIO(taken.full)) as full, Image.open(BytesIO(taken.thumb)) as thumb:
        assert full.size == (taken.width, taken.height) == (800, 600)
        assert thumb.size == (480, 360)


def test_the_textures_add_little_to_the_download() -> None:
    sizes = [len(each.read_bytes()) for each in files("inventory.demo").joinpath("textures").iterdir()]
    assert max(sizes) < 300_000
    assert sum(sizes) < 1_500_000
