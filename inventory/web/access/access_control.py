"""Access control of every request: host names, sessions, CSRF tokens, size limits, security headers.

Sizes are in bytes.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Callable
from contextlib import suppress
from datetime import timedelta
from tempfile import SpooledTemporaryFile
from typing import IO, Any, TypeVar, cast

from flask import Flask, Request, Response, current_app, g, redirect, request, session, url_for
from flask.sessions import SecureCookieSessionInterface
from flask_wtf import CSRFProtect
from werkzeug.wrappers import Response as AnyResponse

from inventory.core.errors import UserError
from inventory.services.access import device_sessions
from inventory.settings import Settings
from inventory.storage.errors import StorageFault
from inventory.storage.records import DeviceRecord
from inventory.web.access.known_hosts import AllowedHosts, is_loopback, parse_host
from inventory.web.request_context import current_settings, current_shop

MAX_REQUEST_BYTES = 32_000_000
MAX_PHOTO_REQUEST_BYTES = 400_000_000
"""A form with photos is read to its end, so that what was typed beside a photo that is too large isn't lost."""
MAX_FILE_BYTES = 31_000_000
"""Bytes kept of one file; slightly more than a photo may have, so that one that is too large is still recognized."""
MAX_FORM_BYTES = 1_000_000
SESSION_DAYS = 180

CONTENT_SECURITY_POLICY = (
    "default-src 'self'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; "
    "frame-ancestors 'none'; form-action 'self'"
)
_FORWARDED = ("Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-IP")
_HOSTS = "rackful.hosts"
_PUBLIC_ENDPOINTS = (
    *("static", "sign_in.page", "sign_in.sign_in", "pairing.scanned", "pairing.page", "pairing.pair"),
    "former_addresses.moved",
)

View = TypeVar("View", bound=Callable[..., Any])


class UnsafeHost(UserError):
    """A host that the shop may not be served on without a passphrase."""


class HostNotAllowed(UserError):
    """A request for a name that this app is not served under."""


class SignInRequired(UserError):
    """A request from the network without a session."""


def check_host(host: str, settings: Settings) -> None:
    """Raises UnsafeHost where `host` is open to the network and the shop has no passphrase."""
    if AllowedHosts(host).open_to_network and not settings.pass_phrase_hash:
        raise UnsafeHost(
            f'"{host}" lets the whole network in, and this shop has no pass phrase. '
            'Set one with "rackful passphrase" or under Settings, then serve to the network.'
        )


def accepts_uploads(view: View) -> View:
    """Marks a view whose form may carry large files. Use it below the route's decorator."""
    view.__dict__["accepts_uploads"] = True
    return view


def protect(app: Flask, settings: Settings, host: str) -> None:
    """Installs all checks on the app. Raises UnsafeHost, see `check_host`."""
    check_host(host, settings)
    app.extensions[_HOSTS] = AllowedHosts(host)
    app.request_class = _TruncatingRequest
    app.session_interface = _SecureSessions()
    app.secret_key = settings.secret_key
    app.config.update(
        MAX_CONTENT_LENGTH=MAX_REQUEST_BYTES,
        MAX_FORM_MEMORY_SIZE=MAX_FORM_BYTES,
        PERMANENT_SESSION_LIFETIME=timedelta(days=SESSION_DAYS),
        SESSION_REFRESH_EACH_REQUEST=False,
        # Two shops on one machine, such as the demo, would otherwise overwrite each other's cookie:
        # cookies ignore ports (RFC 6265, section 8.5; from memory).
        SESSION_COOKIE_NAME=f"rackful_{hashlib.sha256(settings.secret_key.encode()).hexdigest()[:8]}",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        # A form may stay open on the bench all day.
        WTF_CSRF_TIME_LIMIT=None,
    )
    app.before_request(_check_host_header)
    app.before_request(_raise_upload_limit)
    app.before_request(_require_access)
    CSRFProtect(app)
    app.after_request(_set_security_headers)


def host_is_known() -> bool:
    """Whether this request is for a name that the app is served under."""
    if "host_is_known" not in g:
        hosts = allowed_hosts(current_app)
        settings = current_settings()
        named = parse_host(request.headers.get("Host", ""))
        g.host_is_known = any(hosts.allows(named, each) for each in (settings.base_url, *settings.former_base_urls))
    return bool(g.host_is_known)


def allowed_hosts(app: Flask) -> AllowedHosts:
    """The names under which the app answers."""
    return cast(AllowedHosts, app.extensions[_HOSTS])


def open_to_network() -> bool:
    """Whether the app is bound to more than this machine."""
    return allowed_hosts(current_app).open_to_network


def sign_in_required() -> bool:
    """Whether this request needs a session: it came, or may have come, from beyond this machine."""
    return (
        open_to_network()
        or not is_loopback(parse_host(request.headers.get("Host", "")))
        or any(name in request.headers for name in _FORWARDED)
    )


