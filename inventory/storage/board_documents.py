"""Fills, requests and strip orders of boards as JSON that reads back as exactly the same.

Stored documents name an offcut by its row, as `offcut_id`, so that a replaced tag changes none of them. The mappings
`rows` lead from a tag's code to the row, `codes` back.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, Unit, mm_text
from inventory.core.offcuts import Offcut
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut, Leftover, StripShare
from inventory.fill.plan import Fill, PlannedGlueUp
from inventory.fill.plan_document import cut_document, fill_summary
from inventory.fill.request import BoardRequest, Mix, read_request, request_document
from inventory.layout.strip_order import StripOrder, StripPlacement
from inventory.storage.offcut_document import millimeters, offcut_document, read_offcut_document

_FORMER_ALLOWANCES = Allowances(row_trim=Length(0))
"""The sides of an end-grain board were not trimmed again after the second glue-up."""


def order_document(order: StripOrder, rows: Mapping[str, int]) -> list[list[dict[str, Any]]]:
    """For each glue-up its strips, each as offcut, piece, number, turned and flipped."""
    return [
        [
            {
                "offcut_id": rows[each.tag],
                "piece": each.piece,
                "nth": each.nth,
                "turned": each.turned,
                "flipped": each.flipped,
            }
            for each in glue_up
        ]
        for glue_up in order
    ]


def read_order_document(document: list[list[dict[str, Any]]], codes: Mapping[int, str]) -> StripOrder:
    """The order that `order_document` wrote."""
    return tuple(
        tuple(
            StripPlacement(codes[each["offcut_id"]], each["piece"], each["nth"], each["turned"], each["flipped"])
            for each in glue_up
        )
        for glue_up in document
    )


def requests_document(requests: Sequence[BoardRequest]) -> dict[str, Any]:
    """The first request, allowances in full; the further ones of several boards as a list `beside` in it."""
    first, *other_requests = [request_document(each) for each in requests]
    return first | ({"beside": other_requests} if other_requests else {})


def read_requests_document(document: Mapping[str, Any]) -> tuple[BoardRequest, ...]:
    """The requests that `requests_document` wrote."""
    first = {key: value for key, value in document.items() if key != "beside"}
    return tuple(_read_request(each) for each in (first, *document.get("beside", [])))


def _read_request(document: dict[str, Any]) -> BoardRequest:
    # The day and most allowances stand in the document; those given here are for what it did not have before.
    # Boards that were stored before requests had `mix` could be of mixed species.
    return read_request({"mix": Mix.FREE.value} | document, _FORMER_ALLOWANCES, Unit.MILLIMETER, date(2000, 1, 1))


def stored_fill_document(fill: Fill, rows: Mapping[str, int]) -> dict[str, Any]:
    """The contract's document of a fill, with `kept` beside it for what that leaves out.

    What another allowance or row depth would bring is not kept: once the pieces are on hold, nobody chooses any more.
    """
    document = fill_summary(replace(fill, nearly=(), row_depth_runner_up=None))
    document["kept"] = {
        "board_volume_mm3": fill.board_volume,
        "glue_ups": [
            {
                "board": each.board,
                "panel": each.panel,
                "rows": each.rows,
                "request": request_document(each.request),
                "board_length_mm": None if each.board_length is None else mm_text(each.board_length),
            }
            for each in fill.glue_ups
        ],
    }
    document["cuts"] = [cut_document(cut) for cut in fill.cuts]
    for entry, cut in zip(document["cuts"], fill.cuts, strict=True):
        entry["offcut_id"] = rows[entry.pop("tag")]
        fields = {name: value for name, value in vars(cut.offcut).items() if name != "tag"}
        entry["kept"] = {
            "rips": list(cut.rips),
            "offcut": offcut_document(fields),
            "shares": [
                {"glue_up": share.glue_up, "strips": share.strips, "adds_mm": mm_text(share.adds)}
                for share in cut.shares
            ],
        }
    return document


def read_stored_fill(document: Mapping[str, Any], codes: Mapping[int, str], request: BoardRequest) -> Fill:
    """The fill that `stored_fill_document` wrote, equal in every value.

    Earlier revisions wrote no glue-up for a board that is one; it is read from the board's `request`.
    """
    kept = document["kept"]
    # A hundred boards keep the same request a hundred times.
    requests: dict[str, BoardRequest] = {}

    def glue_up_request(entry: dict[str, Any]) -> BoardRequest:
        key = json.dumps(entry)
        if key not in requests:
            requests[key] = _read_request(entry)
        return requests[key]

    return Fill(
        prefer=Preference(document["prefer"]),
        proven=document["proven"],
        bound=document["bound"],
        cuts=tuple(_read_cut(entry, codes) for entry in document["cuts"]),
        board_volume=kept["board_volume_mm3"],
        cautions=tuple(document["cautions"]),
        glue_ups=tuple(
            PlannedGlueUp(
                entry["board"],
                entry["panel"],
                entry["rows"],
                glue_up_request(entry["request"]),
                # Boards of the first days don't tell it.
                millimeters(entry["board_length_mm"]) if entry.get("board_length_mm") else None,
            )
            for entry in kept["glue_ups"]
        )
        or (PlannedGlueUp(0, 0, 0, request),),
    )


def _read_cut(entry: Mapping[str, Any], codes: Mapping[int, str]) -> Cut:
    return Cut(
        offcut=Offcut(**read_offcut_document(entry["kept"]["offcut"]), tag=codes[entry["offcut_id"]]),
        piece=entry["piece"],
        lengths_cut=entry["lengths"],
        rips=tuple(entry["kept"]["rips"]),
        strip_width=millimeters(entry["strip_width_mm"]),
        adds=millimeters(entry["adds_mm"]),
        loss=entry["loss_mm3"],
        # Boards that were stored before had no worth and no volume of milling.
        worth_lost=entry.get("worth_lost", 0),
        milling=entry.get("milling_mm3", 0),
        milling_area=entry["dirty_mm2"] if "dirty_mm2" in entry else entry["kept"]["dirty_mm2"],
        leftovers=tuple(
            Leftover(
                millimeters(left["length_mm"]),
                millimeters(left["width_mm"]),
                millimeters(left["thickness_mm"]),
                left["kept"],
            )
            for left in entry["remainders"]
        ),
        # Boards that were stored before call it the closing strip.
        part=entry["part"] if "part" in entry else entry["closing"],
        leaves=entry["leaves"],
        band=entry["band"],
        board=entry["board"],
        shares=tuple(
            StripShare(share["glue_up"], share["strips"], millimeters(share["adds_mm"]))
            for share in entry["kept"]["shares"]
        ),
    )
