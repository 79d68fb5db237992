"""What no tool checks: the size of modules, the clock, names of machines, what is imported and what is declared."""

import ast
import doctest
import importlib
import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("inventory", "labels")
TOP_LEVEL = {
    ".ci", ".gitignore", "DEVELOPERS.md", "README.md", "inventory", "labels", "pyproject.toml", "static", "templates",
    "tests",
}  # fmt: skip
DOMAIN = ("core", "cutting", "solver", "fill", "orders", "layout", "wording", "pruning")
# What a plan and a request are. Nothing else may lie both behind a plan and behind its verifier.
VERIFIER_MAY_KNOW = {
    "inventory.cutting.bands", "inventory.cutting.costs", "inventory.cutting.cuts", "inventory.fill.plan",
    "inventory.fill.request", "inventory.core.lengths", "inventory.core.offcuts",
}  # fmt: skip
LONGEST_MODULE = 400
TEXT_SUFFIXES = {".py", ".md", ".toml", ".html", ".css", ".js", ".csv", ".json", ".svg", ".txt", ""}

# The distribution that brings a module, where it goes by another name.
DISTRIBUTIONS = {
    "PIL": "pillow",
    "axe_playwright_python": "axe-playwright-python",
    "flask_wtf": "flask-wtf",
    "pillow_heif": "pillow-heif",
    "zxingcpp": "zxing-cpp",
}
# Called by name, not imported.
TOOLS = {"hatchling", "import-linter", "mypy", "pytest-xdist", "ruff"}


def modules(*packages: str) -> list[Path]:
    return sorted(path for room in packages for path in (ROOT / room).rglob("*.py"))


def text_files() -> Iterator[Path]:
    """Every file of the house that people write."""
    for name in sorted(TOP_LEVEL):
        top = ROOT / name
        for path in sorted(top.rglob("*")) if top.is_dir() else [top]:
            if path.is_file() and path.suffix in TEXT_SUFFIXES and "__pycache__" not in path.parts:
                yield path


def named(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def lines_with(pattern: re.Pattern[str]) -> list[str]:
    """Every line of the house, this module aside, in which the pattern is found."""
    return [
        f"{named(path)}:{number}: {line.strip()}"
        for path in text_files()
        if path != Path(__file__).resolve()
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if pattern.search(line)
    ]


def test_nothing_else_lies_at_the_top() -> None:
    ignored = [line.rstrip("/") for line in (ROOT / ".gitignore").read_text().splitlines()]
    here = {path.name for path in ROOT.iterdir() if not any(path.match(pattern) for pattern in ignored)}
    # What an editor or git keeps under a name of its own, with a dot, is nobody's concern.
    assert {name for name in here if not name.startswith(".")} == {name for name in TOP_LEVEL if name[0] != "."}
    assert here >= TOP_LEVEL


def test_no_module_is_longer_than_400_lines() -> None:
    lengths = {named(path): len(path.read_text(encoding="utf-8").splitlines()) for path in modules(*PACKAGES)}
    assert {name: lines for name, lines in lengths.items() if lines > LONGEST_MODULE} == {}


def test_every_module_says_first_what_it_knows() -> None:
    empty = [path for path in modules(*PACKAGES) if not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))]
    assert [named(path) for path in empty] == []


def test_no_module_is_a_drawer_for_this_and_that() -> None:
    drawers = {"common.py", "helper.py", "helpers.py", "misc.py", "util.py", "utils.py"}
    assert [named(path) for path in modules(*PACKAGES, "tests") if path.name in drawers] == []


def test_no_file_knows_the_machine_that_it_was_written_on() -> None:
    of_a_machine = re.compile(
        r"(?<![\w.\-<])/(?:work|home|root|Users|tmp|opt|mnt/\w|usr/local(?!/share/fonts))\b(?!\")" r"|\b[A-Z]:\\\w"
    )
    assert lines_with(of_a_machine) == []


def test_nothing_is_left_for_later_and_no_test_is_passed_over() -> None:
    assert lines_with(re.compile(r"\b(?:TODO|FIXME)\b|mark\.(?:skip|xfail)|pytest\.(?:skip|xfail)|importorskip")) == []


@pytest.mark.parametrize("room", DOMAIN)
def test_the_domain_is_told_the_day_and_asks_no_clock(room: str) -> None:
    place = ROOT / "inventory" / room
    asking = [
        f"{named(path)}:{node.lineno}"
        for path in ([place.with_suffix(".py")] if not place.is_dir() else sorted(place.rglob("*.py")))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute) and node.attr in ("today", "now", "utcnow", "fromtimestamp")
    ]
    assert asking == []


def test_the_verifier_shares_no_code_with_the_search() -> None:
    imported = {
        node.module
        for path in modules("tests/verify")
        if not path.name.startswith("test_") and path.name != "paper_plans.py"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom) and node.module
    }
    ours = {name for name in imported if name.startswith("inventory.") and not name.startswith("tests.verify")}
    assert ours <= VERIFIER_MAY_KNOW
    assert "numpy" not in imported


def outside_modules(path: Path) -> set[str]:
    """The top names of what a module imports that is neither Python's nor the house's own."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names.add(node.module.partition(".")[0])
    return names - set(sys.stdlib_module_names) - {*PACKAGES, "tests"}


def declared() -> tuple[set[str], set[str]]:
    """The distributions that pyproject.toml asks for: to run, and for the tests."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    asked = (project["dependencies"], project["optional-dependencies"]["dev"])
    to_run, for_tests = ({re.split(r"[<>=!~\[ ]", each)[0] for each in those} for those in asked)
    return to_run, for_tests


def distributions_of(paths: list[Path]) -> set[str]:
    return {DISTRIBUTIONS.get(name, name) for path in paths for name in outside_modules(path)}


def test_what_the_program_imports_is_what_it_asks_for() -> None:
    assert distributions_of(modules(*PACKAGES)) == declared()[0]


def test_what_the_tests_import_is_what_they_ask_for() -> None:
    to_run, for_tests = declared()
    assert distributions_of(modules("tests")) - to_run == for_tests - TOOLS
    assert for_tests >= TOOLS


EXAMPLES = [path for path in modules(*PACKAGES) if ">>> " in path.read_text(encoding="utf-8")]


@pytest.mark.parametrize("path", EXAMPLES, ids=named)
def test_the_examples_of_a_module_are_true(path: Path) -> None:
    module = importlib.import_module(".".join(path.relative_to(ROOT).with_suffix("").parts))
    ran = doctest.testmod(module)
    assert ran.attempted > 0
    assert ran.failed == 0
