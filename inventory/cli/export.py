"""`rackful export`: the rack into a CSV file, or the usual boards into a JSON file."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from inventory.cli.plurals import counted
from inventory.cli.program import CommandContext, rackful_command
from inventory.services.boards import usual_board_list as usual_boards
from inventory.services.rack import csv_transfer
from inventory.storage.atomic_write import atomic_write


@rackful_command("export")
@click.argument("file", type=click.Path(dir_okay=False, allow_dash=True, path_type=Path))
@click.option("--usual", is_flag=True, help="Write the list of usual boards instead, as JSON.")
def command(run: CommandContext, file: Path, usual: bool) -> None:
    """Writes the rack to FILE as CSV, what is set aside included; - writes it to standard output.

    What was used up or let go is not in it: rackful backup keeps everything.

    \b
    Examples:
      rackful export rack.csv
      rackful export --usual usual.json
    """
    to_screen = str(file) == "-"
    if to_screen and run.as_json:
        raise click.UsageError("--json and the file - would both write to standard output. Name a file.")
    with run.shop() as shop:
        content, many = usual_boards.export_file(shop) if usual else csv_transfer.export_file(shop)
    if to_screen:
        sys.stdout.buffer.write(content)
        return
    with atomic_write(file) as stream:
        stream.write(content)
    key, words = ("usual_boards", counted(many, "usual board")) if usual else ("tags", counted(many, "tag"))
    run.answer({"file": str(file), key: many}, f'{words} written to "{file}".')
