"""Fills put together by hand from what the cutting model gives, without any search."""

from collections.abc import Sequence
from datetime import date

from inventory.core.lengths import inches, volume_mm3
from inventory.cutting import edge_grain
from inventory.cutting.costs import Preference
from inventory.fill.plan import Fill, PlannedGlueUp
from inventory.fill.request import BoardRequest
from inventory.services.boards import making
from inventory.services.rack import queries, tagging
from inventory.shop import Shop
from inventory.storage.records import BoardRecord, EventKind, OffcutRecord

BOARD = BoardRequest(inches("18"), inches("6"), inches("1 1/2"), prefer=(Preference.LEAST_WASTE,), on=date(2030, 1, 31))


def make_fill(request: BoardRequest, takes: Sequence[tuple[OffcutRecord, int]]) -> Fill:
    """An edge-grain fill that takes so many strips of each record; a record named again gives its next piece."""
    seen: dict[str, int] = {}
    cuts = []
    for record, strips in takes:
        seen[record.code] = seen.get(record.code, 0) + 1
        cuts += edge_grain.cuts(record.offcut, seen[record.code], strips, None, request.glue_up)
    return Fill(
        prefer=request.prefer[0],
        proven=True,
        bound=7,
        cuts=tuple(cuts),
        board_volume=volume_mm3(request.length, request.width, request.thickness),
        glue_ups=(PlannedGlueUp(0, 0, 0, request),),
        cautions=("Ripped with a push stick.",),
    )


def tagged(shop: Shop, line: str) -> OffcutRecord:
    """A piece tagged from a typed line."""
    return tagging.tag(shop, tagging.read_line(line, shop.settings()))


def now(shop: Shop, record: OffcutRecord) -> OffcutRecord:
    """The piece as it is now."""
    return queries.record(shop, record.code)


def confirm_all(shop: Shop, board: BoardRecord) -> list[making.ConfirmedLeftover]:
    """Every leftover as the plan proposes it."""
    return [
        making.ConfirmedLeftover(
            each.cut, each.remainder, each.length, each.width, each.thickness, each.keep, each.location
        )
        for each in making.proposed_leftovers(shop, board.id)
    ]


def cut(shop: Shop, board: BoardRecord) -> BoardRecord:
    """The board, cut as planned."""
    return making.cut(shop, board.id, board.version, confirm_all(shop, board))


def latest(shop: Shop, code: str) -> tuple[EventKind, str]:
    """The last line of a piece's history."""
    event = queries.piece(shop, code).history[0]
    return event.kind, event.detail


def dashed(code: str) -> str:
    """The code as sentences show it."""
    return f"{code[:3]}-{code[3:]}"
