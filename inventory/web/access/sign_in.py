"""Sign-in with the shop's passphrase, and sign-out; wrong attempts are rate-limited.

Sessions are started and checked by `inventory.web.access.access_control`.
"""

from __future__ import annotations

import math
import secrets
import threading
import time
import unicodedata
from collections.abc import Callable
from dataclasses import replace
from ipaddress import IPv6Address, ip_address
from typing import cast

from flask import Blueprint, current_app, flash, redirect, render_template, request, url_for
from flask.sansio.blueprints import BlueprintSetupState
from werkzeug.security import check_password_hash, generate_password_hash
from werkzeug.wrappers import Response

from inventory.core.errors import UserError
from inventory.services.access import device_sessions
from inventory.web.access import access_control
from inventory.web.forms import render_rejected
from inventory.web.request_context import current_settings, current_shop, update_settings

blueprint = Blueprint("sign_in", __name__)

FREE_ATTEMPTS = 5
FIRST_WAIT = 15
MAX_WAIT = 900
"""Seconds. After `FREE_ATTEMPTS` wrong attempts each further one doubles the wait."""
MAX_TRACKED = 10_000
MIN_PASSPHRASE_LENGTH = 10
MAX_PASSPHRASE_LENGTH = 200
_TRIES = "rackful.tries"


class AttemptLimiter:
    """Wrong attempts by client address, in memory."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._failures: dict[str, tuple[int, float]] = {}

    def wait(self, address: str) -> int:
        """Seconds until the next attempt from this address is allowed; 0 for now."""
        with self._lock:
            _, until = self._failures.get(_client_key(address), (0, 0.0))
            return max(0, math.ceil(until - self._clock()))

    def record_failure(self, address: str) -> None:
        """Counts a wrong attempt."""
        with self._lock:
            if len(self._failures) >= MAX_TRACKED:
                self._evict_oldest()
            count = self._failures.get(_client_key(address), (0, 0.0))[0] + 1
            beyond = count - FREE_ATTEMPTS
            pause = 0 if beyond < 0 else min(FIRST_WAIT << min(beyond, 10), MAX_WAIT)
            self._failures[_client_key(address)] = (count, self._clock() + pause)

    def record_success(self, address: str) -> None:
        """Resets the count of wrong attempts from this address."""
        with self._lock:
            self._failures.pop(_client_key(address), None)

    def _evict_oldest(self) -> None:
        # The ones that expire first; the longest waits are kept longest.
        for who, _ in sorted(self._failures.items(), key=lambda each: each[1][1])[: MAX_TRACKED // 2]:
            del self._failures[who]


def _client_key(address: str) -> str:
    """The address, or the /64 network that one IPv6 subscriber has for themselves (RFC 6177)."""
    try:
        known = ip_address(address)
    except ValueError:
        return address
    return f"{int(known) >> 64:x}" if isinstance(known, IPv6Address) else address


class InvalidPassphrase(UserError):
    """A passphrase that can't be set; `what` names the field."""

    def __init__(self, message: str, what: str = "") -> None:
        super().__init__(message)
        self.what = what


def normalize_passphrase(typed: str) -> str:
    """A passphrase as it is compared: without the space that a phone's keyboard adds after the last word."""
    return unicodedata.normalize("NFC", typed.strip()[:MAX_PASSPHRASE_LENGTH])


def hash_new_passphrase(typed: str, again: str) -> str:
    """The hash of a new passphrase, typed twice. Raises InvalidPassphrase."""
    phrase = normalize_passphrase(typed)
    if len(phrase) < MIN_PASSPHRASE_LENGTH:
        raise InvalidPassphrase(
            f"A pass phrase has at least {MIN_PASSPHRASE_LENGTH} letters, this one has {len(phrase)}. "
            "Take four or five words that don't belong together.",
            "phrase",
        )
    if len(typed.strip()) > MAX_PASSPHRASE_LENGTH:
        raise InvalidPassphrase(f"A pass phrase has at most {MAX_PASSPHRASE_LENGTH} letters. Shorten it.", "phrase")
    if normalize_passphrase(again) != phrase:
        raise InvalidPassphrase("The two are not the same. Type the new pass phrase twice.", "again")
    return generate_password_hash(phrase)


