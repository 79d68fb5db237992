"""Queries: the rack filtered, sorted, totaled and paged; one piece with its history."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Connection, Text, and_, func, or_, select, type_coerce

from inventory.core.codes import InvalidCode, format_code, read_code, read_scanned
from inventory.core.errors import UserError
from inventory.core.offcuts import Face, State, location_key, species_key
from inventory.services.rack.history import HistoryLine, history_line
from inventory.services.rack.rack_filter import (
    Condition,
    InvalidFilter,
    RackFilter,
    RackSort,
    RackView,
    StatusFilter,
    read_filter,
)
from inventory.shop import Shop
from inventory.storage.records import BoardState, BoardSummary, OffcutRecord
from inventory.storage.repositories.boards import boards_using, boards_using_leftovers, summary_of
from inventory.storage.repositories.offcuts import (
    HERE,
    RECORD_COLUMNS,
    history_of,
    label_queued,
    record_of,
    records_by_code,
    records_of,
    search_text,
)
from inventory.storage.repositories.settings_rows import read_settings
from inventory.storage.tables import BOARDS, FORMER_CODES, OFFCUTS

__all__ = [
    "PAGE_SIZE",
    "Condition",
    "FilterChoices",
    "InvalidFilter",
    "NoSuchPiece",
    "PieceView",
    "RackFilter",
    "RackPage",
    "RackSort",
    "RackView",
    "ShopSummary",
    "SpeciesTotal",
    "StatusFilter",
    "all_pieces",
    "choices",
    "find",
    "get_piece",
    "get_pieces",
    "not_checked_since",
    "piece",
    "read_filter",
    "record",
    "shop_summary",
    "species_here",
]  # fmt: skip

PAGE_SIZE = 60


class NoSuchPiece(UserError):
    """No piece has this code."""


@dataclass(frozen=True)
class SpeciesTotal:
    """Pieces and volume (whole mm³) of one species; `species` as typed last, empty where none was typed."""

    species: str
    tags: int
    pieces: int
    volume: int


@dataclass(frozen=True)
class RackPage:
    """One page of the rack. `tags`, `pieces` and `volume` (whole mm³) are totals over all pages."""

    filter: RackFilter
    records: tuple[OffcutRecord, ...]
    tags: int
    pieces: int
    volume: int
    by_species: tuple[SpeciesTotal, ...]
    pages: int


@dataclass(frozen=True)
class FilterChoices:
    """Species, locations and batches of what is in the shop, in order, for the filter's lists."""

    species: tuple[str, ...]
    locations: tuple[str, ...]
    batches: tuple[str, ...]


@dataclass(frozen=True)
class PieceView:
    """All that is known of one piece. `history` is latest first; `boards` took it or some of it, latest first,
    `later_boards` what was left of it, and what was left of that.
    """

    record: OffcutRecord
    history: tuple[HistoryLine, ...]
    parent: OffcutRecord | None
    from_board: BoardSummary | None
    leftovers: tuple[OffcutRecord, ...]
    boards: tuple[BoardSummary, ...]
    later_boards: tuple[BoardSummary, ...]


@dataclass(frozen=True)
class ShopSummary:
    """The shop now: tags, pieces, volume (whole mm³), labels in the print queue, boards on hold and cut."""

    tags: int
    pieces: int
    volume: int
    labels_waiting: int
    boards_set_aside: int
    boards_cut: int


