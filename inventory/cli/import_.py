"""`rackful import`: offcuts from a CSV file onto the rack, or usual boards onto their list."""

from __future__ import annotations

from typing import BinaryIO

import click

from inventory.cli.plurals import counted
from inventory.cli.program import CommandContext, rackful_command
from inventory.services.boards import usual_board_list as usual_boards
from inventory.services.rack import csv_transfer


@rackful_command("import")
@click.argument("file", type=click.File("rb"))
@click.option("--usual", is_flag=True, help="FILE is a list of usual boards, as rackful export --usual writes it.")
def command(run: CommandContext, file: BinaryIO, usual: bool) -> None:
    """Tags every row of the CSV in FILE, or none; - reads standard input.

    The first line names the columns: tag,species,length,width,thickness,face_a,face_b,count,location,
    tagged_on,notes, and if you like marks (separated by ;), moisture (percent), moisture_on and batch. Only the
    three sizes are required; a bare number is in the shop's unit. Where a row is not
    right, every fault is listed with its line, and nothing is stored.

    \b
    Example:
      rackful import rack.csv
    """
    with run.shop_or_new() as shop:
        if usual:
            boards = [each.board.name for each in usual_boards.import_file(shop, file.read())]
            run.answer({"usual_boards": boards}, f"{counted(len(boards), 'usual board')} came onto the list.")
            return
        done = csv_transfer.import_file(shop, file)
    for warning in done.warnings:
        run.warn(warning)
    run.answer(
        {"tags": [record.code for record in done.records], "warnings": list(done.warnings)},
        f"{counted(len(done.records), 'tag')} came onto the rack. rackful labels prints what wants a label.",
    )
