"""What holds for every command: help, exit codes, one line on standard error, never a traceback."""

import json
import os
import subprocess
import sys
from pathlib import Path

import click
import pytest

from inventory.cli import main
from inventory.cli.program import COMMANDS, PROGRAM, CommandContext
from inventory.services.rack import csv_transfer
from tests.cli.conftest import Rackful

ENTRY = [sys.executable, "-c", "import sys; from inventory.cli import main; sys.exit(main())"]


def entry(*arguments: str, **how: object) -> "subprocess.CompletedProcess[bytes]":
    """The console entry as a separate process."""
    return subprocess.run([*ENTRY, *arguments], capture_output=True, timeout=60, **how)  # type: ignore[call-overload,no-any-return]


def test_the_contract_s_commands_are_all_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    listed = capsys.readouterr().out
    for name in ("serve", "demo", "add", "import", "export", "labels", "fill", "backup", "restore"):
        assert f"\n  {name} " in listed
    assert main([]) == 0
    assert capsys.readouterr().out == listed


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example_and_takes_data_and_json(
    capsys: pytest.CaptureFixture[str], name: str
) -> None:
    assert main([name, "--help"]) == 0
    help_text = capsys.readouterr().out
    assert f"\n    rackful {name}" in help_text
    assert "\n  --data DIR " in help_text and "\n  --json " in help_text
    assert max(len(line) for line in help_text.splitlines()) <= 100


@pytest.mark.parametrize("name", COMMANDS)
def test_the_options_of_an_example_exist(name: str) -> None:
    command = PROGRAM.get_command(click.Context(PROGRAM), name)  # type: ignore[attr-defined]
    options = {option for parameter in command.params for option in parameter.opts}
    examples = [line for line in command.help.splitlines() if line.strip().startswith(f"rackful {name}")]
    assert examples
    for example in examples:
        used = {word for word in example.split("#")[0].split() if word.startswith("--")}
        assert used <= options


def test_the_version_is_shown(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == "rackful 0.1.0\n"


@pytest.mark.parametrize(
    ("arguments", "wrong", "command"),
    [
        (["frobnicate"], "frobnicate", "rackful"),
        (["--frob"], "--frob", "rackful"),
        (["export"], "FILE", "rackful export"),
        (["export", "a.csv", "b.csv"], "b.csv", "rackful export"),
        (["serve", "--port", "x"], "--port", "rackful serve"),
        (["serve", "--port", "65536"], "65536", "rackful serve"),
        (["labels", "--blank", "0"], "--blank", "rackful labels"),
    ],
)
def test_wrong_usage_is_reported_in_one_line_that_says_what_is_wrong(
    capsys: pytest.CaptureFixture[str], arguments: list[str], wrong: str, command: str
) -> None:
    # The first words are click's own and may change with it.
    assert main(arguments) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert wrong in printed.err
    assert printed.err.endswith(f' Type "{command} --help" for what it takes.\n') and printed.err.count("\n") == 1


def test_with_json_the_error_is_a_document_too(rackful: Rackful, folder: Path) -> None:
    done = rackful("export", "x.csv", "--json")
    message = (
        f'There is no shop in "{folder}". Name its folder with --data, or begin one with rackful add, import or serve.'
    )
    assert (done.code, done.document, done.err) == (2, {"error": message}, f"{message}\n")


@pytest.mark.parametrize("name", ["export", "backup"])
def test_a_typing_error_in_the_folder_s_name_makes_no_shop(rackful: Rackful, folder: Path, name: str) -> None:
    assert rackful(name, "file").code == 2
    assert not folder.exists()


def test_a_folder_that_is_a_file_is_reported_in_a_sentence(rackful: Rackful, folder: Path) -> None:
    folder.write_text("Dear Ada")
    done = rackful("add", "ash 1 x 2 x 3")
    assert (done.code, done.err) == (
        2,
        f"Invalid value for '--data': Directory '{folder}' is a file. Type \"rackful add --help\" for what it takes.\n",
    )


def test_an_unexpected_error_is_one_sentence_and_the_details_are_in_the_log(
    rackful: Rackful, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(shop: object) -> None:
        raise ZeroDivisionError("a plane of no width")

    rackful("add", "ash 1 x 2 x 3")
    monkeypatch.setattr(csv_transfer, "export_file", broken)
    done = rackful("export", "x.csv")
    assert (done.code, done.out) == (2, "")
    assert done.err == (
        "Something went wrong that Rackful did not expect (ZeroDivisionError). "
        f'The details are in "{folder}/rackful.log". Try it again once.\n'
    )
    log = (folder / "rackful.log").read_text()
    assert "Traceback (most recent call last)" in log and "a plane of no width" in log
    assert (folder / "rackful.log").stat().st_mode & 0o777 == 0o600


def test_ctrl_c_ends_a_command_quietly(rackful: Rackful, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(shop: object) -> None:
        raise KeyboardInterrupt

    rackful("add", "ash 1 x 2 x 3")
    monkeypatch.setattr(csv_transfer, "export_file", stopped)
    done = rackful("export", "x.csv")
    assert (done.code, done.out, done.err.strip()) == (130, "", "Stopped.")


def test_the_usual_folder_is_the_user_s_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert CommandContext().folder == tmp_path / "rackful"


def test_a_separate_process_ends_the_same(tmp_path: Path) -> None:
    done = entry("add", "--data", str(tmp_path / "shop"), "ash 23 1/2 x 3 1/4 x 13/16 @ wall 2", "--json")
    assert (done.returncode, done.stderr) == (0, b"")
    assert json.loads(done.stdout)["line"] == "ash 23 1/2 x 3 1/4 x 13/16 in rough @ wall 2"
    assert entry("add", "--data", str(tmp_path / "shop"), "ash").returncode == 2


def test_a_terminal_without_the_signs_still_shows_the_answer(tmp_path: Path) -> None:
    entry("add", "--data", str(tmp_path / "shop"), "ash 597 x 82 x 20 mm")
    done = entry(
        "fill", "--data", str(tmp_path / "shop"), "--length", "18", "--width", "30", "--thickness", "1",
        env={**os.environ, "PYTHONIOENCODING": "latin-1"},
    )  # fmt: skip
    assert (done.returncode, b"Traceback" in done.stderr) == (1, False)
    assert b"Board 18 \xd7 30 \xd7 1 in, edge grain" in done.stdout
    assert b"Missing: \\u224828 13/16 in of width" in done.stdout


def test_a_reader_that_closes_the_pipe_early_is_no_error(tmp_path: Path) -> None:
    shop = str(tmp_path / "shop")
    rows = "length,width,thickness,notes\n" + f"10,2,1,{'x' * 1500}\n" * 200
    entry("import", "--data", shop, "-", input=rows.encode())
    command = f"'{sys.executable}' -c '{ENTRY[2]}' export --data '{shop}' - | head -1; echo ${{PIPESTATUS[0]}}"
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=60)
    assert done.stderr == ""
    assert done.stdout.splitlines()[0].startswith("tag,species,") and done.stdout.splitlines()[-1] == "0"


def test_a_command_loads_no_more_than_it_needs(tmp_path: Path) -> None:
    script = (
        "import sys; from inventory.cli import main; "
        f"main(['add', '--data', {str(tmp_path / 'shop')!r}, 'ash 1 x 2 x 3']); "
        "print(sorted({'flask', 'waitress', 'reportlab'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=60)
    assert done.stdout.splitlines()[-1] == "[]"
