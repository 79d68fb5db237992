"""The order of loose strips: as few neighbors of one piece as there can be, held against every order."""

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise, permutations
from random import Random

import pytest

from inventory.core.lengths import Length, inches
from inventory.layout.arrangement import (
    arrange,
    arrange_to_match,
    min_same_piece_neighbors,
)
from inventory.layout.positions import Strip
from tests.solver.hand_written import make_offcut


def count_same_piece_neighbors(strips: Sequence[Strip]) -> int:
    """How many strips are beside the next one of the same piece."""
    return sum(one.source == other.source for one, other in pairwise(strips))


def strips_of(*pieces: tuple[str, int, str], species: str = "ash") -> list[Strip]:
    """Strips of pieces as (tag, how many, width in inches)."""
    return [
        Strip(make_offcut("20", width, "1", species, tag), 1, nth, inches(width))
        for tag, many, width in pieces
        for nth in range(many)
    ]


def some_strips(random: Random, many: int, pieces: int) -> list[Strip]:
    widths = [inches(random.choice(("1/2", "3/4", "1"))) for _ in range(pieces)]
    given: Counter[int] = Counter()
    strips = []
    for _ in range(many):
        piece = random.randrange(pieces)
        strips.append(Strip(make_offcut("20", "1", "1", "ash", f"P{piece}"), 1, given[piece], widths[piece]))
        given[piece] += 1
    return strips


def tags(strips: tuple[Strip, ...]) -> str:
    return " ".join(strip.offcut.tag for strip in strips)


@pytest.mark.parametrize("seed", range(60))
def test_no_order_has_fewer_neighbours_of_one_piece(seed: int) -> None:
    random = Random(seed)
    strips = some_strips(random, random.randint(1, 7), random.randint(1, 4))
    fewest = min(count_same_piece_neighbors(order) for order in permutations(strips))
    assert max(0, min_same_piece_neighbors(Counter(strip.source for strip in strips).items())) == fewest
    for order in (arrange(strips), arrange(strips, mirror=False), arrange_to_match(strips, strips[::-1])):
        assert sorted(order, key=str) == sorted(strips, key=str)
        assert count_same_piece_neighbors(order) == fewest


def test_like_strips_mirror_one_another_with_the_odd_one_in_the_middle() -> None:
    order = arrange(strips_of(("A", 1, "1 1/2"), ("B", 2, "3/4"), ("C", 2, "1")))
    assert tags(order) == "C B A B C"


def test_where_nothing_mirrors_the_widest_lie_outermost() -> None:
    order = arrange(strips_of(("A", 1, "1/2"), ("B", 1, "1 1/2"), ("C", 1, "1"), ("D", 1, "3/4")))
    assert tags(order) == "B D A C"


def test_keeping_one_piece_apart_comes_before_the_mirror() -> None:
    order = arrange(strips_of(("A", 2, "3/4"), ("B", 2, "1")))
    assert tags(order) == "B A B A"


def test_strips_of_a_single_piece_lie_side_by_side_since_they_must() -> None:
    assert tags(arrange(strips_of(("A", 3, "3/4")))) == "A A A"


def test_the_other_side_follows_its_mirror_image_as_far_as_it_can() -> None:
    left = arrange(strips_of(("A", 2, "1"), ("B", 1, "3/4")))
    right = arrange_to_match(strips_of(("C", 2, "1"), ("A", 1, "1")), left[::-1])
    assert [strip.width for strip in right] == [inches("1")] * 3
    assert tags(right) == "C A C"


def test_strips_that_differ_by_a_nanometer_count_as_like() -> None:
    wide, wider = (
        Strip(make_offcut("20", "1", "1", "ash", tag), 1, 0, Length(19_050_000 + more))
        for tag, more in (("A", 0), ("B", 1))
    )
    assert wide.appearance == wider.appearance


def test_a_hundred_strips_lie_in_order_with_no_two_of_one_piece_together() -> None:
    strips = some_strips(Random(5), 100, 12)
    order = arrange(strips)
    assert sorted(order, key=str) == sorted(strips, key=str)
    assert count_same_piece_neighbors(order) == 0
    assert order == arrange(strips[::-1])
