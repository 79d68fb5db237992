"""Checks the README against the program: its two commands, every `rackful` command, examples, formats and pictures."""

import io
import json
import re
import shlex
import subprocess
from pathlib import Path

import click
import pytest
from PIL import Image

from inventory.cli import main
from inventory.cli.program import COMMANDS, PROGRAM
from inventory.core.codes import format_code, read_code
from inventory.services.rack.rack_csv import COLUMNS

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
RUN_UNTIL_STOPPED = ("serve", "demo")
MAX_PICTURE_BYTES = 200_000


def blocks(language: str) -> list[str]:
    """The README's code blocks in one language."""
    return re.findall(rf"^```{language}\n(.*?)^```", README, re.DOTALL | re.MULTILINE)


EXAMPLES = [line for block in blocks("sh") for line in block.splitlines() if line.startswith("rackful ")]


def test_one_command_opens_the_demo_and_one_runs_the_tests() -> None:
    commands = [line for block in blocks("sh") for line in block.splitlines() if "venv" in line]
    assert commands == [
        "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/rackful demo",
        "python3 -m venv .venv && .venv/bin/pip install -e '.[dev]' && .venv/bin/pytest",
    ]


def test_continuous_integration_runs_the_readme_s_command() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    [reads] = re.findall(r"sed -n '[^\n]+?' README\.md", script)
    command = subprocess.run(["sh", "-c", reads], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    assert command == "python3 -m venv .venv && .venv/bin/pip install -e '.[dev]' && .venv/bin/pytest\n"
    assert 'eval "$command"' in script


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_in_the_readme_with_an_example(name: str) -> None:
    assert [line for line in EXAMPLES if line.split()[1] == name]
    assert f"`rackful {name}`" in README


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_option_of_an_example_exists(example: str) -> None:
    name = example.split()[1]
    command = PROGRAM.get_command(click.Context(PROGRAM), name)
    options = {option for parameter in command.params for option in parameter.opts}
    assert {word for word in shlex.split(example) if word.startswith("--")} <= options


def test_the_examples_do_what_they_say_one_after_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    [rack], [request] = blocks("csv"), blocks("json")
    (tmp_path / "rack.csv").write_text(rack, encoding="utf-8")
    (tmp_path / "board.json").write_text(request, encoding="utf-8")
    (tmp_path / "phrase.txt").write_text("pencil gauge shavings dowel\n", encoding="utf-8")

    for example in EXAMPLES:
        _, name, *words = shlex.split(example)
        if name in RUN_UNTIL_STOPPED:
            continue
        if "<" in words:
            at = words.index("<")
            monkeypatch.setattr("sys.stdin", io.StringIO((tmp_path / words[at + 1]).read_text(encoding="utf-8")))
            words = words[:at]
        ended = main([name, "--data", str(tmp_path / "shop"), *words])
        assert (ended, capsys.readouterr().err) == (0, ""), example

    written = {path.name for path in tmp_path.iterdir() if path.is_file()} - {"rack.csv", "board.json", "phrase.txt"}
    assert written == {
        "rack-out.csv",
        "test-sheet.pdf",
        "labels.pdf",
        "blank.pdf",
        "every-piece.pdf",
        "shop-2030-01-31.zip",
    }


def test_the_rack_csv_has_every_column() -> None:
    [rack] = blocks("csv")
    assert rack.splitlines()[0] == ",".join(COLUMNS)


def test_the_plan_is_what_the_program_answers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    [rack], [request], [plan] = blocks("csv"), blocks("json"), blocks("text")
    (tmp_path / "rack.csv").write_text(rack, encoding="utf-8")
    (tmp_path / "board.json").write_text(request, encoding="utf-8")

    asked = ["fill", "--rack", str(tmp_path / "rack.csv"), "--request", str(tmp_path / "board.json"), "--json"]
    assert main([*asked, "--prefer", "fewest-pieces"]) == 0
    document = json.loads(capsys.readouterr().out)

    [fill] = document["fills"]
    cut, *_ = fill["cuts"]
    leftover, *_ = cut["remainders"]
    cut["tag"] = "…"
    for part in (fill, cut, leftover):
        for key, value in part.items():
            if not isinstance(value, list):
                assert f"{json.dumps(key)}: {json.dumps(value, ensure_ascii=False)}" in " ".join(plan.split()), key
    assert set(re.findall(r'"(\w+)":', plan)) == {*document, *fill, *cut, *leftover}


def test_the_words_of_a_shortfall_are_those_of_the_program(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    [rack] = blocks("csv")
    (tmp_path / "rack.csv").write_text(rack, encoding="utf-8")
    sizes = ["--length", "90", "--width", "40", "--thickness", "2"]
    assert main(["fill", "--rack", str(tmp_path / "rack.csv"), *sizes, "--json"]) == 1
    paragraph = re.search(r"When the rack can't fill the board.*?\n\n", README, re.DOTALL)
    assert paragraph
    assert set(json.loads(capsys.readouterr().out)["shortfall"]) <= set(re.findall(r"`(\w+)`", paragraph[0]))


def test_the_code_in_the_readme_is_valid() -> None:
    [shown] = re.findall(r"shown as `(\S+)`", README)
    assert format_code(read_code(shown)) == shown


PICTURES = re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", README)


@pytest.mark.parametrize(("words", "path"), PICTURES, ids=lambda value: value.rpartition("/")[2])
def test_every_picture_exists_is_small_and_has_an_alternative_text(words: str, path: str) -> None:
    picture = ROOT / path
    assert picture.stat().st_size < MAX_PICTURE_BYTES
    with Image.open(picture) as opened:
        assert opened.format == "PNG"
    assert len(words) > 20


def test_every_picture_is_shown() -> None:
    assert {ROOT / path for _, path in PICTURES} == set((ROOT / "static" / "pictures").iterdir())
