"""Fills, requests and strip orders of boards as JSON that reads back as exactly the same."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from functools import lru_cache
from typing import Any

from inventory.core.allowances import Allowances
from inventory.core.lengths import Length, Unit, mm_text
from inventory.core.lengths import millimeters as read_millimeters
from inventory.core.offcuts import Face, Offcut
from inventory.cutting.costs import Preference
from inventory.cutting.cuts import Cut, Leftover, StripShare
from inventory.fill.plan import Fill, PlannedGlueUp, cut_document, fill_summary
from inventory.fill.request import BoardRequest, read_request, request_document
from inventory.layout.strip_order import StripOrder, StripPlacement


@lru_cache(maxsize=4096)
def millimeters(text: str) -> Length:
    """As `measures.millimeters`; a fill of many boards says few sizes, and each of them often."""
    return read_millimeters(text)


def order_text(order: StripOrder) -> str:
    """The order as JSON: for each glue-up its strips, each as tag, piece, number and how it lies."""
    return json.dumps([[_lying_document(each) for each in row] for row in order])


def _lying_document(placement: StripPlacement) -> dict[str, Any]:
    return {
        "tag": placement.tag,
        "piece": placement.piece,
        "nth": placement.nth,
        "turned": placement.turned,
        "flipped": placement.flipped,
    }


def read_order_text(text: str) -> StripOrder:
    """The order that `order_text` wrote."""
    return tuple(tuple(StripPlacement(**entry) for entry in row) for row in json.loads(text))


def requests_text(requests: Sequence[BoardRequest]) -> str:
    """The request as JSON, allowances in full; further boards of a batch stand beside it."""
    first, *other_requests = [request_document(each) for each in requests]
    return json.dumps(first | ({"beside": other_requests} if other_requests else {}), ensure_ascii=False)


def read_requests_text(text: str) -> tuple[BoardRequest, ...]:
    """The requests that `requests_text` wrote."""
    document = json.loads(text)
    other_requests = document.pop("beside", [])
    return tuple(_read_request(each) for each in (document, *other_requests))


def _read_request(document: dict[str, Any]) -> BoardRequest:
    # The day and the allowances stand in the document; those given here are never looked at.
    return read_request(document, Allowances(), Unit.MILLIMETER, date(2000, 1, 1))


def fill_text(fill: Fill) -> str:
    """The fill as JSON: the contract's document with `kept` beside it for what that leaves out."""
    document = fill_summary(fill)
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
        entry["kept"] = {
            "rips": list(cut.rips),
            "dirty_mm2": cut.milling_area,
            "offcut": _offcut_document(cut.offcut),
            "shares": [
                {"glue_up": share.glue_up, "strips": share.strips, "adds_mm": mm_text(share.adds)}
                for share in cut.shares
            ],
        }
    return json.dumps(document, ensure_ascii=False)


def read_fill_text(text: str, request: BoardRequest) -> Fill:
    """The fill that `fill_text` wrote, equal in every value.

    Earlier revisions wrote no glue-up for a board that is one; it is read from the board's `request`.
    """
    document = json.loads(text)
    kept = document["kept"]
    # A batch of a hundred boards keeps the same request a hundred times.
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
        cuts=tuple(_read_cut(entry) for entry in document["cuts"]),
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


def _read_cut(entry: dict[str, Any]) -> Cut:
    return Cut(
        offcut=_read_offcut(entry["kept"]["offcut"]),
        piece=entry["piece"],
        lengths_cut=entry["lengths"],
        rips=tuple(entry["kept"]["rips"]),
        strip_width=millimeters(entry["strip_width_mm"]),
        adds=millimeters(entry["adds_mm"]),
        loss=entry["loss_mm3"],
        milling_area=entry["kept"]["dirty_mm2"],
        leftovers=tuple(
            Leftover(
                millimeters(left["length_mm"]),
                millimeters(left["width_mm"]),
                millimeters(left["thickness_mm"]),
                left["kept"],
            )
            for left in entry["remainders"]
        ),
        closing=entry["closing"],
        leaves=entry["leaves"],
        band=entry["band"],
        board=entry["board"],
        shares=tuple(
            StripShare(share["glue_up"], share["strips"], millimeters(share["adds_mm"]))
            for share in entry["kept"]["shares"]
        ),
    )


def _offcut_document(offcut: Offcut) -> dict[str, Any]:
    return {
        "tag": offcut.tag,
        "species": offcut.species,
        "length_mm": mm_text(offcut.length),
        "width_mm": mm_text(offcut.width),
        "thickness_mm": mm_text(offcut.thickness),
        "face_a": offcut.face_a.value,
        "face_b": offcut.face_b.value,
        "count": offcut.count,
        "location": offcut.location,
        "tagged_on": None if offcut.tagged_on is None else offcut.tagged_on.isoformat(),
        "notes": offcut.notes,
    }


def _read_offcut(entry: dict[str, Any]) -> Offcut:
    return Offcut(
        length=millimeters(entry["length_mm"]),
        width=millimeters(entry["width_mm"]),
        thickness=millimeters(entry["thickness_mm"]),
        species=entry["species"],
        face_a=Face(entry["face_a"]),
        face_b=Face(entry["face_b"]),
        count=entry["count"],
        tag=entry["tag"],
        location=entry["location"],
        tagged_on=None if entry["tagged_on"] is None else date.fromisoformat(entry["tagged_on"]),
        notes=entry["notes"],
    )
