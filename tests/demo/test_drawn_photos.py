"""Drawn photos show the piece in its true proportions and the look of its species."""

import math
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from inventory.core.lengths import inches
from inventory.core.offcuts import Face, Offcut, species_key
from inventory.demo import grain
from inventory.demo.bench import Bench
from inventory.demo.looks import LOOKS, appearance_of
from inventory.demo.photo import photo, picture
from inventory.demo.stock import read_pieces
from inventory.demo.surfaces import Coat, dressed


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench((800, 600))


def piece(species: str, length: str, width: str, thickness: str = "1", face: Face = Face.PLANED) -> Offcut:
    return Offcut(inches(length), inches(width), inches(thickness), species, face, face)


def drawn_face(species: str, face: Face = Face.PLANED, coat: Coat = Coat.VARNISH, seed: int = 5) -> grain.Pixels:
    dice = np.random.default_rng(seed)
    plane = grain.plane_through(dice, 150)
    clean = grain.face(appearance_of(species), dice, 500, 150, 180, 600, plane)
    return dressed(clean, face, coat, dice, 500 / 600)


@pytest.mark.parametrize(("length", "width"), [("30", "6"), ("24", "12"), ("16", "3"), ("12", "11")])
def test_a_piece_is_drawn_in_its_true_proportions(bench: Bench, length: str, width: str) -> None:
    seen = np.asarray(
        picture(piece("pine", length, width, "1/2", Face.FINISHED), 3, bench, Coat.BLUE_PAINT), np.float64
    )
    rows, columns = np.nonzero(seen[..., 2] > seen[..., 0] * 1.12)
    spread = np.linalg.eigvalsh(np.cov(np.stack([columns, rows])))
    # The standard deviation of an evenly filled side is the side over the root of 12.
    short, long = (math.sqrt(12 * each) for each in spread)
    assert long / short == pytest.approx(float(length) / float(width), rel=0.08)


def test_a_piece_fills_most_of_the_picture_and_none_of_it_is_cut_off(bench: Bench) -> None:
    seen = np.asarray(picture(piece("pine", "30", "8", "1", Face.FINISHED), 8, bench, Coat.BLUE_PAINT), np.float64)
    there = seen[..., 2] > seen[..., 0] * 1.12
    columns = np.flatnonzero(there.sum(axis=0) > 5)
    assert columns[-1] - columns[0] > 0.8 * bench.size[0]
    assert columns[0] > 10
    assert columns[-1] < bench.size[0] - 10


def test_walnut_is_darker_than_cherry_and_cherry_darker_than_maple() -> None:
    walnut, cherry, maple = (drawn_face(name).mean() for name in ("black walnut", "cherry", "hard maple"))
    assert walnut < 0.75 * cherry
    assert cherry < 0.85 * maple


def test_ash_shows_its_rings_and_maple_hardly_any() -> None:
    assert drawn_face("ash").mean(axis=2).std() > 2 * drawn_face("hard maple").mean(axis=2).std()


@pytest.mark.parametrize("species", sorted(LOOKS))
def test_grain_runs_along_the_length_in_every_species(species: str) -> None:
    face = drawn_face(species).mean(axis=2)
    along, across = np.abs(np.diff(face, axis=1)).mean(), np.abs(np.diff(face, axis=0)).mean()
    assert across > 1.3 * along


def test_saw_marks_run_across_a_rough_face() -> None:
    def ripple(face: Face) -> float:
        """How much a narrow run along the grain goes up and down, over several pieces."""
        runs = [drawn_face("hard maple", face, seed=seed)[80:86].mean(axis=(0, 2)) for seed in range(8)]
        return float(np.mean([run.std() / run.mean() for run in runs]))

    assert ripple(Face.ROUGH) > 1.8 * ripple(Face.PLANED)


@pytest.mark.parametrize("coat", list(Coat))
def test_a_coat_changes_the_colour_of_the_face(coat: Coat) -> None:
    bare = drawn_face("pine").mean(axis=(0, 1))
    coated = drawn_face("pine", Face.FINISHED, coat).mean(axis=(0, 1))
    assert np.abs(coated - bare).max() > 0.05


def test_a_species_that_is_not_known_is_drawn_as_plain_pale_wood() -> None:
    assert appearance_of("hornbeam") is LOOKS["hard maple"]


def test_every_species_of_the_demo_has_a_look_of_its_own() -> None:
    assert {species_key(line.offcut.species) for line in read_pieces()} <= set(LOOKS)


def test_a_bundle_shows_more_wood_than_one_piece(bench: Bench) -> None:
    def painted(count: int) -> float:
        bundle = Offcut(inches("20"), inches("2"), inches("1"), "pine", Face.FINISHED, Face.FINISHED, count)
        seen = np.asarray(picture(bundle, 4, bench, Coat.BLUE_PAINT), np.float64)
        return float((seen[..., 2] > seen[..., 0] * 1.12).mean())

    assert painted(3) > 1.6 * painted(1)


def test_the_same_seed_draws_the_same_photo_and_another_seed_another(bench: Bench) -> None:
    board = piece("ash", "24", "5")
    assert photo(board, 1, bench) == photo(board, 1, bench)
    assert photo(board, 1, bench).full != photo(board, 2, bench).full


def test_a_photo_comes_with_a_small_one_of_the_same_picture(bench: Bench) -> None:
    taken = photo(piece("cherry", "24", "5"), 1, bench)
    with Image.open(BytesIO(taken.full)) as full, Image.open(BytesIO(taken.thumb)) as thumb:
        assert full.size == (taken.width, taken.height) == (800, 600)
        assert thumb.size == (480, 360)
