"""Label stocks of the shop's own, and how stocks are printed."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Row, delete, insert, select, update
from sqlalchemy.dialects.sqlite import insert as upsert

from inventory.storage.label_stock_records import OwnStock, RulerMeasures, StockPrinting, TagHole
from inventory.storage.tables import LABEL_PRINTING, LABEL_STOCKS


def own_stocks(connection: Connection) -> tuple[OwnStock, ...]:
    """The shop's own stocks by their names."""
    return tuple(_stock(row) for row in connection.execute(select(LABEL_STOCKS).order_by(LABEL_STOCKS.c.name)))


def add_stock(connection: Connection, stock: OwnStock) -> None:
    """Inserts a new stock."""
    connection.execute(insert(LABEL_STOCKS), _columns(stock))


def change_stock(connection: Connection, stock: OwnStock) -> bool:
    """Updates the stock of this key and version and increases its version; False where the version is another."""
    kept = (LABEL_STOCKS.c.key == stock.key) & (LABEL_STOCKS.c.version == stock.version)
    changed = {**_columns(stock), "version": stock.version + 1}
    return connection.execute(update(LABEL_STOCKS).where(kept).values(**changed)).rowcount == 1


def remove_stock(connection: Connection, key: str) -> None:
    """Deletes a stock, and how it is printed."""
    connection.execute(delete(LABEL_STOCKS).where(LABEL_STOCKS.c.key == key))
    connection.execute(delete(LABEL_PRINTING).where(LABEL_PRINTING.c.stock_key == key))


def stock_printings(connection: Connection) -> dict[str, StockPrinting]:
    """How stocks are printed, by their keys; those with the defaults are left out."""
    return {row.stock_key: _printing(row) for row in connection.execute(select(LABEL_PRINTING))}


def upsert_printing(connection: Connection, key: str, printing: StockPrinting) -> None:
    """Saves how a stock is printed."""
    ruler_measures = printing.ruler_measures
    row: dict[str, Any] = {"stock_key": key, "tone": printing.tone, "dpi": printing.dpi}
    for name in ("across", "down", "left", "top"):
        row[f"{name}_nm"] = None if ruler_measures is None else getattr(ruler_measures, name)
    statement = upsert(LABEL_PRINTING)
    changed = {name: statement.excluded[name] for name in row if name != "stock_key"}
    connection.execute(statement.on_conflict_do_update(index_elements=["stock_key"], set_=changed), row)


def _stock(row: Row[Any]) -> OwnStock:
    hole = None
    if row.hole_diameter_nm is not None:
        hole = TagHole(row.hole_across_nm, row.hole_down_nm, row.hole_diameter_nm)
    return OwnStock(
        key=row.key,
        name=row.name,
        kind=row.kind,
        page=(row.page_width_nm, row.page_height_nm),
        columns=row.columns,
        rows=row.rows,
        cell=(row.cell_width_nm, row.cell_height_nm),
        margins=(row.left_nm, row.top_nm),
        pitch=(row.across_nm, row.down_nm),
        corner=row.corner_nm,
        hole=hole,
        version=row.version,
    )


def _columns(stock: OwnStock) -> dict[str, Any]:
    hole = stock.hole
    return {
        "key": stock.key,
        "name": stock.name,
        "kind": stock.kind,
        "page_width_nm": stock.page[0],
        "page_height_nm": stock.page[1],
        "columns": stock.columns,
        "rows": stock.rows,
        "cell_width_nm": stock.cell[0],
        "cell_height_nm": stock.cell[1],
        "left_nm": stock.margins[0],
        "top_nm": stock.margins[1],
        "across_nm": stock.pitch[0],
        "down_nm": stock.pitch[1],
        "corner_nm": stock.corner,
        "hole_across_nm": None if hole is None else hole.across,
        "hole_down_nm": None if hole is None else hole.down,
        "hole_diameter_nm": None if hole is None else hole.diameter,
        "version": stock.version,
    }


def _printing(row: Row[Any]) -> StockPrinting:
    ruler_measures = None
    if row.across_nm is not None:
        ruler_measures = RulerMeasures(row.across_nm, row.down_nm, row.left_nm, row.top_nm)
    return StockPrinting(row.tone, row.dpi, ruler_measures)