def signed_in() -> bool:
    """Whether this browser is signed in under the present passphrase and its device was not removed."""
    given = session.get("entry")
    return (
        isinstance(given, str)
        and hmac.compare_digest(given, credential_fingerprint(current_settings()))
        and device() is not None
    )


def device() -> DeviceRecord | None:
    """The paired device that this browser is, whatever the passphrase was then; None where it is not paired."""
    if "device" not in g:
        g.device = device_sessions.device_for_token(current_shop(), session.get("device"))
    return cast("DeviceRecord | None", g.device)


def has_access() -> bool:
    """Whether this request may see the shop."""
    return host_is_known() and (not sign_in_required() or signed_in())


def start_session(settings: Settings, name: str) -> None:
    """Starts a session that ends when the passphrase or the secret key changes, the device is removed, or it expires.

    A paired browser stays the same device; any other becomes a new one of this name, and its session is cleared
    first, against session fixation.
    """
    shop, fingerprint, known = current_shop(), credential_fingerprint(settings), device()
    if known is None:
        scheme = session.get("scheme")
        session.clear()
        if scheme is not None:
            session["scheme"] = scheme
        session["device"] = device_sessions.pair_device(shop, name, fingerprint)
    else:
        device_sessions.renew_session(shop, known, fingerprint)
    session.permanent = True
    session["entry"] = fingerprint
    g.pop("device", None)


def sign_out_device() -> None:
    """Ends this browser's session and removes its device."""
    known = device()
    if known is not None:
        device_sessions.turn_away(current_shop(), known.id)
    session.pop("entry", None)
    session.pop("device", None)
    g.pop("device", None)


def credential_fingerprint(settings: Settings) -> str:
    """The mark of a session that was started under this passphrase and this secret key."""
    if not settings.pass_phrase_hash:
        return "nobody"
    return hmac.new(settings.secret_key.encode(), settings.pass_phrase_hash.encode(), hashlib.sha256).hexdigest()


def _check_host_header() -> None:
    if not host_is_known():
        raise HostNotAllowed(
            "Rackful is not served under this name, so it does not answer to it. Open it by the address that it "
            "printed when it started, or set this address under Settings."
        )


def _raise_upload_limit() -> None:
    view = current_app.view_functions.get(request.endpoint or "")
    if getattr(view, "accepts_uploads", False):
        request.max_content_length = MAX_PHOTO_REQUEST_BYTES


def _require_access() -> AnyResponse | None:
    if request.endpoint in _PUBLIC_ENDPOINTS:
        return None
    if has_access():
        _record_last_seen()
        return None
    if not current_settings().pass_phrase_hash:
        raise SignInRequired(
            "This shop has no pass phrase, so it opens on its own computer alone. "
            "Open it there, set a pass phrase under Settings, then come back."
        )
    if request.method == "GET":
        return redirect(url_for("sign_in.page", next=request.full_path.rstrip("?")), 303)
    raise SignInRequired(
        "This browser is not signed in any more, so nothing was saved. Open the shop in a second tab and sign in "
        "there, then come back to this one, go back and send the form again."
    )


def _record_last_seen() -> None:
    known = device() if signed_in() else None
    if known is not None:
        # A full disk must not lock anybody out.
        with suppress(StorageFault):
            device_sessions.mark_seen(current_shop(), known)


def _set_security_headers(response: Response) -> Response:
    response.headers["Content-Security-Policy"] = CONTENT_SECURITY_POLICY
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["X-Frame-Options"] = "DENY"
    response.headers.setdefault("Referrer-Policy", "same-origin")
    response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    if "Cache-Control" not in response.headers:
        response.headers["Cache-Control"] = "private, no-cache"
    return response


class _SecureSessions(SecureCookieSessionInterface):
    """Sends the session cookie over https only where the page came over https."""

    def get_cookie_secure(self, app: Flask) -> bool:
        return request.is_secure


class _TruncatedFile:
    """An uploaded file of which only the first `MAX_FILE_BYTES` bytes are kept."""

    def __init__(self) -> None:
        self._buffer = SpooledTemporaryFile(max_size=500_000)  # noqa: SIM115 - the request closes it
        self._remaining = MAX_FILE_BYTES

    def write(self, chunk: bytes) -> int:
        self._buffer.write(chunk[: self._remaining])
        self._remaining -= min(self._remaining, len(chunk))
        return len(chunk)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._buffer, name)

    def __iter__(self) -> Any:
        return iter(self._buffer)


class _TruncatingRequest(Request):
    def _get_file_stream(
        self,
        total_content_length: int | None,
        content_type: str | None,
        filename: str | None = None,
        content_length: int | None = None,
    ) -> IO[bytes]:
        return cast(IO[bytes], _TruncatedFile())
