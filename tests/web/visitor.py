"""A visitor of a shop's pages: sends forms as a browser does, with the token of the page the form stood on."""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import unescape
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse


class HttpClient:
    """One browser. `host` is the name in its address bar, `address` where it is."""

    def __init__(self, app: Flask, host: str = "localhost", address: str = "127.0.0.1") -> None:
        self.app = app
        self.client: FlaskClient = app.test_client()
        self._at: dict[str, Any] = {
            "base_url": f"http://{host}",
            "environ_base": {"REMOTE_ADDR": address},
            "buffered": True,
        }

    def get(self, path: str, **more: Any) -> TestResponse:
        return self.client.get(path, **{**self._at, **more})

    def post(self, path: str, fields: Mapping[str, Any], *, page: str = "/settings", **more: Any) -> TestResponse:
        """Sends a form that stood on `page`."""
        form = {"csrf_token": self.token(page), **fields}
        return self.client.post(path, **{**self._at, "data": form, **more})

    def post_without_token(self, path: str, fields: Mapping[str, Any], **more: Any) -> TestResponse:
        """Sends a form without a token, as a page of another site would."""
        return self.client.post(path, **{**self._at, "data": dict(fields), **more})

    def token(self, page: str) -> str:
        found = re.search(r'name="csrf_token" value="([^"]+)"', self.get(page).text)
        assert found, f"{page} has no form with a token"
        return found.group(1)


def visible_text(response: TestResponse) -> str:
    """What a page says, without markup, spaces made one."""
    text = re.sub(r"<(script|style|title|head)\b.*?</\1>", " ", response.text, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())
