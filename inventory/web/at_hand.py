"""What every view has at hand: the shop that is open, and its settings.

Knows where the app keeps them. Knows nothing of pages.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

from flask import Flask, current_app, g

from inventory.settings import Settings
from inventory.shop import Shop

_SHOP = "rackful.shop"


def put_shop(app: Flask, shop: Shop) -> None:
    """Ties the open shop to the app."""
    app.extensions[_SHOP] = shop


def current_shop() -> Shop:
    """The shop of the app that answers this request."""
    return cast(Shop, current_app.extensions[_SHOP])


def current_settings() -> Settings:
    """The shop's settings, read once a request."""
    if "settings" not in g:
        g.settings = current_shop().settings()
    return cast(Settings, g.settings)


def change_settings(change: Callable[[Settings], Settings]) -> Settings:
    """Keeps changed settings and shows them from now on, in this request too; see `Shop.change_settings`."""
    g.settings = current_shop().change_settings(change)
    return current_settings()
