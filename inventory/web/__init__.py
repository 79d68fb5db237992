"""The web app: pages for a phone at the saw and a screen at the bench.

Knows how a shop is put behind pages: folders, blueprints, filters, guards.
Knows nothing of what a page does: each place has a module of its own.
"""

from __future__ import annotations

from pathlib import Path

from flask import Flask

from inventory.shop import Shop
from inventory.web import (
    at_hand,
    batch,
    bench,
    blank_tags,
    boards,
    faults,
    filters,
    guard,
    home,
    joining,
    label_stocks,
    labels,
    life,
    order,
    patterns,
    photos,
    pile,
    printers,
    pruning,
    rack,
    reach,
    saw,
    scan,
    settings,
    signing,
    stocktake,
    tags,
    usual,
)

PACKAGE = Path(__file__).resolve().parent.parent
PLACES = (
    home,
    saw,
    scan,
    bench,
    batch,
    rack,
    tags,
    boards,
    life,
    order,
    labels,
    blank_tags,
    label_stocks,
    printers,
    settings,
    signing,
    joining,
    patterns,
    photos,
    pile,
    pruning,
    stocktake,
    usual,
)


def asset_folder(name: str) -> Path:
    """`templates` or `static`: inside the package in a wheel, beside it in a checkout."""
    for base in (PACKAGE, PACKAGE.parent):
        if (base / name).is_dir():
            return base / name
    raise RuntimeError(f"{name}/ is missing: Rackful is not wholly installed. Install it anew.")


def create_app(shop: Shop, *, host: str = "127.0.0.1", port: int = 0) -> Flask:
    """The pages of an open shop, as served on `host` and `port`; port 0 is the one that each request came to.

    Served on loopback it asks nobody's name; served to the network it asks for
    the pass phrase. Raises NotServable (Mendable) where `host` is open to the network
    and no pass phrase is set.
    """
    app = Flask(
        "inventory.web",
        template_folder=str(asset_folder("templates")),
        static_folder=str(asset_folder("static")),
    )
    app.jinja_env.trim_blocks = True
    app.jinja_env.lstrip_blocks = True
    at_hand.put_shop(app, shop)
    guard.protect(app, shop.settings(), host)
    reach.put_reach(app, port)
    filters.register(app)
    faults.register(app)
    for place in PLACES:
        app.register_blueprint(place.blueprint)
    return app
