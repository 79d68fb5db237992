"""The yield report: yield by board and by month, and where all wood ever tagged is now.

Yield is the volume of the finished board over the wood that it used: its offcuts less the leftovers returned to the
rack. The rest is kerf, trimming, planing and leftovers too small to keep. Volumes are whole mm³, by the sizes as
typed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from sqlalchemy import Connection, select

from inventory.core.lengths import volume_mm3
from inventory.services.rack.stock_levels import StockMovement, last_months, stock_movements
from inventory.shop import Shop
from inventory.storage.board_documents import read_requests_document
from inventory.storage.records import BoardState
from inventory.storage.tables import BOARDS


@dataclass(frozen=True)
class BoardYield:
    """A board that is cut, or boards made together; `finished` is None until it is finished."""

    number: int
    name: str
    boards: int
    cut: date
    finished: date | None
    volume: int
    took: int
    came_back: int

    @property
    def used(self) -> int:
        return self.took - self.came_back

    @property
    def share(self) -> Fraction | None:
        """Its yield; None where no wood was used, because sizes were edited since."""
        return Fraction(self.volume, self.used) if self.used > 0 else None


@dataclass(frozen=True)
class PeriodYield:
    """The boards finished in the month that begins on `first`: how many, their volume and the wood they used."""

    first: date | None
    boards: int
    volume: int
    used: int

    @property
    def share(self) -> Fraction | None:
        return Fraction(self.volume, self.used) if self.used > 0 else None


@dataclass(frozen=True)
class YieldReport:
    """Where the wood is: `boards` latest first, `months` from the earliest, `all` over every finished board.

    `tagged` is all wood ever tagged, without leftovers of cuts. It is the sum of
    `in_boards` (finished), `in_cut` (cut, not finished), `lost` in making both,
    `here` in the shop, and `gone` in other ways.
    """

    boards: tuple[BoardYield, ...]
    months: tuple[PeriodYield, ...]
    all: PeriodYield
    tagged: int
    in_boards: int
    in_cut: int
    lost: int
    here: int
    gone: int

    @property
    def share(self) -> Fraction | None:
        """The share of all wood tagged that is in finished boards."""
        return Fraction(self.in_boards, self.tagged) if self.tagged else None

    @property
    def spread(self) -> tuple[Fraction, Fraction] | None:
        """The lowest and the highest yield of a finished board; None for fewer than two."""
        shares = [each.share for each in self.boards if each.finished and each.share is not None]
        return (min(shares), max(shares)) if len(shares) > 1 else None


def yield_report(shop: Shop) -> YieldReport:
    """The yield report as of now."""
    with shop.reading() as connection:
        moved = tuple(stock_movements(connection))
        boards = _boards(connection, moved)
    finished = [each for each in boards if each.finished]
    came, gone = _sum(moved, "came"), _sum(moved, "other")
    used = _sum(moved, "cut") - _sum(moved, "back")
    in_boards = sum(each.volume for each in finished)
    in_cut = sum(each.volume for each in boards if not each.finished)
    return YieldReport(
        boards=boards,
        months=tuple(_yield_in(first, finished) for first in last_months(shop.today())),
        all=_yield(None, finished),
        tagged=came,
        in_boards=in_boards,
        in_cut=in_cut,
        lost=used - in_boards - in_cut,
        here=came - used - gone,
        gone=gone,
    )


def _boards(connection: Connection, moved: Sequence[StockMovement]) -> tuple[BoardYield, ...]:
    took: dict[int, int] = {}
    back: dict[int, int] = {}
    for each in moved:
        if each.board is not None:
            sums = took if each.what == "cut" else back
            sums[each.board] = sums.get(each.board, 0) + each.volume
    c = BOARDS.c
    columns = (c.id, c.name, c.request, c.cut_at, c.finished_at)
    made = c.state.in_((BoardState.CUT, BoardState.FINISHED))
    found = []
    for row in connection.execute(select(*columns).where(made)):
        requests = read_requests_document(row.request)
        cut = row.cut_at.date()
        found.append(
            BoardYield(
                number=row.id,
                name=row.name,
                boards=sum(each.count for each in requests),
                cut=cut,
                finished=row.finished_at.date() if row.finished_at else None,
                volume=sum(each.count * volume_mm3(each.length, each.width, each.thickness) for each in requests),
                took=took.get(row.id, 0),
                came_back=back.get(row.id, 0),
            )
        )
    return tuple(sorted(found, key=lambda each: (each.finished or each.cut, each.number), reverse=True))


def _sum(moved: Iterable[StockMovement], what: str) -> int:
    return sum(each.volume for each in moved if each.what == what)


def _yield_in(first: date, finished: Iterable[BoardYield]) -> PeriodYield:
    return _yield(first, [each for each in finished if each.finished and each.finished.replace(day=1) == first])


def _yield(first: date | None, boards: Sequence[BoardYield]) -> PeriodYield:
    return PeriodYield(
        first,
        sum(each.boards for each in boards),
        sum(each.volume for each in boards),
        sum(each.used for each in boards),
    )
