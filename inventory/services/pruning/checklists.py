"""Prune checklists: each piece is found at the rack, then removed or kept; each step can be undone."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace

from sqlalchemy import Connection

from inventory.core.codes import format_code, read_code
from inventory.core.errors import UserError
from inventory.core.offcuts import MAX_BUNDLE_COUNT, State
from inventory.pruning.disposal import Disposal, disposals_for
from inventory.services.rack.queries import NoSuchPiece, get_piece, get_pieces
from inventory.shop import Shop
from inventory.storage.records import Decision, EventKind, OffcutRecord
from inventory.storage.repositories import prune_checklists, usual_boards
from inventory.storage.repositories.offcuts import add_event, history_of, update_offcut
from inventory.storage.repositories.prune_checklists import ChecklistEntry, PruneChecklist


class NoSuchChecklist(UserError):
    """No checklist has this number."""


class NotOnChecklist(UserError):
    """A piece that is not on the checklist."""


class DecisionNotAllowed(UserError):
    """A decision that the state of the piece does not allow."""


@dataclass(frozen=True)
class ChecklistItem:
    """An entry of a checklist with the piece as it is now, and the disposals to propose for it."""

    entry: ChecklistEntry
    record: OffcutRecord
    ways: tuple[Disposal, ...]

    @property
    def location(self) -> str:
        return self.record.offcut.location


@dataclass(frozen=True)
class ChecklistView:
    """A checklist with all its entries, in the order of the locations."""

    checklist: PruneChecklist
    items: tuple[ChecklistItem, ...]

    @property
    def gone(self) -> int:
        """Pieces that were removed."""
        return sum(stop.entry.pieces for stop in self.items if stop.entry.decision is Decision.GONE)


def under_way(shop: Shop) -> int | None:
    """The number of the open checklist, None where none is."""
    with shop.reading() as connection:
        found = prune_checklists.open_checklist(connection)
        return None if found is None else found.id


def view(shop: Shop, number: int) -> ChecklistView:
    """A checklist by its number. Raises NoSuchChecklist."""
    with shop.reading() as connection:
        checklist = _get_checklist(connection, number)
        records = get_pieces(connection, [entry.code for entry in checklist.entries])
    pairs = zip(checklist.entries, records, strict=True)
    return ChecklistView(
        checklist, tuple(ChecklistItem(entry, record, disposals_for(record.offcut)) for entry, record in pairs)
    )


def _get_checklist(connection: Connection, number: int) -> PruneChecklist:
    found = prune_checklists.checklist_by_id(connection, number) if 0 < number < 2**63 else None
    if found is None:
        raise NoSuchChecklist(f"There is no list {number}. Ask anew what to let go.")
    return found


def entry_for(shop: Shop, number: int, text: str) -> ChecklistEntry:
    """The entry of a piece whose code was typed or scanned. Raises NoSuchChecklist, InvalidCode, NotOnChecklist."""
    with shop.reading() as connection:
        return _entry(connection, _get_checklist(connection, number), text)


def _entry(connection: Connection, checklist: PruneChecklist, text: str) -> ChecklistEntry:
    code = read_code(text.rpartition("/")[2])
    with suppress(NoSuchPiece):
        # A tag that was replaced still finds its piece.
        code = get_piece(connection, code).code
    for entry in checklist.entries:
        if entry.code == code:
            return entry
    raise NotOnChecklist(f"{format_code(code)} is not on this list. Leave it where it is.")


def send(shop: Shop, number: int, code: str, way: Disposal) -> OffcutRecord:
    """Removes the pieces of an entry in this way. Raises NoSuchChecklist, NotOnChecklist, DecisionNotAllowed."""
    with shop.writing() as connection:
        entry, record = _open_entry(connection, _get_checklist(connection, number), code)
        if way not in disposals_for(record.offcut):
            raise DecisionNotAllowed(
                f"{format_code(entry.code)} has an old finish, or nobody knows how it was treated: "
                "it is not for the stove. Give it away, or dispose of it as your local rules say."
            )
        if record.free < entry.pieces:
            raise DecisionNotAllowed(
                f"{format_code(entry.code)} is no longer free in that number. Look at it as it is now."
            )
        _remove(connection, record, entry.pieces)
        bundle = record.offcut.count
        add_event(
            connection,
            record.id,
            shop.now(),
            EventKind.REMOVED,
            pieces=entry.pieces,
            bundle=bundle if bundle > entry.pieces else None,
            checklist=number,
            action=way.value,
            note=entry.reason,
        )
        prune_checklists.decide(connection, number, record.id, Decision.GONE, way.value, shop.now())
        return get_piece(connection, entry.code)


def _open_entry(connection: Connection, checklist: PruneChecklist, code: str) -> tuple[ChecklistEntry, OffcutRecord]:
    """An undecided entry and its piece. Raises DecisionNotAllowed where either has changed since the page was shown."""
    entry = _entry(connection, checklist, code)
    shown = format_code(entry.code)
    if checklist.ended_at is not None:
        raise DecisionNotAllowed(
            f"This list was put away meanwhile, so nothing was decided on {shown}. Go on with the list under way, or "
            "ask anew what to let go."
        )
    if entry.decision is not Decision.WAITING:
        raise DecisionNotAllowed(f"{shown} is decided already. Undo that first.")
    record = get_piece(connection, entry.code)
    if not record.here:
        raise DecisionNotAllowed(
            f"{shown} is {record.state.value} already, so nothing was decided on it. See its own page."
        )
    return entry, record


def _remove(connection: Connection, record: OffcutRecord, pieces: int) -> None:
    left = record.offcut.count - pieces
    if left == 0:
        update_offcut(connection, record, state=State.GONE)
        return
    state = State.ON_HOLD if left == record.set_aside else State.ON_RACK
    update_offcut(connection, record, offcut=replace(record.offcut, count=left), state=state)


def keep_piece(shop: Shop, number: int, code: str) -> str:
    """Keeps the pieces of an entry: they are not proposed again for a year.

    Raises NoSuchChecklist, NotOnChecklist, DecisionNotAllowed.
    """
    with shop.writing() as connection:
        entry, record = _open_entry(connection, _get_checklist(connection, number), code)
        usual_boards.pin(connection, [record.id], shop.now())
        prune_checklists.decide(connection, number, record.id, Decision.KEPT, None, shop.now())
        return entry.code


def undo(shop: Shop, number: int, code: str, seen: str) -> str:
    """Undoes a decision: the pieces are on the rack again, a pin is removed. Raises as `send`.

    `seen` is the decision's `mark` that the page showed; a later decision is not undone.
    """
    with shop.writing() as connection:
        entry = _entry(connection, _get_checklist(connection, number), code)
        if entry.mark not in ("", seen):
            raise DecisionNotAllowed(
                f"{format_code(entry.code)} was decided anew since this page was shown. Look at it as it is now."
            )
        record = get_piece(connection, entry.code)
        match entry.decision:
            case Decision.GONE:
                if _back(connection, number, record, entry):
                    add_event(connection, record.id, shop.now(), EventKind.REMOVAL_UNDONE, action=entry.disposal)
            case Decision.KEPT:
                usual_boards.unpin(connection, record.id)
            case Decision.WAITING:
                raise DecisionNotAllowed(
                    f"Nothing was decided on {format_code(entry.code)} yet. Look at it as it is now."
                )
        prune_checklists.decide(connection, number, record.id, Decision.WAITING, None, shop.now())
        return entry.code


def _back(connection: Connection, number: int, record: OffcutRecord, entry: ChecklistEntry) -> bool:
    """Returns the removed pieces to the rack; False where somebody did so already."""
    moved = (EventKind.REMOVED, EventKind.REMOVAL_UNDONE)
    # The latest is first: what was done since this decision comes before it.
    events = [event for event in history_of(connection, record.id) if event.kind in moved]
    own = next((event for event in events if event.checklist == number), None)
    if own is not None and own.bundle in (None, own.pieces):
        if record.here:
            return False
        if record.state is State.GONE and own is events[0]:
            update_offcut(connection, record, state=State.ON_RACK)
            return True
    count = record.offcut.count + entry.pieces
    if not record.here or count > MAX_BUNDLE_COUNT:
        raise DecisionNotAllowed(f"{format_code(entry.code)} has changed since. Correct it on its own page.")
    update_offcut(connection, record, offcut=replace(record.offcut, count=count), state=State.ON_RACK)
    return True


def end(shop: Shop, number: int) -> None:
    """Closes a checklist; undecided pieces stay on the rack. Raises NoSuchChecklist."""
    with shop.writing() as connection:
        _get_checklist(connection, number)
        prune_checklists.close_checklist(connection, number, shop.now())
