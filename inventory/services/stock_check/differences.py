"""The differences that a stock check found, resolved together."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from inventory.core.codes import format_code
from inventory.core.errors import UserError
from inventory.core.offcuts import State
from inventory.services.rack.editing import RemovalReason
from inventory.services.rack.scanning import ReadTag
from inventory.storage.records import EventKind, OffcutRecord
from inventory.storage.repositories.offcuts import add_event, mark_checked, update_offcut
from inventory.storage.repositories.stock_checks import StockCheck

_PARTS = ("aside", "moved", "left", "back", "gone", "not_found", "missed", "counted", "untagged")
CANCELED_OUTCOME: dict[str, Any] = {"put_away": True, "right": 0, **{part: [] for part in _PARTS}}
"""The outcome of a stock check that was canceled."""


class InvalidCount(UserError):
    """A number of pieces that a bundle can't have."""


@dataclass(frozen=True)
class FoundPiece:
    """A piece whose tag was seen. `pieces` are those that were counted, None where nobody counted."""

    record: OffcutRecord
    pieces: int | None


@dataclass(frozen=True)
class StockCheckView:
    """The tags seen, compared with those that should be there.

    `right` are where they should be, `misplaced` belong elsewhere, `gone` were used or removed and are there all the
    same; `untagged` are tags without a piece. Of those not seen, `on_hold` may be at the bench, and `missing` are not
    found.
    """

    stock_check: StockCheck
    right: tuple[FoundPiece, ...]
    misplaced: tuple[FoundPiece, ...]
    gone: tuple[FoundPiece, ...]
    untagged: tuple[ReadTag, ...]
    missing: tuple[OffcutRecord, ...]
    on_hold: tuple[OffcutRecord, ...]

    @property
    def found(self) -> tuple[FoundPiece, ...]:
        """All pieces that were seen."""
        return (*self.right, *self.misplaced, *self.gone)

    @property
    def expected(self) -> int:
        """How many tags should be there."""
        return len(self.right) + len(self.missing) + len(self.on_hold)


@dataclass(frozen=True)
class Reconciliation:
    """What to do about the differences, by code.

    A missing piece is removed where `not_found` names it, else still looked for; a misplaced one belongs here from now
    on unless `left` names it; a gone one is on the rack again where `back` names it.
    """

    not_found: Collection[str] = ()
    left: Collection[str] = ()
    back: Collection[str] = ()


def differences_from(reconciliation: Reconciliation, outcome: dict[str, Any]) -> list[str]:
    """In sentences, what of a reconciliation was not done, and what another one did that this did not ask for."""
    details = []
    for words, ticked, done in (
        ("let go as not found", reconciliation.not_found, outcome["not_found"]),
        ("carried back", reconciliation.left, outcome["left"]),
        ("put on the rack again", reconciliation.back, outcome["back"]),
    ):
        for whether, codes in (("Not", set(ticked) - set(done)), ("Though not ticked here,", set(done) - set(ticked))):
            if codes:
                details.append(f"{whether} {words}: {', '.join(format_code(code[:7]) for code in sorted(codes))}.")
    return details


@dataclass(frozen=True)
class Reconciler:
    """Applies a reconciliation, piece by piece."""

    connection: Connection
    stock_check: StockCheck
    now: datetime

    def reconcile(self, found: StockCheckView, reconciliation: Reconciliation) -> dict[str, Any]:
        """Applies everything; returns the outcome, for `StockCheck.outcome`."""
        moved = [each for each in found.misplaced if each.record.code not in reconciliation.left]
        left = [each for each in found.misplaced if each.record.code in reconciliation.left]
        back = [each for each in found.gone if each.record.code in reconciliation.back]
        gone = [each for each in found.missing if each.code in reconciliation.not_found]
        missed = [each for each in found.missing if each.code not in reconciliation.not_found]
        counted = [*self._seen(found.right), *self._seen(left, "left in its location"), *self._seen(moved, move=True)]
        for each in back:
            self._back(each.record)
        for record in gone:
            update_offcut(self.connection, record, state=State.GONE)
            self._add_event(record, EventKind.REMOVED, action=RemovalReason.NOT_FOUND.value, pieces=record.offcut.count)
        for record in missed:
            self._add_event(record, EventKind.MISSED)
        return {
            "right": len(found.right),
            "aside": [each.code for each in found.on_hold],
            "moved": [[each.record.code, each.record.offcut.location] for each in moved],
            "left": [each.record.code for each in left],
            "back": [each.record.code for each in back],
            "gone": [each.record.code for each in found.gone if each not in back],
            "not_found": [each.code for each in gone],
            "missed": [each.code for each in missed],
            "counted": counted,
            "untagged": [each.code for each in found.untagged],
        }

    def _add_event(self, record: OffcutRecord, kind: EventKind, **values: Any) -> None:
        add_event(self.connection, record.id, self.now, kind, stock_check=self.stock_check.id, **values)

    def _seen(self, pieces: Iterable[FoundPiece], action: str | None = None, *, move: bool = False) -> list[list[Any]]:
        """Records pieces as checked, with count and location where those change; returns the new counts."""
        counted = []
        for each in pieces:
            before = each.record.offcut
            after = replace(
                before,
                count=each.pieces or before.count,
                location=self.stock_check.location if move else before.location,
            )
            if after.count < each.record.set_aside:
                raise InvalidCount(
                    f"{each.record.set_aside} of {format_code(each.record.code)} were set aside for a board meanwhile, "
                    f"more than the {after.count} that were counted. Count them once more."
                )
            changed = [name for name in ("location", "count") if getattr(before, name) != getattr(after, name)]
            if "count" in changed:
                counted.append([each.record.code, before.count, after.count])
            if after != before:
                state = State.ON_HOLD if after.count == each.record.set_aside else State.ON_RACK
                update_offcut(self.connection, each.record, offcut=after, state=state)
            mark_checked(self.connection, [each.record.id], self.now)
            old, new = ({name: getattr(offcut, name) for name in changed} for offcut in (before, after))
            self._add_event(each.record, EventKind.SEEN, action=action, before=old, after=new)
        return counted

    def _back(self, record: OffcutRecord) -> None:
        offcut = replace(record.offcut, location=self.stock_check.location)
        update_offcut(self.connection, record, offcut=offcut, state=State.ON_RACK)
        mark_checked(self.connection, [record.id], self.now)
        self._add_event(record, EventKind.REMOVAL_UNDONE, action=record.state.value)