def find(shop: Shop, asked: RackFilter) -> RackPage:
    """The requested page of the rack, with totals over all pages; a page past the end is the last."""
    where = and_(True, *_conditions(asked))
    if asked.unseen is not None:
        where = and_(where, not_checked_since(shop.now(), asked.unseen))
    with shop.reading() as connection:
        totals = _totals(connection, where)
        tags = sum(each.tags for each in totals)
        pages = max(-(-tags // PAGE_SIZE), 1)
        page = min(asked.page, pages)
        rows = connection.execute(
            RECORD_COLUMNS.where(where).order_by(*_order(asked.sort)).limit(PAGE_SIZE).offset((page - 1) * PAGE_SIZE)
        )
        records = records_of(connection, rows)
    return RackPage(
        filter=replace(asked, page=page),
        records=records,
        tags=tags,
        pieces=sum(each.pieces for each in totals),
        volume=sum(each.volume for each in totals),
        by_species=totals,
        pages=pages,
    )


def not_checked_since(now: datetime, months: int) -> ColumnElement[bool]:
    """The condition that a piece was not checked for so many months."""
    day = now - timedelta(days=months * 365 // 12)
    since = day.replace(hour=0, minute=0, second=0, microsecond=0)
    return func.coalesce(OFFCUTS.c.seen_at, OFFCUTS.c.tagged_at) < since


def _totals(connection: Connection, where: ColumnElement[bool]) -> tuple[SpeciesTotal, ...]:
    sums = (
        select(
            OFFCUTS.c.species_key,
            func.max(OFFCUTS.c.id).label("last"),
            func.count().label("tags"),
            func.sum(OFFCUTS.c.pieces).label("pieces"),
            func.sum(OFFCUTS.c.pieces * OFFCUTS.c.volume_mm3).label("volume"),
        )
        .where(where)
        .group_by(OFFCUTS.c.species_key)
        .subquery()
    )
    # The species as typed is read from one row each, so that the totals need the index alone.
    rows = connection.execute(
        select(OFFCUTS.c.species, sums.c.tags, sums.c.pieces, sums.c.volume)
        .join_from(sums, OFFCUTS, OFFCUTS.c.id == sums.c.last)
        .order_by(sums.c.species_key == "", sums.c.species_key)
    )
    return tuple(SpeciesTotal(row.species, row.tags, row.pieces, row.volume) for row in rows)


def _conditions(asked: RackFilter) -> list[ColumnElement[bool]]:
    c = OFFCUTS.c
    found = _status(asked.status)
    if asked.species:
        found.append(c.species_key == species_key(asked.species))
    for column, least in ((c.length_nm, asked.length), (c.width_nm, asked.width), (c.thickness_nm, asked.thickness)):
        if least is not None:
            found.append(column >= least)
    match asked.condition:
        case None:
            pass
        case Condition.PLANED:
            found.append(and_(c.face_a == Face.PLANED, c.face_b == Face.PLANED))
        case Condition.ROUGH:
            found.append(or_(c.face_a == Face.ROUGH, c.face_b == Face.ROUGH))
        case Condition.FINISHED:
            found.append(or_(c.face_a == Face.FINISHED, c.face_b == Face.FINISHED))
    if asked.location:
        key = location_key(asked.location)
        found.append(or_(c.location_key == key, c.location_key.startswith(f"{key} ", autoescape=True)))
    if asked.mark is not None:
        found.append(func.instr(type_coerce(c.marks, Text), f'"{asked.mark.value}"') > 0)
    if asked.batch:
        found.append(c.batch_key == species_key(asked.batch))
    if asked.text:
        found.append(_says(asked.text))
    return found


def _status(status: StatusFilter) -> list[ColumnElement[bool]]:
    match status:
        case StatusFilter.HERE:
            return [OFFCUTS.c.state.in_(HERE)]
        case StatusFilter.FREE:
            return [OFFCUTS.c.state == State.ON_RACK]
        case StatusFilter.ON_HOLD:
            return [OFFCUTS.c.set_aside > 0]
        case StatusFilter.USED_UP | StatusFilter.GONE:
            return [OFFCUTS.c.state == State(status.value)]
        case StatusFilter.ALL:
            return []


def _says(text: str) -> ColumnElement[bool]:
    """The condition that the piece's texts contain every word, or that the text is its code."""
    words = and_(True, *(func.instr(OFFCUTS.c.searched, word) > 0 for word in search_text(text).split()))
    try:
        code = read_scanned(text)
        had = select(FORMER_CODES.c.offcut_id).where(FORMER_CODES.c.code == code)
        return or_(words, OFFCUTS.c.code == code, OFFCUTS.c.id.in_(had))
    except InvalidCode:
        return words


def _order(sort: RackSort) -> tuple[ColumnElement[Any], ...]:
    c = OFFCUTS.c
    match sort:
        case RackSort.NEWEST:
            return (c.tagged_on.desc(), c.id.desc())
        case RackSort.OLDEST:
            return (c.tagged_on, c.id)
        case RackSort.LONGEST:
            return (c.length_nm.desc(), c.code)
        case RackSort.WIDEST:
            return (c.width_nm.desc(), c.code)
        case RackSort.THICKEST:
            return (c.thickness_nm.desc(), c.code)
        case RackSort.LARGEST:
            return (c.volume_mm3.desc(), c.code)
        case RackSort.SPECIES:
            return (c.species_key == "", c.species_key, c.code)
        case RackSort.LOCATION:
            return (c.location_key == "", c.location_key, c.code)


def choices(shop: Shop) -> FilterChoices:
    """What the filter's lists offer."""
    c = OFFCUTS.c
    here = c.state.in_(HERE)
    with shop.reading() as connection:
        locations = connection.execute(
            select(c.location, func.max(c.id)).where(here, c.location_key != "").group_by(c.location_key)
        )
        batches = connection.execute(
            select(c.batch, func.max(c.id)).where(here, c.batch_key != "").group_by(c.batch_key).order_by(c.batch_key)
        )
        return FilterChoices(
            _species_here(connection),
            tuple(sorted((row.location for row in locations), key=location_key)),
            tuple(row.batch for row in batches),
        )


def species_here(shop: Shop) -> tuple[str, ...]:
    """The species in the shop, each as it was typed last."""
    with shop.reading() as connection:
        return _species_here(connection)


def _species_here(connection: Connection) -> tuple[str, ...]:
    c = OFFCUTS.c
    last = select(func.max(c.id)).where(c.state.in_(HERE), c.species_key != "").group_by(c.species_key)
    return tuple(sorted(connection.scalars(select(c.species).where(c.id.in_(last))), key=species_key))


def piece(shop: Shop, code: str) -> PieceView:
    """One piece by its code, typed in any of the ways a code is read. Raises InvalidCode, NoSuchPiece."""
    with shop.reading() as connection:
        found = get_piece(connection, code)
        unit = read_settings(connection).unit
        rows = connection.execute(RECORD_COLUMNS.where(OFFCUTS.c.parent_id == found.id).order_by(OFFCUTS.c.id))
        return PieceView(
            record=found,
            history=tuple(history_line(event, unit) for event in history_of(connection, found.id)),
            parent=None if found.parent_tag is None else record_of(connection, found.parent_tag),
            from_board=None if found.from_board is None else summary_of(connection, found.from_board),
            leftovers=records_of(connection, rows),
            boards=boards_using(connection, found.id),
            later_boards=boards_using_leftovers(connection, found.id),
        )


def record(shop: Shop, code: str) -> OffcutRecord:
    """One piece's record alone. Raises InvalidCode, NoSuchPiece."""
    with shop.reading() as connection:
        return get_piece(connection, code)


def get_piece(connection: Connection, code: str) -> OffcutRecord:
    """As `record`, within a transaction."""
    return get_pieces(connection, [code])[0]


def get_pieces(connection: Connection, codes: Sequence[str]) -> tuple[OffcutRecord, ...]:
    """The pieces with these codes, in this order, within a transaction. Raises InvalidCode, NoSuchPiece."""
    read = [read_code(code) for code in codes]
    found = records_by_code(connection, list(dict.fromkeys(read)))
    for code in read:
        if code not in found:
            raise NoSuchPiece(
                f"No piece here has the code {format_code(code)}. Read the tag once more, or tag it anew."
            )
    return tuple(found[code] for code in read)


def all_pieces(shop: Shop, status: StatusFilter = StatusFilter.HERE) -> tuple[OffcutRecord, ...]:
    """All pieces with this status, oldest first, for exports."""
    with shop.reading() as connection:
        rows = connection.execute(RECORD_COLUMNS.where(and_(True, *_status(status))).order_by(OFFCUTS.c.id))
        return records_of(connection, rows)


def shop_summary(shop: Shop) -> ShopSummary:
    """The totals of the shop."""
    with shop.reading() as connection:
        totals = _totals(connection, OFFCUTS.c.state.in_(HERE))
        labels = select(func.count()).select_from(OFFCUTS).where(label_queued())
        boards = connection.execute(select(BOARDS.c.state, func.count().label("boards")).group_by(BOARDS.c.state))
        by_state = {row.state: int(row.boards) for row in boards}
        return ShopSummary(
            tags=sum(each.tags for each in totals),
            pieces=sum(each.pieces for each in totals),
            volume=sum(each.volume for each in totals),
            labels_waiting=connection.scalar(labels) or 0,
            boards_set_aside=by_state.get(BoardState.ON_HOLD, 0),
            boards_cut=by_state.get(BoardState.CUT, 0),
        )
