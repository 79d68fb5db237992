"""The request context of every view: the shop that is open, and its settings."""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

from flask import Flask, current_app, g

from inventory.services.jobs import Jobs
from inventory.settings import Settings
from inventory.shop import Shop

_SHOP = "rackful.shop"
_JOBS = "rackful.jobs"


def attach_shop(app: Flask, shop: Shop) -> None:
    """Stores the open shop with the app."""
    app.extensions[_SHOP] = shop
    app.extensions[_JOBS] = Jobs(lambda error: _log_job_error(app, error))


def _log_job_error(app: Flask, error: Exception) -> str:
    app.logger.error("A job failed", exc_info=error)
    return (
        f"Something went wrong that Rackful did not expect ({type(error).__name__}). The details are in the log. "
        "Try it again once."
    )


def jobs_of(app: Flask) -> Jobs:
    """The background jobs of this app; close them when the app is no longer served."""
    return cast(Jobs, app.extensions[_JOBS])


def current_jobs() -> Jobs:
    """The background jobs of the app that answers this request."""
    return jobs_of(current_app)


def current_shop() -> Shop:
    """The shop of the app that answers this request."""
    return cast(Shop, current_app.extensions[_SHOP])


def current_settings() -> Settings:
    """The shop's settings, read once a request."""
    if "settings" not in g:
        g.settings = current_shop().settings()
    return cast(Settings, g.settings)


def update_settings(change: Callable[[Settings], Settings]) -> Settings:
    """Saves changed settings and uses them from now on, in this request too; see `Shop.update_settings`."""
    g.settings = current_shop().update_settings(change)
    return current_settings()
