"""A program that forks taggers; each tags pieces until it is killed, and prints every code that was confirmed.

Started by `test_kills.py`. For each line on standard input it forks one child and prints its process id, then `+CODE`
for every tagged piece, `-CODE` for every pruned one, and `dead` once the child has ended. Forking saves the imports.
"""

import os
import sys
from io import BytesIO
from pathlib import Path

from PIL import Image

from inventory.core.lengths import inches
from inventory.core.offcuts import Face, Offcut
from inventory.services.rack import editing, tagging
from inventory.services.rack.editing import RemovalReason
from inventory.shop import Shop
from inventory.storage.photos import IncomingPhoto, read_photo
from inventory.storage.records import StoredPhoto

WOOD = Offcut(inches("23 1/2"), inches("3 1/4"), inches("13/16"), "ash", Face.ROUGH, Face.PLANED, location="wall 1")


def say(text: str) -> None:
    """Writes at once, without a buffer, so that no confirmed line is lost when the process is killed."""
    os.write(sys.stdout.fileno(), f"{text}\n".encode())


def drawn(number: int) -> IncomingPhoto:
    out = BytesIO()
    Image.new("RGB", (40, 30), (number % 256, number // 256 % 256, 90)).save(out, "PNG")
    return read_photo(out.getvalue())


def tag_for_ever(folder: Path, start: int) -> None:
    """Tags pieces, every second one with a photo, and prunes every third."""
    with Shop.open(folder) as shop:
        number = start
        while True:
            photos: tuple[StoredPhoto, ...] = (shop.photos.keep(drawn(number)),) if number % 2 else ()
            record = tagging.tag(shop, WOOD, photos=photos)
            say(f"+{record.code}")
            if number % 3 == 0:
                gone = editing.remove(shop, record.code, record.version, RemovalReason.BURNT)
                say(f"-{gone.code}")
            number += 1


def main() -> None:
    folder = Path(sys.argv[1])
    drawn(0)
    Shop.open(folder).close()
    say("ready")
    for number, _ in enumerate(sys.stdin):
        child = os.fork()
        if child == 0:
            # Printed by the child: the parent might print it only after the first piece.
            say(f"child {os.getpid()}")
            tag_for_ever(folder, number * 1000)
        os.waitpid(child, 0)
        say("dead")


main()
