"""Paired devices: browsers by name, each with a key of its own, so that each can be removed alone."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Iterable
from datetime import timedelta

from inventory.core.errors import UserError
from inventory.core.whole_numbers import read_integer
from inventory.shop import Shop
from inventory.storage.records import DeviceRecord
from inventory.storage.repositories import devices as rows

MAX_NAME_LENGTH = 40
SEEN_INTERVAL = timedelta(minutes=5)
"""How exactly it is kept when a browser was last seen: not every page is worth a write."""


class InvalidDeviceName(UserError):
    """A name that a device can't have."""


def read_name(typed: str) -> str:
    """A device's name as typed, spaces made one. Raises InvalidDeviceName."""
    name = " ".join("".join(letter if letter.isprintable() else " " for letter in typed).split())
    if not name:
        raise InvalidDeviceName(
            "The device has no name. Type one by which you will know it in the list, such as Saw phone."
        )
    if len(name) > MAX_NAME_LENGTH:
        raise InvalidDeviceName(f"The name has {len(name)} letters, and {MAX_NAME_LENGTH} fit. Shorten it.")
    return name


def unique_name(shop: Shop, proposed: str, entry: str) -> str:
    """The proposed name, with a number after it where a paired device has that name."""
    with shop.reading() as connection:
        taken = {device.name.casefold() for device in rows.active_devices(connection, entry)}
    name, number = proposed, 1
    while name.casefold() in taken:
        number += 1
        name = f"{proposed} {number}"
    return name


def pair_device(shop: Shop, name: str, entry: str) -> str:
    """Pairs a browser under an entry mark; returns the token that it shows from then on."""
    key = secrets.token_urlsafe(16)
    with shop.writing() as connection:
        device = rows.insert_device(connection, name, _hash(key), entry, shop.now())
    return f"{device}.{key}"


def device_for_token(shop: Shop, shown: object) -> DeviceRecord | None:
    """The paired device with this token, None where there is none."""
    number, _, key = shown.partition(".") if isinstance(shown, str) else ("", "", "")
    device = read_integer(number)
    if device is None:
        return None
    with shop.reading() as connection:
        return rows.active_device(connection, device, _hash(key))


def renew_session(shop: Shop, device: DeviceRecord, entry: str) -> None:
    """Records that a paired browser has given a new passphrase."""
    with shop.writing() as connection:
        rows.change_device(connection, device.id, shop.now(), entry=entry)


def mark_seen(shop: Shop, device: DeviceRecord) -> None:
    """Records that a browser was seen now, at most once in SEEN_INTERVAL."""
    if shop.now() - device.seen_at >= SEEN_INTERVAL:
        with shop.writing() as connection:
            rows.change_device(connection, device.id, shop.now())


def turn_away(shop: Shop, device: int) -> bool:
    """Removes a device; returns whether it was paired."""
    if not 0 < device < 2**63:
        return False
    with shop.writing() as connection:
        return rows.revoke_devices(connection, shop.now(), only=device) == 1


def revoke_other_devices(shop: Shop, device: DeviceRecord | None, entry: str) -> None:
    """Removes all devices but one, which stays paired under a new entry mark."""
    with shop.writing() as connection:
        rows.revoke_devices(connection, shop.now(), but=device.id if device else None)
        if device:
            rows.change_device(connection, device.id, shop.now(), entry=entry)


def revoke_keys(shop: Shop, key_hashes: Iterable[str]) -> None:
    """Removes the devices with these keys: a restored backup may still list them."""
    with shop.writing() as connection:
        rows.revoke_by_key_hash(connection, key_hashes, shop.now())


def paired_devices(shop: Shop, entry: str) -> tuple[DeviceRecord, ...]:
    """The devices paired under this entry mark, the one seen last first."""
    with shop.reading() as connection:
        return rows.active_devices(connection, entry)


def _hash(key: str) -> str:
    return hashlib.sha256(key.encode("utf-8", "replace")).hexdigest()