def check_passphrase(typed: str) -> tuple[str, int]:
    """Checks the shop's passphrase: an empty sentence where it is right, else what is wrong, and an HTTP status.

    Wrong attempts from one address are rate-limited; a wrong phrase takes as long as the right one.
    """
    limiter = cast(AttemptLimiter, current_app.extensions[_TRIES])
    address = request.remote_addr or ""
    wait = limiter.wait(address)
    if wait:
        return _wait_text(wait), 429
    phrase_hash = current_settings().pass_phrase_hash
    if phrase_hash and check_password_hash(phrase_hash, normalize_passphrase(typed)):
        limiter.record_success(address)
        return "", 200
    limiter.record_failure(address)
    return "That is not the shop's pass phrase. Type it again; capitals and spaces between the words count.", 422


@blueprint.record_once
def _init_limiter(state: BlueprintSetupState) -> None:
    state.app.extensions[_TRIES] = AttemptLimiter()


@blueprint.get("/sign-in")
def page() -> str | Response:
    """The page that asks for the passphrase."""
    if access_control.has_access():
        return redirect(_safe_next_url(request.args.get("next", "")), 303)
    return render_template("access/sign_in.html", typed={"next": request.args.get("next", "")}, errors={})


@blueprint.post("/sign-in")
def sign_in() -> str | Response | tuple[str, int]:
    """Starts a session for the right passphrase."""
    next_url = request.form.get("next", "")
    sentence, status = check_passphrase(request.form.get("phrase", ""))
    if sentence:
        return render_rejected("access/sign_in.html", {"phrase": sentence}, {"next": next_url}, status=status)
    settings = current_settings()
    access_control.start_session(
        settings,
        device_sessions.unique_name(
            current_shop(), suggested_device_name(), access_control.credential_fingerprint(settings)
        ),
    )
    return redirect(_safe_next_url(next_url), 303)


@blueprint.post("/sign-out")
def sign_out() -> Response:
    """Ends this browser's session."""
    access_control.sign_out_device()
    flash("This browser is signed out.", "note")
    return redirect(url_for("home.index"), 303)


@blueprint.post("/sign-out-everywhere")
def sign_out_everywhere() -> Response:
    """Ends the sessions of all browsers but this one by changing the secret key."""
    current_device = access_control.device() if access_control.signed_in() else None
    settings = update_settings(lambda now: replace(now, secret_key=secrets.token_hex(32)))
    current_app.secret_key = settings.secret_key
    device_sessions.revoke_other_devices(
        current_shop(), current_device, access_control.credential_fingerprint(settings)
    )
    if current_device:
        access_control.start_session(settings, current_device.name)
    flash("Every other browser is signed out and has to give the pass phrase again.")
    return redirect(url_for("settings.index"), 303)


def suggested_device_name() -> str:
    """A name for the device of this request, from its User-Agent header."""
    said = request.headers.get("User-Agent", "")
    # A browser on a phone says "Mobi" (MDN, "Browser detection using the user agent").
    if "Mobi" in said:
        return "Phone"
    return "Tablet" if "Tablet" in said else "Computer"


def _wait_text(wait: int) -> str:
    shown = f"{wait} seconds" if wait < 120 else f"{-(-wait // 60)} minutes"
    return f"Too many wrong tries from this device. Wait {shown}, then type the pass phrase again."


def _safe_next_url(target: str) -> str:
    """`target` where it is a path in this app, else the first page: no open redirect after the sign-in."""
    safe = target.startswith("/") and not target.startswith(("//", "/\\")) and target.isprintable()
    return target if safe else url_for("home.index")
