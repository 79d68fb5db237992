"""`rackful backup`: the whole shop into one archive."""

from __future__ import annotations

from pathlib import Path

import click

from inventory.cli.plurals import counted
from inventory.cli.program import CommandContext, NegativeResult, rackful_command
from inventory.services import backups


@rackful_command("backup")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
def command(run: CommandContext, file: Path) -> None:
    """Writes everything, photos included, into the archive FILE, also while the shop is being served.

    The archive is read back before it takes its name. It holds the shop's secrets: keep it where others can't
    read it.

    \b
    Example:
      rackful backup shop-2030-01-31.zip
    """
    with run.shop() as shop:
        done = backups.backup(shop, file)
    run.answer(
        {"file": str(file), "bytes": done.size, "photos": done.photos, "photos_missing": list(done.photos_missing)},
        f'The shop with {counted(done.photos, "photo")} is in "{file}", read back and sound.',
    )
    if done.photos_missing:
        raise NegativeResult(
            f"{counted(len(done.photos_missing), 'photo')} could not be backed up, because the files are gone or "
            f"damaged: {', '.join(digest[:12] for digest in done.photos_missing)}. Take these anew."
        )
