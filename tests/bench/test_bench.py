"""The benchmark still runs, on small numbers; its times prove nothing here."""

import doctest
from xml.etree import ElementTree

import pytest

from tests.bench import camera, counting, growth, timing
from tests.bench.__main__ import PARTS, run_part
from tests.bench.labels import label_memory
from tests.bench.pruning import pruning_tables


@pytest.mark.parametrize("part", PARTS)
def test_every_part_of_the_benchmark_still_runs(part: str) -> None:
    lines = list(run_part(part, pieces=12, labels=3, tags=20, times=1, cases=1))
    assert lines
    assert all(line.one_seconds > 0 and line.other_seconds > 0 for line in lines)


def test_the_table_of_counts_still_comes_about() -> None:
    *lines, average = counting.counts_table(20, seeds=1)
    assert len(lines) == 1 + len(counting.BOARDS) * 3
    assert average.startswith("\nOn average ")


def test_the_table_of_the_camera_still_comes_about(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(camera, "WEATHERS", camera.WEATHERS[:1])
    *lines, total = camera.rates_table(1)
    assert len(lines) == 3
    assert total == "\nA wrong code was accepted in 0 of 4 frames."


def test_the_plot_of_growth_has_a_line_for_every_width_and_grid() -> None:
    points = list(growth.measure_growth(100, times=1))
    assert len(list(growth.growth_table(points))) == 2 + len(points)
    lines = ElementTree.fromstring(growth.growth_svg(points)).findall("{*}path[@stroke-width='2']")
    assert len(lines) == len(points) == len(growth.WIDTHS) * len(growth.GRIDS)


def test_the_tables_of_pruning_still_come_about() -> None:
    lines = list(pruning_tables(1, tags=14, drawn=4, fresh=2))
    assert sum(line.startswith("| our advice |") for line in lines) == 2
    assert lines[-1].count("|") == 5


def test_the_table_of_memory_still_comes_about() -> None:
    assert len(list(label_memory(10))) == 4


def test_the_examples_of_measuring_are_true() -> None:
    assert doctest.testmod(timing) == (0, 1)
    assert doctest.testmod(counting) == (0, 1)
    assert doctest.testmod(camera) == (0, 1)
