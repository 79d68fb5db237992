"""`rackful restore`: a shop out of its archive."""

from __future__ import annotations

from pathlib import Path

import click

from inventory.cli.plurals import counted
from inventory.cli.program import CommandContext, rackful_command
from inventory.services import backups
from inventory.services.backups import RestoreResult


@rackful_command("restore")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--replace", is_flag=True, help="Put the folder that is there aside, under another name.")
def command(run: CommandContext, file: Path, replace: bool) -> None:
    """Brings a shop back from the archive FILE, wholly or not at all.

    A folder that holds a shop is never written over: with --replace it is put aside beside the new one. Tags that
    were given there since the backup are never given again.

    \b
    Example:
      rackful restore shop-2030-01-31.zip --replace
    """
    done = backups.restore(file, run.folder, replace=replace)
    run.answer(
        {
            "folder": str(done.folder),
            "made_at": done.made_at.isoformat(),
            "photos": done.photos,
            "photos_missing": list(done.photos_missing),
            "put_aside": None if done.moved_to is None else str(done.moved_to),
            "codes_held": done.codes_reserved,
        },
        "\n".join(_result_lines(done)),
    )
    if done.codes_reserved is None:
        run.warn("the shop that was put aside can't be read, so codes that it gave since the backup may come again.")


def _result_lines(done: RestoreResult) -> list[str]:
    lines = [f'The shop of {done.made_at:%Y-%m-%d %H:%M} with {counted(done.photos, "photo")} is in "{done.folder}".']
    if done.photos_missing:
        lines.append(f"{counted(len(done.photos_missing), 'photo')} were missing already when it was backed up.")
    if done.moved_to is not None:
        lines.append(f'What was there before is in "{done.moved_to}".')
    if done.codes_reserved:
        lines.append(f"{counted(done.codes_reserved, 'code')} given since the backup will not be given again.")
    return lines
