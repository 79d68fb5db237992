"""The boards that the demo shop makes again and again."""

from __future__ import annotations

from typing import Any

from inventory.services.boards import filling, usual_board_list
from inventory.shop import Shop

_USUAL_BOARDS: tuple[tuple[str, str, tuple[int, ...], dict[str, Any]], ...] = (
    (
        "bread board",
        "14",
        (9, 10, 11, 12),
        {"length": "16 in", "width": "9 in", "thickness": "1 1/4 in", "bands": [{"species": ["ash", "beech"]}]},
    ),
    (
        "newel cap",
        "6",
        (),
        {
            "length": "7 in",
            "width": "7 in",
            "thickness": "1 in",
            "grain": "face",
            "bands": [{"species": ["white oak"]}],
        },
    ),
    (
        "door threshold",
        "3",
        (),
        {"length": "34 in", "width": "4 in", "thickness": "1 1/4 in", "bands": [{"species": ["white oak", "sapele"]}]},
    ),
    (
        "striped serving board",
        "5",
        (11, 12),
        {
            "length": "14 in",
            "width": "6 in",
            "thickness": "1 in",
            "bands": [
                {"species": ["hard maple", "beech"]},
                {"species": ["black walnut", "cherry"], "strips": 2, "each": "1/4 in"},
                {"species": ["hard maple", "beech"]},
            ],
        },
    ),
    ("bench shelf", "2", (1, 2), {"length": "30 in", "width": "8 in", "thickness": "3/4 in", "grain": "face"}),
)


def save_usual_boards(shop: Shop) -> None:
    """Saves them as the shop's usual boards."""
    for name, a_year, months, given in _USUAL_BOARDS:
        request = filling.request(shop, given | {"prefer": ["least-waste"]})
        usual_board_list.keep(shop, usual_board_list.usual_board(name, request, a_year, months))
