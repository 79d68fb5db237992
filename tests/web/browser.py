"""A real browser before a real server: phone and desk, light and dark, and what axe says of a page."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import waitress
from axe_playwright_python.sync_playwright import Axe
from flask import Flask
from playwright.sync_api import Browser, BrowserContext, Page

from inventory.web.access.upload_limits import limit_anonymous_uploads

CHROMIUM = "/usr/bin/chromium"
DISABLED_FEATURES = (
    # Pages of the address bar, which the browser loads for every new window: most of what a window costs.
    "WebUIOmniboxPopup",
    "WebUIOmniboxAimPopup",
    "WebUIOmniboxFullPopup",
    # What Playwright turns off stands here too, as the browser heeds the last such list alone.
    "AvoidUnnecessaryBeforeUnloadCheckSync",
    "DestroyProfileOnBrowserClose",
    "HttpsUpgrades",
    "HttpsFirstBalancedModeAutoEnable",
    "LensOverlay",
    "MediaRouter",
    "PaintHolding",
    "ThirdPartyStoragePartitioning",
    "AvoidCorsURLLoaderRestartOnRedirect",
    "OptimizationHints",
    "NetworkTimeServiceQuerying",
    "AimEnabled",
    "PreconnectToSearch",
)
FLAGS = (
    f"--disable-features={','.join(DISABLED_FEATURES)}",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
AXE = Axe().axe_script
PHONE: dict[str, Any] = {"viewport": {"width": 390, "height": 844}, "is_mobile": True, "has_touch": True}
SMALL_PHONE: dict[str, Any] = {**PHONE, "viewport": {"width": 360, "height": 740}}
DESK: dict[str, Any] = {"viewport": {"width": 1280, "height": 900}}


@contextmanager
def serve_app(app: Flask) -> Iterator[str]:
    """The app behind waitress on a free port of this machine; gives the address."""
    server = waitress.create_server(app, host="127.0.0.1", port=0, threads=4)
    limit_anonymous_uploads(server, app)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()

    def close() -> None:
        for channel in list(server.active_channels.values()):
            channel.handle_close()
        server.task_dispatcher.shutdown()
        server.close()

    try:
        yield f"http://127.0.0.1:{server.effective_port}"
    finally:
        # Closed within its own loop: from this thread the sockets would be taken from under it.
        server.trigger.pull_trigger(close)
        thread.join(10)


@contextmanager
def browser_page(browser: Browser, screen: dict[str, Any], **more: Any) -> Iterator[Page]:
    """A page of a browser with this screen."""
    context: BrowserContext = browser.new_context(**screen, **more)
    try:
        yield context.new_page()
    finally:
        context.close()


def accessibility_violations(page: Page, *rules: str) -> list[str]:
    """What axe-core finds on a page, by these of its rules or by all; the context needs `bypass_csp=True`."""
    # What was found well is only counted: to look up every such element again takes most of axe's time.
    options: dict[str, Any] = {"resultTypes": ["violations"]} | ({"runOnly": list(rules)} if rules else {})
    page.evaluate(AXE)
    violations = page.evaluate("options => axe.run(options).then(results => results.violations)", options)
    return [f"{each['id']}: {each['help']}: {[node['html'][:120] for node in each['nodes']]}" for each in violations]


def overflowing_elements(page: Page) -> list[str]:
    """The elements that make a page scroll sideways."""
    script = """() => document.documentElement.scrollWidth <= window.screen.width ? [] :
        [...document.querySelectorAll('*')].filter(e => e.getBoundingClientRect().right > window.screen.width + 0.5)
        .map(e => e.outerHTML.slice(0, 120))"""
    found: list[str] = page.evaluate(script)
    return found


def small_targets(page: Page, least: int = 44) -> list[str]:
    """Buttons, fields and links that stand alone and are smaller than a fingertip, in CSS pixels."""
    script = """least => [...document.querySelectorAll('button, input, select, textarea, summary, a')]
        .filter(e => {
            const box = e.getBoundingClientRect();
            if (!box.width || e.type === 'hidden') return false;
            // A link in a sentence is as high as its line (WCAG 2.2, 2.5.8 "Inline"), a ticked box as its label.
            if (e.tagName === 'A' && getComputedStyle(e).display === 'inline') return false;
            const target = e.closest('label') || e;
            const size = target.getBoundingClientRect();
            if (e.closest('.skip')) return false;
            return size.height < least - 0.5 || size.width < least - 0.5;
        }).map(e => e.outerHTML.slice(0, 120))"""
    found: list[str] = page.evaluate(script, least)
    return found
