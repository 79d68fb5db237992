"""Filling: the free pieces of the rack and a request, handed to the search.

Knows which pieces are free. Knows nothing of how a fill is found: `inventory.fill`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inventory.fill.plan import Fill, Plan
from inventory.fill.request import BoardRequest
from inventory.shop import Shop


def request(shop: Shop, given: Mapping[str, Any]) -> BoardRequest:
    """Reads a request as the contract writes it, with the shop's unit, allowances and day. Raises NotARequest."""
    raise NotImplementedError


def fill(shop: Shop, asked: BoardRequest) -> Plan:
    """Fills the board from what is free on the rack. An offcut of the plan has the free pieces as its count."""
    raise NotImplementedError


def fill_key(fill: Fill) -> str:
    """A short name (16 hex digits) of a fill's whole content, for a form that chooses it."""
    raise NotImplementedError


def chosen(shop: Shop, asked: BoardRequest, key: str) -> Fill:
    """The fill that a page showed under this key, found anew. Raises Conflict where the rack gives it no longer."""
    raise NotImplementedError
