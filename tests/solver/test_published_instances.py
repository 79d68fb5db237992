"""Published hard instances as boards: strips whose widths must add up exactly.

`instances/binpack1.txt` holds 20 bin-packing problems of 120 items (E. Falkenauer, Journal of Heuristics
2(1):5-30, 1996), as published in the OR-Library (J. E. Beasley). Here the items are strips and the bins are boards:
with strips of 1 mm added to fill every bin, they fill n boards if and only if they fit into n bins. The minimum
numbers of bins below were proven by an exact method; the file's own figure for u120_08 is one too high. The subset
sums and triplets are our own, made so that a solution is known.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from inventory.core.lengths import Length
from inventory.core.offcuts import Offcut
from inventory.cutting.costs import Preference
from inventory.orders.answer import fill_order, fill_rack
from inventory.orders.counting import BoardCount, count_boards
from tests.fill.strips_of_width import HUNDREDTH, MILLIMETER, TEN_NANOMETRES, board, strips
from tests.verify import faults

CAPACITY = 150
MIN_BINS = {"u120_00": 48, "u120_08": 50}


def _bin_packings() -> Iterator[tuple[str, list[int]]]:
    """Name and items of the instances in MIN_BINS."""
    words = iter((Path(__file__).parent / "instances" / "binpack1.txt").read_text("ascii").split())
    for _ in range(int(next(words))):
        name, capacity, items, _best_known = (next(words) for _ in range(4))
        assert int(capacity) == CAPACITY
        sizes = [int(next(words)) for _ in range(int(items))]
        if name in MIN_BINS:
            yield name, sizes


BIN_PACKINGS = dict(_bin_packings())


def _last_count(rack: list[Offcut], width: int) -> BoardCount:
    *_, last = count_boards(rack, board(width, MILLIMETER))
    assert last.plan is None or faults(last.plan, rack) == []
    return last


@pytest.mark.parametrize("name", MIN_BINS)
def test_the_items_of_a_bin_packing_problem_fill_as_many_boards_as_it_needs_bins(name: str) -> None:
    sizes, boards = BIN_PACKINGS[name], MIN_BINS[name]
    filler = replace(strips([1], MILLIMETER)[0], count=boards * CAPACITY - sum(sizes), tag="FILLER")
    rack = [*strips(sizes, MILLIMETER), filler]
    plan = fill_order(rack, [replace(board(CAPACITY, MILLIMETER), count=boards)])
    assert faults(plan, rack) == []
    [fill] = plan.fills
    assert fill.waste == 0


def test_no_more_boards_are_counted_than_all_strips_are_wide() -> None:
    for sizes in BIN_PACKINGS.values():
        count = _last_count(strips(sizes, MILLIMETER), CAPACITY)
        assert count.boards == count.upper_bound <= sum(sizes) // CAPACITY


@pytest.mark.parametrize("seed", range(3))
def test_of_boards_of_three_strips_that_leave_nothing_over_at_most_one_is_missed(seed: int) -> None:
    random = Random(f"triplets {seed}")
    sizes: list[int] = []
    while len(sizes) < 3 * 8:
        first, second = random.randint(380, 490), random.randint(250, 380)
        if first + second <= 750:
            sizes += [first, second, 1000 - first - second]
    random.shuffle(sizes)
    count = _last_count(strips(sizes, MILLIMETER), 1000)
    assert count.boards >= 7
    assert count.upper_bound == 8


@pytest.mark.parametrize("prefer", [Preference.LEAST_WASTE, Preference.OLDEST_FIRST], ids=lambda prefer: prefer.value)
@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(
    ("many", "largest", "unit"),
    [(24, 4_000_000, TEN_NANOMETRES), (30, 2_000, HUNDREDTH), (12, 90, MILLIMETER)],
    ids=["seven-figures", "four-figures", "two-figures"],
)
def test_strips_that_add_up_exactly_are_found_among_others(
    seed: int, many: int, largest: int, unit: Length, prefer: Preference
) -> None:
    random = Random(f"subset sum {seed} {many}")
    numbers = [random.randint(largest // 20, largest) for _ in range(many)]
    target = sum(random.sample(numbers, many // 3))
    rack = strips(numbers, unit)
    plan = fill_rack(rack, board(target, unit, prefer))
    assert faults(plan, rack) == []
    [fill] = plan.fills
    assert (fill.filled_width, fill.waste, fill.proven) == (target * unit, 0, True)


@pytest.mark.parametrize("seed", range(6))
def test_where_no_strips_add_up_exactly_the_next_wider_sum_is_found(seed: int) -> None:
    random = Random(f"no such sum {seed}")
    numbers = [random.randint(100, 700) * 7 for _ in range(14)]
    target = sum(numbers) // 2 // 7 * 7 - 3
    sums = {0}
    for number in numbers:
        sums |= {each + number for each in sums}
    rack = strips(numbers, HUNDREDTH)
    [fill] = fill_rack(rack, board(target, HUNDREDTH)).fills
    assert target not in sums
    assert (fill.filled_width, fill.proven) == (min(each for each in sums if each >= target) * HUNDREDTH, True)


@pytest.mark.parametrize("seed", range(3))
def test_the_one_solution_of_a_subset_sum_of_doubled_numbers_is_found(seed: int) -> None:
    # Each number is twice the one before, modulo a prime, as in the Merkle-Hellman knapsack cipher.
    random = Random(f"doubled {seed}")
    modulus = 2_097_143
    first = random.randrange(10_000, modulus)
    numbers = [first * 2**place % modulus + 1 for place in range(20)]
    target = sum(random.sample(numbers, 7))
    rack = strips(numbers, TEN_NANOMETRES)
    [fill] = fill_rack(rack, board(target, TEN_NANOMETRES)).fills
    assert (fill.filled_width, fill.proven) == (target * TEN_NANOMETRES, True)
