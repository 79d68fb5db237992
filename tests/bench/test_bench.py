"""The benchmark still runs, on small numbers; its times prove nothing here."""

import doctest

import pytest

from tests.bench import counting, measuring
from tests.bench.__main__ import PARTS, measured


@pytest.mark.parametrize("part", PARTS)
def test_every_part_of_the_benchmark_still_runs(part: str) -> None:
    lines = list(measured(part, pieces=12, labels=3, tags=20, times=1, cases=2))
    assert lines
    assert all(line.one_seconds > 0 and line.other_seconds > 0 for line in lines)


def test_the_table_of_counts_still_comes_about() -> None:
    *lines, average = counting.counts_table(20, seeds=1)
    assert len(lines) == 1 + len(counting.BOARDS) * 3
    assert average.startswith("\nOn average ")


def test_the_examples_of_measuring_are_true() -> None:
    assert doctest.testmod(measuring) == (0, 1)
    assert doctest.testmod(counting) == (0, 1)
