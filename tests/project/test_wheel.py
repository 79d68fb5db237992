"""The wheel is complete: built from the source archive and installed elsewhere, it serves pages and prints labels.

The new environment uses the libraries of the running one, so that nothing is downloaded; Rackful itself comes from
the wheel alone.
"""

import re
import subprocess
import sys
import sysconfig
import tarfile
import urllib.request
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
README_ONLY = "static/pictures/"


def run_command(*command: str | Path, at: Path) -> str:
    """Runs a command in a folder and returns its standard output."""
    ended = subprocess.run(
        list(map(str, command)),
        cwd=at,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
        env=plain_environment(),
    )
    assert ended.returncode == 0, ended.stderr
    return ended.stdout


def plain_environment() -> dict[str, str]:
    """Environment variables with which Python imports only from its own environment."""
    return {"PATH": "/usr/bin:/bin", "PYTHONSAFEPATH": "1", "PYTHONDONTWRITEBYTECODE": "1"}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("built")
    build = (sys.executable, "-m", "hatchling", "build", "-d", folder)
    run_command(*build, "-t", "sdist", at=ROOT)
    [archive] = folder.glob("*.tar.gz")
    with tarfile.open(archive) as opened:
        opened.extractall(folder, filter="data")
    run_command(*build, "-t", "wheel", at=folder / archive.name.removesuffix(".tar.gz"))
    [built] = folder.glob("*.whl")
    return built


@dataclass(frozen=True)
class Installed:
    """Rackful in a separate environment, away from its source."""

    programs: Path

    def rackful(self, *words: str, at: Path) -> str:
        return run_command(self.programs / "rackful", *words, at=at)


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Installed:
    environment = tmp_path_factory.mktemp("elsewhere") / "venv"
    run_command(sys.executable, "-m", "venv", "--without-pip", environment, at=environment.parent)
    python = environment / "bin" / "python"
    run_command(
        sys.executable, "-m", "pip", "--python", python, "install", "--quiet", "--disable-pip-version-check",
        "--no-index", "--no-deps", wheel,
        at=environment.parent,
    )  # fmt: skip
    paths = sysconfig.get_paths(vars={"base": str(environment), "platbase": str(environment)})
    # A folder in a .pth file adds its modules but not its own .pth files, such as that of an editable Rackful.
    (Path(paths["purelib"]) / "libraries.pth").write_text(f"{sysconfig.get_paths()['purelib']}\n")
    return Installed(environment / "bin")


def test_the_wheel_has_every_file_of_the_program_and_no_other(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        packed = {name for name in archive.namelist() if ".dist-info/" not in name}
    ours = {
        path.relative_to(ROOT).as_posix()
        for top in ("inventory", "labels", "templates", "static")
        for path in (ROOT / top).rglob("*")
        if path.is_file() and not {"__pycache__", ".mypy_cache", ".ruff_cache"} & set(path.parts)
    }
    wanted = {
        f"inventory/{name}" if name.startswith(("templates/", "static/")) else name
        for name in ours
        if not name.startswith(README_ONLY)
    }
    assert packed == wanted


def test_what_is_installed_is_the_wheel_and_not_the_source(installed: Installed, tmp_path: Path) -> None:
    script = "import inventory, labels; print(inventory.__file__); print(labels.__file__)"
    for path in run_command(installed.programs / "python", "-c", script, at=tmp_path).splitlines():
        assert Path(path).is_relative_to(installed.programs.parent)


@pytest.fixture(scope="module")
def served(installed: Installed, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the installed program, started in another folder."""
    folder = tmp_path_factory.mktemp("third")
    command = [str(installed.programs / "rackful"), "serve", "--port", "0", "--data", "shop"]
    with subprocess.Popen(
        command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=plain_environment()
    ) as program:
        assert program.stdout is not None
        try:
            line = program.stdout.readline()
            found = re.fullmatch(r"Rackful is open at (http://127\.0\.0\.1:\d+)/ \(Ctrl-C closes it\)\.\n", line)
            assert found, line + program.stdout.read()
            yield found[1]
        finally:
            program.terminate()


def opened(address: str) -> tuple[str, str]:
    """The content type of a page, and its text."""
    with urllib.request.urlopen(address, timeout=60) as answer:
        return answer.headers.get_content_type(), answer.read().decode("utf-8")


@pytest.mark.parametrize("page", ["/", "/saw", "/bench", "/rack", "/boards", "/labels", "/settings"])
def test_the_installed_program_shows_its_pages_with_their_styles_and_scripts(served: str, page: str) -> None:
    content_type, html = opened(served + page)
    assert content_type == "text/html"
    styles = re.findall(r'<link [^>]*rel="stylesheet"[^>]* href="([^"]+)"|<link [^>]*href="([^"]+\.css[^"]*)"', html)
    scripts = re.findall(r'<script [^>]*src="([^"]+)"', html)
    assert styles
    for address in ("".join(pair) for pair in styles):
        content_type, style = opened(served + address)
        assert content_type == "text/css"
        assert "{" in style
    for address in scripts:
        content_type, script = opened(served + address)
        assert content_type == "text/javascript"
        assert script


def test_the_installed_program_prints_labels_in_its_own_fonts(installed: Installed, tmp_path: Path) -> None:
    installed.rackful("add", "--data", "shop", "ash 23 1/2 x 3 1/4 x 13/16", at=tmp_path)
    installed.rackful("labels", "--data", "shop", "--out", "labels.pdf", at=tmp_path)
    assert b"DejaVuSansCondensed" in (tmp_path / "labels.pdf").read_bytes()
