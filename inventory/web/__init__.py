"""The web app: pages for a phone at the saw and a screen at the bench."""

from __future__ import annotations

from pathlib import Path

from flask import Flask

from inventory.shop import Shop
from inventory.web import components, error_pages, former_addresses, home, request_context, settings, template_filters
from inventory.web.access import access_control, addresses, pairing, sign_in
from inventory.web.bench import bench, several_boards, usual_boards
from inventory.web.boards import boards, strip_order, yield_report
from inventory.web.labels import blank_tags, label_stocks, print_jobs, print_queue
from inventory.web.rack import photos, piece, pruning, rack, stock_check, stock_levels
from inventory.web.saw import scanning, tagging

PACKAGE = Path(__file__).resolve().parent.parent
VIEW_MODULES = (
    home,
    tagging,
    scanning,
    bench,
    several_boards,
    rack,
    piece,
    boards,
    yield_report,
    strip_order,
    print_queue,
    blank_tags,
    label_stocks,
    print_jobs,
    settings,
    sign_in,
    pairing,
    components,
    photos,
    stock_levels,
    pruning,
    stock_check,
    usual_boards,
    former_addresses,
)


def asset_folder(name: str) -> Path:
    """The folder `templates` or `static`: inside the package in a wheel, beside it in a checkout."""
    for base in (PACKAGE, PACKAGE.parent):
        if (base / name).is_dir():
            return base / name
    raise RuntimeError(f"{name}/ is missing: Rackful is not wholly installed. Install it anew.")


def create_app(shop: Shop, *, host: str = "127.0.0.1", port: int = 0) -> Flask:
    """The pages of an open shop, as served on `host` and `port`; port 0 is the one that each request came to.

    Served on loopback it asks for no sign-in; served to the network it asks for
    the passphrase. Raises UnsafeHost where `host` is open to the network and no
    passphrase is set.
    """
    app = Flask(
        "inventory.web",
        template_folder=str(asset_folder("templates")),
        static_folder=str(asset_folder("static")),
    )
    app.jinja_env.trim_blocks = True
    app.jinja_env.lstrip_blocks = True
    request_context.attach_shop(app, shop)
    access_control.protect(app, shop.settings(), host)
    addresses.set_server_address(app, port)
    template_filters.register(app)
    error_pages.register(app)
    for place in VIEW_MODULES:
        app.register_blueprint(place.blueprint)
    return app
