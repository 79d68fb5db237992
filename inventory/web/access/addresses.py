"""The addresses of this shop in the network: its current IP address and its mDNS name.

The name is announced by `inventory.web.access.mdns`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

from flask import Flask, current_app, request

from inventory.web.access import access_control
from inventory.web.access.known_hosts import lan_address
from inventory.web.request_context import current_settings

_REACH = "rackful.reach"


@dataclass
class ServerAddress:
    """How this app is reached: its port, and the mDNS name that it announces or the reason why it announces none."""

    port: int = 0
    name: str = ""
    no_name_reason: str = ""


def set_server_address(app: Flask, port: int) -> None:
    """Stores the port with the app; 0 where the port of each request is used."""
    app.extensions[_REACH] = ServerAddress(port)


def server_address_of(app: Flask) -> ServerAddress:
    """How this app is reached."""
    return cast(ServerAddress, app.extensions[_REACH])


def mdns_url() -> str:
    """The address by the announced name, independent of the IP address; empty where no name is announced."""
    name = server_address_of(current_app).name
    return f"http://{name}:{_port()}" if name else ""


def ip_url() -> str:
    """The address by this machine's current IP address; empty where it has none."""
    bind_host = access_control.allowed_hosts(current_app).bind_host
    number = bind_host if bind_host not in ("", "0.0.0.0", "::") else lan_address()
    return f"http://{f'[{number}]' if ':' in number else number}:{_port()}" if number else ""


def phone_url() -> str:
    """The address that a phone is paired with; empty where the app is not open to the network.

    It is the one on the tags where that is set, since the phone's session cookie belongs to it; else the IP address.
    """
    if not access_control.open_to_network():
        return ""
    return current_settings().base_url or ip_url()


def _port() -> int:
    return server_address_of(current_app).port or int(request.environ.get("SERVER_PORT", 80))
