"""Rules that no tool checks: module sizes, no clock in the domain, no local paths, imports and dependencies."""

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
# The data types of plans and requests. The verifier may share nothing else with the search.
VERIFIER_MAY_IMPORT = {
    "inventory.cutting.bands", "inventory.cutting.costs", "inventory.cutting.cuts", "inventory.fill.plan",
    "inventory.core.allowances", "inventory.core.lengths", "inventory.core.offcuts", "inventory.fill.request",
}  # fmt: skip
LONGEST_MODULE = 400
TEXT_SUFFIXES = {".py", ".md", ".toml", ".html", ".css", ".js", ".csv", ".json", ".svg", ".txt", ""}

# The distribution of a module, where its name is another one.
DISTRIBUTIONS = {
    "PIL": "pillow",
    "axe_playwright_python": "axe-playwright-python",
    "flask_wtf": "flask-wtf",
    "pillow_heif": "pillow-heif",
    "zxingcpp": "zxing-cpp",
}
# Run as commands, not imported.
TOOLS = {"hatchling", "import-linter", "mypy", "pytest-xdist", "ruff"}


def modules(*packages: str) -> list[Path]:
    return sorted(path for package in packages for path in (ROOT / package).rglob("*.py"))


def text_files() -> Iterator[Path]:
    """Every text file of the repository."""
    for name in sorted(TOP_LEVEL):
        top = ROOT / name
        for path in sorted(top.rglob("*")) if top.is_dir() else [top]:
            if path.is_file() and path.suffix in TEXT_SUFFIXES and "__pycache__" not in path.parts:
                yield path


def named(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def lines_with(pattern: re.Pattern[str]) -> list[str]:
    """Every line of the repository, this module aside, that matches the pattern."""
    return [
        f"{named(path)}:{number}: {line.strip()}"
        for path in text_files()
        if path != Path(__file__).resolve()
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if pattern.search(line)
    ]


def test_the_top_folder_has_only_what_is_listed() -> None:
    ignored = [line.rstrip("/") for line in (ROOT / ".gitignore").read_text().splitlines()]
    here = {path.name for path in ROOT.iterdir() if not any(path.match(pattern) for pattern in ignored)}
    # Other names with a dot belong to git or an editor.
    assert {name for name in here if not name.startswith(".")} == {name for name in TOP_LEVEL if name[0] != "."}
    assert here >= TOP_LEVEL


def test_no_module_is_longer_than_400_lines() -> None:
    lengths = {named(path): len(path.read_text(encoding="utf-8").splitlines()) for path in modules(*PACKAGES)}
    assert {name: lines for name, lines in lengths.items() if lines > LONGEST_MODULE} == {}


def test_every_module_has_a_docstring() -> None:
    empty = [path for path in modules(*PACKAGES) if not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))]
    assert [named(path) for path in empty] == []


def test_no_module_is_a_collection_of_helpers() -> None:
    collections = {"common.py", "helper.py", "helpers.py", "misc.py", "util.py", "utils.py"}
    assert [named(path) for path in modules(*PACKAGES, "tests") if path.name in collections] == []


def test_no_file_has_a_path_of_one_machine() -> None:
    machine_path = re.compile(
        r"(?<![\w.\-<])/(?:work|home|root|Users|tmp|opt|mnt/\w|usr/local(?!/share/fonts))\b(?!\")" r"|\b[A-Z]:\\\w"
    )
    assert lines_with(machine_path) == []


def test_there_is_no_todo_and_no_skipped_test() -> None:
    assert lines_with(re.compile(r"\b(?:TODO|FIXME)\b|mark\.(?:skip|xfail)|pytest\.(?:skip|xfail)|importorskip")) == []


@pytest.mark.parametrize("package", DOMAIN)
def test_the_domain_never_reads_the_clock(package: str) -> None:
    reading = [
        f"{named(path)}:{node.lineno}"
        for path in modules(f"inventory/{package}")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute) and node.attr in ("today", "now", "utcnow", "fromtimestamp")
    ]
    assert reading == []


def test_the_verifier_shares_no_code_with_the_search() -> None:
    imported = {
        node.module
        for path in modules("tests/verify")
        if not path.name.startswith("test_") and path.name != "paper_plans.py"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom) and node.module
    }
    ours = {name for name in imported if name.startswith("inventory.") and not name.startswith("tests.verify")}
    assert ours <= VERIFIER_MAY_IMPORT
    assert "numpy" not in imported


def third_party_modules(path: Path) -> set[str]:
    """The top-level names of the third-party modules that a module imports."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names.add(node.module.partition(".")[0])
    return names - set(sys.stdlib_module_names) - {*PACKAGES, "tests"}


def declared() -> tuple[set[str], set[str]]:
    """The dependencies in pyproject.toml: to run, and for development."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    asked = (project["dependencies"], project["optional-dependencies"]["dev"])
    to_run, for_tests = ({re.split(r"[<>=!~\[ ]", each)[0] for each in those} for those in asked)
    return to_run, for_tests


def distributions_of(paths: list[Path]) -> set[str]:
    return {DISTRIBUTIONS.get(name, name) for path in paths for name in third_party_modules(path)}


def test_the_program_s_dependencies_are_what_it_imports() -> None:
    assert distributions_of(modules(*PACKAGES)) == declared()[0]


def test_the_development_dependencies_are_what_the_tests_import() -> None:
    to_run, for_tests = declared()
    assert distributions_of(modules("tests")) - to_run == for_tests - TOOLS
    assert for_tests >= TOOLS


EXAMPLES = [path for path in modules(*PACKAGES) if ">>> " in path.read_text(encoding="utf-8")]


@pytest.mark.parametrize("path", EXAMPLES, ids=named)
def test_the_examples_in_docstrings_are_true(path: Path) -> None:
    module = importlib.import_module(".".join(path.relative_to(ROOT).with_suffix("").parts))
    ran = doctest.testmod(module)
    assert ran.attempted > 0
    assert ran.failed == 0
