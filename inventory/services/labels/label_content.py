"""Which pieces need a label, what their labels say, and codes for blank tags."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from inventory.core.codes import format_code
from inventory.core.errors import UserError
from inventory.core.lengths import Display, format_length, inches
from inventory.core.offcuts import Offcut, marks_text
from inventory.services.rack.queries import get_pieces
from inventory.settings import Settings
from inventory.shop import Shop
from inventory.storage.records import EventKind, OffcutRecord
from inventory.storage.repositories.codes import issue_code
from inventory.storage.repositories.offcuts import (
    RECORD_COLUMNS,
    add_event,
    label_queued,
    next_label_place,
    records_of,
    set_label_place,
)
from inventory.storage.repositories.print_jobs import offcuts_at_printer
from inventory.storage.tables import OFFCUTS

MAX_BLANKS = 1000


class InvalidBlankCount(UserError):
    """A number of blank tags out of range."""


class NoLabelNeeded(UserError):
    """A label was requested for a piece that is gone."""


@dataclass(frozen=True)
class LabelContent:
    """What a label says. `qr` is the text of the code, `photo` the digest of the main photo.

    `condition` has the faces, then marks and batch: the line that a small label cuts first.
    """

    code: str
    code_text: str
    qr: str
    species: str = ""
    sizes: str = ""
    condition: str = ""
    location: str = ""
    photo: str | None = None


def queue(shop: Shop) -> tuple[OffcutRecord, ...]:
    """The pieces in the print queue, in its order.

    Those whose label is in a print job under way are left out.
    """
    wanted = RECORD_COLUMNS.where(label_queued(), OFFCUTS.c.id.not_in(offcuts_at_printer()))
    waiting = wanted.order_by(OFFCUTS.c.label_place, OFFCUTS.c.id)
    with shop.reading() as connection:
        return records_of(connection, connection.execute(waiting))


def mark_printed(shop: Shop, codes: Sequence[str]) -> int:
    """Removes pieces from the print queue as printed; returns how many were in it. Raises NoSuchPiece."""
    with shop.writing() as connection:
        waiting = [record for record in _once(get_pieces(connection, codes)) if record.label_wanted]
        for record in waiting:
            set_label_place(connection, record, None)
            add_event(connection, record.id, shop.now(), EventKind.LABEL_PRINTED)
        return len(waiting)


def put_back(shop: Shop, codes: Sequence[str]) -> int:
    """Adds pieces to the print queue; returns how many were not in it. Raises NoSuchPiece, NoLabelNeeded."""
    with shop.writing() as connection:
        others = [record for record in _once(get_pieces(connection, codes)) if not record.label_wanted]
        place = next_label_place(connection)
        for record in others:
            if not record.here:
                raise NoLabelNeeded(
                    f"{format_code(record.code)} is {record.state.value} and needs no label. Take the piece back first."
                )
            set_label_place(connection, record, place)
            place += 1
        return len(others)


def _once(records: Sequence[OffcutRecord]) -> tuple[OffcutRecord, ...]:
    return tuple({record.id: record for record in records}.values())


def pieces(shop: Shop, codes: Sequence[str]) -> tuple[OffcutRecord, ...]:
    """The pieces with these codes, in this order, for a selection. Raises InvalidCode, NoSuchPiece."""
    with shop.reading() as connection:
        return get_pieces(connection, codes)


def label_content(record: OffcutRecord, settings: Settings) -> LabelContent:
    """What the label of this piece says: species and count, sizes as the shop shows them, what it carries, location."""
    offcut = record.offcut
    return LabelContent(
        code=record.code,
        code_text=format_code(record.code),
        qr=qr_text(record.code, settings),
        species=_species(offcut),
        sizes=_sizes(offcut, settings.display),
        condition=" · ".join(filter(None, (_faces(offcut), marks_text(offcut.marks), offcut.batch))),
        location=offcut.location,
        photo=None if record.main_photo is None else record.main_photo.digest,
    )


def _species(offcut: Offcut) -> str:
    if offcut.count == 1:
        return offcut.species
    return f"{offcut.count} of {offcut.species}" if offcut.species else f"{offcut.count} pieces"


def _sizes(offcut: Offcut, display: Display) -> str:
    shown = (format_length(size, display, with_unit=False) for size in (offcut.length, offcut.width, offcut.thickness))
    return f"{' × '.join(shown)} {display.unit.value}"


def _faces(offcut: Offcut) -> str:
    if offcut.face_a is offcut.face_b:
        return offcut.face_a.value
    return f"{offcut.face_a.value} / {offcut.face_b.value}"


def sample_content(code: str, settings: Settings) -> LabelContent:
    """The label of an invented piece, for previews."""
    return replace(
        blank_content(code, settings),
        species="white oak",
        sizes=_sizes(Offcut(inches("23 1/2"), inches("3 1/2"), inches("13/16")), settings.display),
        condition="rough / planed",
        location="wall 2",
    )


def blank_content(code: str, settings: Settings) -> LabelContent:
    """The label of a blank tag: the code alone."""
    return LabelContent(code=code, code_text=format_code(code), qr=qr_text(code, settings))


def blank_codes(shop: Shop, how_many: int) -> tuple[str, ...]:
    """New codes for blank tags, recorded as given; `tagging.tag(code=…)` uses one later. Raises InvalidBlankCount."""
    if not 1 <= how_many <= MAX_BLANKS:
        raise InvalidBlankCount(f"{how_many} blank tags can't be made at once. Type a number from 1 to {MAX_BLANKS}.")
    with shop.writing() as connection:
        return tuple(issue_code(connection, shop.randbelow, shop.now()) for _ in range(how_many))


def qr_text(code: str, settings: Settings) -> str:
    """What the QR holds: the address in upper case, or the code alone where no address is set (contract, "Tags").

    >>> qr_text("0000011", Settings(base_url="http://rack.example:8765"))
    'HTTP://RACK.EXAMPLE:8765/T/0000011'
    """
    return f"{settings.base_url}/t/{code}".upper() if settings.base_url else code
