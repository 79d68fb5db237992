"""`rackful add`: one offcut from a typed line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import click

from inventory.cli.program import CommandContext, rackful_command
from inventory.core.codes import format_code
from inventory.core.offcuts import Mark, carried_texts, moisture_text, read_mark, read_moisture
from inventory.services.rack import tagging
from inventory.shop import Shop
from inventory.storage.photos import read_photo
from inventory.storage.records import StoredPhoto


@rackful_command("add")
@click.argument("line", nargs=-1, required=True)
@click.option(
    "--photo",
    "photos",
    multiple=True,
    metavar="FILE",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="A photo of the piece; can be given several times, the first is the main one.",
)
@click.option("--code", metavar="CODE", help="The code of a blank tag that is on the piece already.")
@click.option(
    "--mark",
    "marks",
    multiple=True,
    metavar="MARK",
    help=f"What the piece carries: {', '.join(mark.value for mark in Mark)}; can be given several times.",
)
@click.option("--moisture", metavar="PERCENT", help="The moisture content, as read today.")
@click.option("--batch", metavar="WORD", help='A short word for "same tree, same purchase".')
@click.option("--like-last", is_flag=True, help="Take what the line leaves out from the piece that was tagged last.")
def command(
    run: CommandContext,
    line: Sequence[str],
    photos: Sequence[Path],
    code: str | None,
    marks: Sequence[str],
    moisture: str | None,
    batch: str | None,
    like_last: bool,
) -> None:
    """Tags one offcut, or a bundle of like ones, from a typed LINE.

    \b
    The line:
      [N of] [species] LENGTH x WIDTH x THICKNESS [unit] [face [face]] [@ location] [# notes]

    Length runs along the grain. A face is rough, planed or finished; rough is taken where none is named. Quote
    the line where it holds a # or an inch mark, which the shell would else take for itself.

    \b
    Examples:
      rackful add ash 23 1/2 x 3 1/4 x 13/16 rough @ wall 2
      rackful add "4 of white oak 597 x 82 x 20 mm planed rough @ bin 7 # one knot" --photo oak.jpg
      rackful add elm 40 x 9 x 2 --mark "live edge" --mark damp --moisture 18.5 --batch "elm 2029"
    """
    with run.shop_or_new() as shop:
        last = tagging.last_tagged(shop) if like_last else None
        offcut = tagging.read_line(" ".join(line), shop.settings(), last=None if last is None else last.offcut)
        offcut = replace(
            offcut,
            marks=tuple(read_mark(word) for word in marks),
            moisture=None if moisture is None else read_moisture(moisture),
            batch=batch if batch is not None else last.offcut.batch if last else "",
        )
        record = tagging.tag(shop, offcut, photos=_stored_photos(shop, photos), code=code)
        line_text = tagging.describe_line(record.offcut, shop.settings().unit)
    run.answer(
        {
            "tag": record.code,
            "line": line_text,
            "photos": [photo.digest for photo in record.photos],
            "marks": [mark.value for mark in record.offcut.marks],
            "moisture": None if record.offcut.moisture is None else moisture_text(record.offcut.moisture),
            "moisture_on": None if record.offcut.moisture_on is None else record.offcut.moisture_on.isoformat(),
            "batch": record.offcut.batch,
        },
        f"{format_code(record.code)}  {'; '.join((line_text, *carried_texts(record.offcut)))}",
    )


def _stored_photos(shop: Shop, photos: Sequence[Path]) -> list[StoredPhoto]:
    """Stores the photos. All are read before the first is stored, so that a bad one leaves nothing behind."""
    incoming = []
    for path in photos:
        try:
            with path.open("rb") as file:
                incoming.append(read_photo(file, path.name))
        except OSError as error:
            raise click.FileError(str(path), error.strerror) from None
    return [shop.photos.keep(each) for each in incoming]
