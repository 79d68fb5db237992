"""The program `rackful`: its commands, each loaded when called, and the options that all of them take."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from typing import Any

import click
import platformdirs

from inventory import __version__
from inventory.core.errors import UserError
from inventory.shop import DATABASE_NAME, Shop

COMMANDS = {
    "serve": "Run the web app.",
    "demo": "Run the web app on a made-up shop.",
    "add": "Tag one offcut from a typed line.",
    "import": "Bring offcuts in from a CSV file.",
    "export": "Write the rack to a CSV file.",
    "labels": "Write labels to a PDF.",
    "fill": "Search the rack for sets of strips that fill a board.",
    "prune": "Say what to keep and what to let go.",
    "backup": "Write everything into one archive.",
    "restore": "Bring a shop back from its archive.",
    "passphrase": "Set the pass phrase that the network is asked for.",
}
"""What each command does, as `rackful --help` lists it without loading any of them."""
_MODULES = {"import": "import_"}
"""`import` is a keyword, which a module cannot be named."""


class NegativeResult(Exception):
    """The command worked and the answer is no: exit code 1, with this line on standard error."""


class NoShop(UserError):
    """A folder without a shop."""


def default_folder() -> Path:
    """The shop's folder without --data."""
    return platformdirs.user_data_path("rackful", appauthor=False)


@dataclass
class CommandContext:
    """The options that every command takes: the shop's folder and the form of the answer."""

    folder: Path = field(default_factory=default_folder)
    as_json: bool = False
    data_given: bool = False

    @property
    def has_shop(self) -> bool:
        """Whether there is a shop in the folder."""
        return (self.folder / DATABASE_NAME).is_file()

    def shop(self) -> Shop:
        """Opens an existing shop. Raises NoShop."""
        if not self.has_shop:
            raise NoShop(
                f'There is no shop in "{self.folder}". Name its folder with --data, or begin one with rackful add, '
                "import or serve."
            )
        return Shop.open(self.folder)

    def shop_or_new(self) -> Shop:
        """Opens the shop, or makes a new one."""
        return Shop.open(self.folder)

    def answer(self, document: dict[str, Any], text: str) -> None:
        """Prints the document with --json, else the text."""
        click.echo(json.dumps(document, indent=2, ensure_ascii=False) if self.as_json else text)

    def warn(self, text: str) -> None:
        """Prints a note on standard error."""
        click.echo(f"Note: {text}", err=True)


def _set_folder(context: click.Context, _option: click.Parameter, folder: Path | None) -> None:
    if folder is not None:
        run = context.ensure_object(CommandContext)
        run.folder, run.data_given = folder, True


def _set_json(context: click.Context, _option: click.Parameter, wanted: bool) -> None:
    context.ensure_object(CommandContext).as_json = wanted


_DATA = click.Option(
    ["--data"],
    type=click.Path(file_okay=False, path_type=Path),
    metavar="DIR",
    expose_value=False,
    callback=_set_folder,
    help="The folder of the shop: database, photos, settings. Default: the user's own data folder.",
)
_JSON = click.Option(
    ["--json"],
    is_flag=True,
    expose_value=False,
    callback=_set_json,
    help="Print one JSON document, and nothing else, to standard output.",
)


def rackful_command(name: str) -> Callable[[Callable[..., None]], click.Command]:
    """Makes a command of a function that takes a CommandContext, and adds the options of every command."""

    def decorate(function: Callable[..., None]) -> click.Command:
        finished = click.command(name)(click.pass_obj(function))
        finished.params += [_DATA, _JSON]
        return finished

    return decorate


class _Program(click.Group):
    """The commands; each module is loaded when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = import_module(f"inventory.cli.{_MODULES.get(cmd_name, cmd_name)}")
        found: click.Command = module.command
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=_Program, context_settings={"max_content_width": 100})
@click.version_option(__version__, prog_name="rackful", message="%(prog)s %(version)s")
def PROGRAM() -> None:
    """Knows the offcuts on your rack and which boards are in them.

    \b
    Begin with:
      rackful demo                                  a made-up shop to click through
      rackful serve                                 your own shop, in the browser
      rackful add ash 23 1/2 x 3 1/4 x 13/16 rough  one offcut, from a typed line

    rackful COMMAND --help shows an example of each.
    """
