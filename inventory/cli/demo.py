"""`rackful demo`: the web app on a copy of the demo shop."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import click

from inventory.cli.program import CommandContext, rackful_command
from inventory.cli.serve import HOST, PORT, serve_shop, until_stopped
from inventory.core.errors import UserError
from inventory.demo.shop import make_demo


class FolderNotEmpty(UserError):
    """A folder that has other files in it, where the demo shop cannot be made."""


@rackful_command("demo")
@click.option(
    "--port", metavar="N", type=click.IntRange(0, 65535), default=PORT, show_default=True, help="0 takes any free one."
)
def command(run: CommandContext, port: int) -> None:
    """Runs the web app on a throw-away copy of a made-up shop, until Ctrl-C.

    With --data the copy is made in that folder, which must be empty, and stays there.

    \b
    Example:
      rackful demo
    """
    with until_stopped(), _folder(run) as folder:
        stays = "" if run.data_given else " What you do in it is thrown away when you stop it."
        click.echo(f"Making the demo shop; this takes a few seconds.{stays}", err=True)
        with make_demo(folder, today=date.today()) as shop:
            serve_shop(run, shop, HOST, port)


@contextmanager
def _folder(run: CommandContext) -> Iterator[Path]:
    if not run.data_given:
        with tempfile.TemporaryDirectory(prefix="rackful-demo-") as throw_away:
            yield Path(throw_away) / "shop"
    elif run.folder.is_dir() and any(run.folder.iterdir()):
        raise FolderNotEmpty(
            f'"{run.folder}" is not empty. Name an empty folder for the demo, or open what is in it with rackful serve.'
        )
    else:
        yield run.folder
