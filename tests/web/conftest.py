"""An empty shop's pages, and a browser that visits them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from flask import Flask
from jinja2 import Undefined, UndefinedError
from jinja2.utils import missing
from playwright.sync_api import Browser, expect, sync_playwright

from inventory.shop import Shop
from inventory.web import create_app
from tests.web.browser import CHROMIUM, FLAGS, serve_app
from tests.web.shared_setup import CachedRule, TemplateCache
from tests.web.visitor import HttpClient

SLOW = 30_000
"""Milliseconds until what a page should show is given up."""


class KnownAttribute(Undefined):
    """Raises where a template asks an object for an attribute that it does not have, instead of showing nothing."""

    def __init__(self, hint: str | None = None, obj: object = missing, name: str | None = None, *rest: Any) -> None:
        if obj is not missing and not isinstance(obj, dict):
            raise UndefinedError(f"{type(obj).__name__} has no attribute {name}")
        super().__init__(hint, obj, name, *rest)


@pytest.fixture(scope="session", autouse=True)
def _shared_caches() -> Iterator[None]:
    """Each test has an app of its own; what all of them have in common is made once a process."""
    with pytest.MonkeyPatch.context() as patch:
        options = {**Flask.jinja_options, "bytecode_cache": TemplateCache(), "undefined": KnownAttribute}
        patch.setattr(Flask, "jinja_options", options)
        patch.setattr(Flask, "url_rule_class", CachedRule)
        yield


@pytest.fixture
def app(shop: Shop) -> Flask:
    """The pages of an empty shop, served to this machine alone."""
    return _testing(create_app(shop))


@pytest.fixture
def visitor(app: Flask) -> HttpClient:
    """A browser on the shop's own computer."""
    return HttpClient(app)


@pytest.fixture
def app_on_host(shop: Shop) -> Callable[[str], Flask]:
    """Makes the app as served on a host, such as 0.0.0.0."""
    return lambda host: _testing(create_app(shop, host=host))


def _testing(app: Flask) -> Flask:
    # Errors are shown as pages, as they are in the shop, not raised into the test.
    app.config.update(TESTING=True, PROPAGATE_EXCEPTIONS=False)
    return app


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """The browser of this machine, without a window."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, headless=True, args=list(FLAGS))
        # A machine with other work may be slow: only who waits in vain waits so long.
        expect.set_options(timeout=SLOW)
        yield browser
        browser.close()


@pytest.fixture
def live_url(app: Flask) -> Iterator[str]:
    """The address of the shop's real server."""
    with serve_app(app) as address:
        yield address
