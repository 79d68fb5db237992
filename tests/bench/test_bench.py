"""Every part of the benchmark runs, on small numbers; the times do not matter here."""

import doctest
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.bench import camera, counting, growth, timing
from tests.bench.__main__ import COMPARISONS, TABLES, compare
from tests.bench.labels import label_memory
from tests.bench.pruning import pruning_tables


@pytest.mark.parametrize("part", COMPARISONS)
def test_every_comparison_runs(part: str) -> None:
    lines = list(compare(part, pieces=12, labels=3, tags=20, times=1, cases=1))
    assert lines
    assert all(line.one_seconds > 0 and line.other_seconds > 0 for line in lines)


def test_the_readme_names_every_part() -> None:
    readme = (Path(__file__).parent / "README.md").read_text(encoding="utf-8")
    assert [part for part in (*COMPARISONS, *TABLES) if f"`{part}`" not in readme] == []


def test_the_table_of_board_counts_is_complete() -> None:
    *lines, average = counting.counts_table(20, seeds=1)
    assert len(lines) == 1 + len(counting.BOARDS) * 3
    assert average.startswith("\nOn average ")


def test_the_table_of_tag_reading_is_complete(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(camera, "WEATHERS", camera.WEATHERS[:1])
    *lines, total = camera.rates_table(1)
    assert len(lines) == 3
    assert total == "\nA wrong code was accepted in 0 of 4 frames."


def test_the_plot_of_growth_has_a_line_for_every_width_and_grid() -> None:
    points = list(growth.measure_growth(100, times=1))
    assert len(list(growth.growth_table(points))) == 2 + len(points)
    lines = ElementTree.fromstring(growth.growth_svg(points)).findall("{*}path[@stroke-width='2']")
    assert len(lines) == len(points) == len(growth.WIDTHS) * len(growth.GRIDS)


def test_the_tables_of_the_pruning_backtest_are_complete() -> None:
    lines = list(pruning_tables(1, tags=14, drawn=4, fresh=2))
    assert sum(line.startswith("| our advice |") for line in lines) == 2
    assert lines[-1].count("|") == 5


def test_the_table_of_label_memory_is_complete() -> None:
    assert len(list(label_memory(10))) == 4


def test_the_examples_in_docstrings_are_true() -> None:
    assert doctest.testmod(timing) == (0, 1)
    assert doctest.testmod(counting) == (0, 1)
    assert doctest.testmod(camera) == (0, 1)
