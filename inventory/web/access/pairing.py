"""Pairs a phone by one scan, and lists the paired devices.

Codes and their lifetime: `inventory.web.access.pairing_codes`. Sessions: `inventory.web.access.access_control`.
"""

from __future__ import annotations

import logging
import re
from typing import cast

from flask import Blueprint, current_app, flash, make_response, redirect, render_template, request, session, url_for
from flask.sansio.blueprints import BlueprintSetupState
from markupsafe import Markup
from werkzeug.wrappers import Response

from inventory.services.access import device_sessions
from inventory.services.access.device_sessions import InvalidDeviceName
from inventory.web.access import access_control, addresses
from inventory.web.access.pairing_codes import PairingCode, PairingCodes
from inventory.web.access.sign_in import AttemptLimiter, suggested_device_name
from inventory.web.drawings.qr import qr_svg
from inventory.web.forms import errors_by_field, render_rejected
from inventory.web.request_context import current_settings, current_shop, update_settings

blueprint = Blueprint("pairing", __name__)

Page = str | Response | tuple[str, int]

_CODES = "rackful.pairing_codes"
_SCANS = "rackful.scans"
CODE_EXPIRED = (
    "This code let a device in already, or it is older than ten minutes. Show a fresh one on the shop's computer or on "
    "a device that is in, or sign in with the pass phrase."
)
TOO_MANY_CODES = "Too many wrong codes came from this device. Wait a quarter of an hour, then scan a fresh one."


class _RedactCodes(logging.Filter):
    """Removes pairing codes from log messages, which contain the path of a request."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg = re.sub(r"/[jJ]/\w+", "/j/…", record.getMessage())
        record.args = ()
        return True


_REDACT_CODES = _RedactCodes()


@blueprint.record_once
def _init_app(state: BlueprintSetupState) -> None:
    state.app.extensions[_CODES] = PairingCodes()
    state.app.extensions[_SCANS] = AttemptLimiter()
    state.app.logger.addFilter(_REDACT_CODES)


@blueprint.get("/j/<code>")
@blueprint.get("/J/<code>")
def scanned(code: str) -> Page:
    """The address in a pairing code: moves the code from the address into the session and redirects to the form."""
    if access_control.signed_in():
        flash("This browser is in already.", "note")
        return _redirect_uncached(url_for("home.index"))
    limiter, address = cast(AttemptLimiter, current_app.extensions[_SCANS]), request.remote_addr or ""
    if limiter.wait(address):
        return render_template(
            "access/code_expired.html", sentence="Too many wrong codes from this device. Wait a while."
        ), 429
    if not pairing_codes().is_valid(code, _fingerprint()):
        limiter.record_failure(address)
        return _code_expired()
    scheme = session.get("scheme")
    session.clear()
    session.update({"pairing": code} | ({"scheme": scheme} if scheme else {}))
    return _redirect_uncached(url_for("pairing.page"))


@blueprint.get("/pair")
def page() -> Page:
    """The form that asks for the name of the device."""
    if not pairing_codes().is_valid(str(session.get("pairing", "")), _fingerprint()):
        return _code_expired()
    typed = {"name": device_sessions.unique_name(current_shop(), suggested_device_name(), _fingerprint())}
    return render_template("access/pair.html", typed=typed, errors={})


@blueprint.post("/pair")
def pair() -> Page:
    """Pairs the device and uses the code up."""
    try:
        name = device_sessions.read_name(request.form.get("name", ""))
    except InvalidDeviceName as error:
        return render_rejected("access/pair.html", errors_by_field(error, "name"), request.form)
    if not pairing_codes().redeem(str(session.get("pairing", "")), _fingerprint()):
        return _code_expired()
    access_control.start_session(current_settings(), name)
    flash(f"{name} is in. Keep this page among your bookmarks or on the home screen.")
    return redirect(url_for("home.index"), 303)


@blueprint.get("/settings/devices")
def devices() -> str:
    """The code to scan, the addresses of the shop, and the paired devices."""
    mine = access_control.device() if access_control.signed_in() else None
    return render_template(
        "access/devices.html",
        devices=device_sessions.paired_devices(current_shop(), _fingerprint()),
        mine=mine.id if mine else 0,
        code=pairing_qr(),
        mdns_url=addresses.mdns_url(),
        ip_url=addresses.ip_url() if access_control.open_to_network() else "",
        no_name_reason=addresses.server_address_of(current_app).no_name_reason,
        open_to_network=access_control.open_to_network(),
    )


@blueprint.post("/settings/devices/<int:device>/away")
def remove_device(device: int) -> Response:
    """Removes a device; its next request needs a sign-in."""
    device_sessions.turn_away(current_shop(), device)
    flash("The device is out. To come in again it scans a fresh code or gives the pass phrase.", "note")
    return redirect(url_for("pairing.devices"), 303)


@blueprint.post("/settings/devices/address")
def set_address() -> Response:
    """Sets the address that tags open from now on."""
    address = request.form.get("address", "")
    update_settings(lambda now: now.changed({"base_url": address}))
    flash(f"Tags printed from now on open {address}. Those printed before work as they did.")
    return redirect(url_for("pairing.devices"), 303)


def pairing_qr() -> tuple[Markup, PairingCode] | None:
    """The pairing code as a drawing; None where no phone can be paired or this request may not see it."""
    base = addresses.phone_url()
    if not base or not access_control.has_access():
        return None
    code = current_code()
    drawn = qr_svg(pairing_url(base, code.text), "A code that lets one phone in")
    return drawn, code


def current_code() -> PairingCode:
    """The pairing code to show now."""
    return pairing_codes().current_or_new(_fingerprint())


def pairing_url(base: str, code: str) -> str:
    """The content of the QR code, in capitals, so that its modules are large.

    >>> pairing_url("http://192.0.2.7:8765", "7KQ4M9X")
    'HTTP://192.0.2.7:8765/J/7KQ4M9X'
    """
    return f"{base}/J/{code}".upper()


def pairing_codes() -> PairingCodes:
    """The pairing codes of this app."""
    return cast(PairingCodes, current_app.extensions[_CODES])


def _fingerprint() -> str:
    return access_control.credential_fingerprint(current_settings())


def _code_expired() -> tuple[str, int]:
    return render_template("access/code_expired.html", sentence=CODE_EXPIRED), 410


def _redirect_uncached(address: str) -> Response:
    """Redirects so that the address with the code is neither cached nor sent on as a referrer."""
    answer = make_response(redirect(address, 303))
    answer.headers["Referrer-Policy"] = "no-referrer"
    answer.headers["Cache-Control"] = "no-store"
    return answer
