"""`rackful serve`, `demo` and `passphrase`: the real programs on free ports."""

import io
import json
import os
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Generator, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import waitress
from flask import Flask
from werkzeug.security import check_password_hash

from inventory.cli import main
from inventory.services.jobs import Jobs, JobState, Progress
from inventory.shop import Shop
from inventory.web import request_context
from tests.cli.conftest import Rackful

PHRASE = "four words of oak"


@contextmanager
def running(*arguments: str) -> Iterator[tuple["subprocess.Popen[str]", dict[str, Any]]]:
    """The program with --json and what it says once it answers."""
    program = subprocess.Popen(
        [sys.executable, "-c", "import sys; from inventory.cli import main; sys.exit(main())", *arguments, "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        said = ""
        assert program.stdout is not None
        while not said.endswith("}\n"):
            line = program.stdout.readline()
            assert line, program.stderr and program.stderr.read()
            said += line
        yield program, json.loads(said)
    finally:
        program.kill()
        program.communicate()


def ended(program: "subprocess.Popen[str]", by: signal.Signals) -> tuple[int, str, str]:
    program.send_signal(by)
    out, err = program.communicate(timeout=30)
    return program.returncode, out, err


@pytest.mark.parametrize("by", [signal.SIGINT, signal.SIGTERM])
def test_the_shop_is_served_until_it_is_stopped(folder: Path, by: signal.Signals) -> None:
    with running("serve", "--data", str(folder), "--port", "0") as (program, said):
        assert said["folder"] == str(folder)
        assert said["address"].startswith("http://127.0.0.1:")
        with urllib.request.urlopen(said["address"], timeout=20) as page:
            assert page.status == 200
        assert ended(program, by) == (0, "", "")
    assert {each.name for each in folder.iterdir()} == {"rackful.sqlite3"}


def test_stopping_the_program_stops_its_background_jobs(rackful: Rackful, monkeypatch: pytest.MonkeyPatch) -> None:
    def endless() -> Generator[Progress, None, None]:
        while True:
            yield Progress(0.0, "drawing")

    class Server:
        """A server that is stopped as soon as a job has started."""

        jobs: Jobs

        def __init__(self, app: Flask, **_: object) -> None:
            Server.jobs = request_context.jobs_of(app)

        def run(self) -> None:
            self.jobs.start("drawing", "Drawing", endless)

        def close(self) -> None:
            assert self.jobs.running()

    monkeypatch.setattr(waitress, "create_server", Server)
    assert rackful("serve", "--port", "0").code == 0
    ended = Server.jobs.wait("drawing", 60)
    assert ended is not None and ended.state is JobState.STOPPED


def test_a_request_through_a_proxy_does_not_count_as_local(folder: Path) -> None:
    with running("serve", "--data", str(folder), "--port", "0") as (_, said):
        asked = urllib.request.Request(said["address"], headers={"X-Forwarded-For": "192.0.2.7"})
        with pytest.raises(urllib.error.HTTPError) as error:
            urllib.request.urlopen(asked, timeout=20)
        assert error.value.code == 403
        error.value.close()


def test_a_port_in_use_is_reported_in_a_sentence(rackful: Rackful) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        done = rackful("serve", "--port", port)
    assert (done.code, done.out) == (2, "")
    assert done.err == (
        f"Port {port} is in use, perhaps by this shop already. Close the other program, "
        f"or choose another port, such as --port {port + 1}.\n"
    )


@pytest.mark.parametrize("host", ["192.0.2.1", "nowhere.invalid", "a b"])
def test_a_host_of_another_machine_is_reported_in_a_sentence(rackful: Rackful, host: str, folder: Path) -> None:
    with_phrase(folder)
    done = rackful("serve", "--host", host, "--port", "0")
    assert (done.code, done.err) == (
        2,
        f'"{host}" is no address of this machine. Leave --host out, or give one such as 192.168.1.20.\n',
    )


def with_phrase(folder: Path, phrase: str = PHRASE) -> None:
    before = sys.stdin
    sys.stdin = io.StringIO(phrase + "\n")
    try:
        assert main(["passphrase", "--data", str(folder)]) == 0
    finally:
        sys.stdin = before


def test_the_network_is_not_served_without_a_passphrase(rackful: Rackful) -> None:
    done = rackful("serve", "--host", "0.0.0.0", "--port", "0")
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith('"0.0.0.0" lets the whole network in, and this shop has no pass phrase.')
    assert done.err.count("\n") == 1


def test_with_a_passphrase_the_network_is_asked_for_it(folder: Path) -> None:
    with_phrase(folder)
    with running("serve", "--data", str(folder), "--host", "0.0.0.0", "--port", "0", "--no-name") as (_, said):
        port = said["address"].rstrip("/").rpartition(":")[2]
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=20) as page:
            assert page.url.endswith("/sign-in?next=/")


def test_the_passphrase_is_read_from_standard_input_stored_as_a_hash_and_cleared(
    rackful: Rackful, folder: Path
) -> None:
    with_phrase(folder)
    with Shop.open(folder) as shop:
        assert check_password_hash(shop.settings().pass_phrase_hash, PHRASE)
        assert PHRASE not in shop.settings().pass_phrase_hash
    assert rackful("passphrase", "--clear", "--json").document == {"pass_phrase": False}
    with Shop.open(folder) as shop:
        assert shop.settings().pass_phrase_hash == ""


def test_at_a_terminal_the_passphrase_is_asked_for_twice_and_not_shown(folder: Path) -> None:
    ours, theirs = os.openpty()
    program = subprocess.Popen(
        [sys.executable, "-c", "import sys; from inventory.cli import main; sys.exit(main())", "passphrase", "--data",
         str(folder)],
        stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True,
    )  # fmt: skip
    os.close(theirs)
    seen = ""
    try:
        for question in ("New pass phrase:", "The same again:"):
            while question not in seen:
                seen += os.read(ours, 1000).decode()
            os.write(ours, f"{PHRASE}\n".encode())
        assert program.wait(timeout=30) == 0
        seen += os.read(ours, 1000).decode()
    finally:
        program.kill()
        os.close(ours)
    assert PHRASE not in seen
    assert "The pass phrase is set." in seen
    with Shop.open(folder) as shop:
        assert check_password_hash(shop.settings().pass_phrase_hash, PHRASE)


def test_a_short_passphrase_changes_nothing(rackful: Rackful, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with_phrase(folder)
    monkeypatch.setattr(sys, "stdin", io.StringIO("oak\n"))
    done = rackful("passphrase")
    assert (done.code, done.err) == (
        2,
        "A pass phrase has at least 10 letters, this one has 3. Take four or five words that don't belong together.\n",
    )
    with Shop.open(folder) as shop:
        assert check_password_hash(shop.settings().pass_phrase_hash, PHRASE)


def test_the_demo_shop_is_made_served_and_thrown_away() -> None:
    with running("demo", "--port", "0") as (program, said):
        copy = Path(said["folder"])
        assert copy.is_dir()
        with urllib.request.urlopen(said["address"] + "rack", timeout=60) as page:
            assert page.status == 200
        code, out, err = ended(program, signal.SIGINT)
        assert (code, out, err) == (
            0,
            "",
            "Making the demo shop; this takes a few seconds. What you do in it is thrown away when you stop it.\n",
        )
        assert not copy.parent.exists()


def test_the_demo_shop_is_not_made_among_other_files(rackful: Rackful, folder: Path) -> None:
    folder.mkdir()
    (folder / "letter.txt").write_text("Dear Ada")
    done = rackful("demo", "--port", "0")
    assert (done.code, done.err) == (
        2,
        f'"{folder}" is not empty. Name an empty folder for the demo, or open what is in it with rackful serve.\n',
    )
    assert [each.name for each in folder.iterdir()] == ["letter.txt"]
