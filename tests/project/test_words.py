"""Private words that the code once had for standard terms do not come back.

Checks identifiers, docstrings and comments; string literals are texts on screen, and so are the docstrings of commands.
"""

import ast
import io
import re
import tokenize
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DOCUMENTS = ("DEVELOPERS.md", "tests/bench/README.md")
ON_SCREEN = ("rackful_command", "group")
"""Decorators of functions whose docstring is the help of a command."""

# A part of a name, or several parts in a row; the comment says what to write instead.
NAMES = (
    "accents",  # stripes
    "anew",  # again
    "at_hand",  # request context
    "by_lot",  # randomly
    "form_key",  # idempotency key
    "guide",  # Lagrangian relaxation, multiplier
    "guides",
    "handed_on",  # returned, passed
    "lens",  # multiplier
    "letting_in",  # pairing
    "look_around",  # local search
    "lots",  # item classes
    "mendable",  # UserError
    "mended",
    "near_look",  # local search
    "outlook",  # presolve
    "quick_hand",  # greedy heuristic
    "reckoning",
    "reckons",
    "spell",  # replication
    "spells",
    "sweep",  # dynamic program
    "sweeps",
    "swept",
    "tally",  # item-set signature
    "thinning",  # candidate reduction
    "toll",  # multiplier
    "tolls",
    "trail",  # back-pointer
    "unbeaten",  # Pareto frontier
    "whole_file",  # atomic file write
    "whole_files",
    "winnow",  # reduced-cost fixing
    "winnowed",
)
CLASS_NAMES = r"\bShown[A-Z]\w*|\w*Mendable\b"
PROSE = (
    r"\bby lot\b",
    r"\bform keys?\b",
    r"\bhand(?:s|ed|ing)? on\b",
    r"(?-i:\bKnows\b)|\bknows? nothing\b",
    r"\blook(?:s|ed|ing)? around\b",
    r"\bmendable\b",
    r"\bmend(?:s|ed|ing)?\b",
    r"\bnear looks?\b",
    r"\boutlooks?\b",
    r"\bquick hands?\b",
    r"\breckon\w*",
    r"\bspells? of\b",
    r"\bswe(?:ep|eps|pt|eping)\b",
    r"\btally\b",
    r"\btolls?\b",
    r"\bunbeaten\b",
    r"\bwinnow\w*",
    r"\bcolour\w*",
    r"\b(?:milli|nano|centi)metre\w*",
)


def modules() -> list[Path]:
    found = [path for top in ("inventory", "labels", "tests") for path in sorted((ROOT / top).rglob("*.py"))]
    return [path for path in found if path != Path(__file__).resolve()]


def snake_case(name: str) -> str:
    """A name in lower case, its parts between underscores."""
    apart = re.sub(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])", "_", name)
    return apart.lower().strip("_")


@cache
def identifiers() -> dict[str, str]:
    """Every identifier, with the first place where it is."""
    found: dict[str, str] = {}
    for path in modules():
        with path.open(encoding="utf-8") as file:
            for token in tokenize.generate_tokens(file.readline):
                if token.type == tokenize.NAME:
                    found.setdefault(token.string, f"{path.relative_to(ROOT).as_posix()}:{token.start[0]}")
    return found


def docstring_lines(tree: ast.Module) -> Iterator[int]:
    """The numbers of all lines of docstrings, except where they are on screen."""
    for node in ast.walk(tree):
        decorators = {ast.unparse(each).partition("(")[0] for each in getattr(node, "decorator_list", ())}
        if any(each.rpartition(".")[2] in ON_SCREEN for each in decorators):
            continue
        body = getattr(node, "body", None)
        for statement in body if isinstance(body, list) else ():
            if isinstance(statement, ast.Expr) and isinstance(getattr(statement.value, "value", None), str):
                yield from range(statement.lineno, (statement.end_lineno or statement.lineno) + 1)


@cache
def prose() -> list[tuple[str, str]]:
    """Every comment and every line of a docstring, and of the documents, with its place."""
    found = []
    for path in modules():
        text = path.read_text(encoding="utf-8")
        name, lines = path.relative_to(ROOT).as_posix(), text.splitlines()
        found += [(f"{name}:{number}", lines[number - 1]) for number in docstring_lines(ast.parse(text))]
        found += [
            (f"{name}:{token.start[0]}", token.string)
            for token in tokenize.generate_tokens(io.StringIO(text).readline)
            if token.type == tokenize.COMMENT
        ]
    for document in DOCUMENTS:
        lines = (ROOT / document).read_text(encoding="utf-8").splitlines()
        found += [(f"{document}:{number}", line) for number, line in enumerate(lines, 1)]
    return found


def test_names_are_split_into_parts() -> None:
    names = [snake_case(name) for name in ("RemovalReason", "_REMOVED", "QRCode", "form_key")]
    assert names == ["removal_reason", "removed", "qr_code", "form_key"]


@pytest.mark.parametrize("word", NAMES)
def test_no_identifier_has_this_word(word: str) -> None:
    assert [f"{place}: {name}" for name, place in identifiers().items() if f"_{word}_" in f"_{snake_case(name)}_"] == []


def test_no_class_has_a_private_name() -> None:
    assert [f"{place}: {name}" for name, place in identifiers().items() if re.search(CLASS_NAMES, name)] == []


@pytest.mark.parametrize("phrase", PROSE)
def test_no_docstring_or_comment_has_this_phrase(phrase: str) -> None:
    pattern = re.compile(phrase, re.IGNORECASE)
    assert [f"{place}: {line.strip()}" for place, line in prose() if pattern.search(line)] == []


def test_the_errors_that_docstrings_name_exist() -> None:
    named = [(place, name) for place, line in prose() for name in re.findall(r"\bRaises ([A-Z]\w+)", line)]
    assert [f"{place}: {name}" for place, name in named if name not in identifiers()] == []
