"""The plan as the contract's JSON ("Plan"): lengths in mm as exact decimal strings, volumes in mm³, areas in mm²."""

from __future__ import annotations

from typing import Any

from inventory.core.lengths import Length, Unit, exact_text, mm_text
from inventory.cutting.cuts import Cut
from inventory.fill.plan import Fill, Nearly, NearMiss, Plan, PlannedGlueUp, Purchase, Shortfall
from inventory.fill.request import request_document

PLAN_VERSION = 1


def plan_document(plan: Plan) -> dict[str, Any]:
    """The plan as the contract's JSON document."""
    return {
        "plan": PLAN_VERSION,
        "request": request_document(plan.request),
        **({"beside": [request_document(each) for each in plan.other_requests]} if plan.other_requests else {}),
        "fills": [fill_document(fill) for fill in plan.fills],
        "shortfall": None if plan.shortfall is None else _shortfall_document(plan.shortfall),
    }


def fill_document(fill: Fill) -> dict[str, Any]:
    """One fill as the contract's JSON."""
    cuts = [entry for cut in fill.cuts for entry in _cut_documents(cut, fill.glue_ups)]
    return fill_summary(fill) | {"cuts": cuts}


def fill_summary(fill: Fill) -> dict[str, Any]:
    """The contract's entries of a fill except its cuts."""
    return {
        "prefer": fill.prefer.value,
        "proven": fill.proven,
        "bound": fill.bound,
        "worth_lost": fill.worth_lost,
        "loss_mm3": fill.loss,
        "waste_mm3": fill.waste,
        "yield": round(fill.yield_share, 4),
        "milling_mm3": fill.milling,
        "dirty_mm2": fill.milling_area,
        "pieces": fill.pieces,
        "strips": fill.strips,
        "filled_width_mm": mm_text(fill.filled_width),
        "row_depth_mm": None if fill.row_depth is None else mm_text(fill.row_depth),
        "row_depth_runner_up": None
        if (second := fill.row_depth_runner_up) is None
        else {"row_depth_mm": mm_text(second.row_depth), "cost": second.cost},
        "species": fill.species,
        "other_species": [
            {"species": each.species, "cost": each.cost, "yield": round(each.yield_share, 4)}
            for each in fill.other_species
        ],
        "nearly": [_nearly_document(each, fill.glue_ups[0].request.unit) for each in fill.nearly],
        "cautions": list(fill.cautions),
    }


def _nearly_document(nearly: Nearly, unit: Unit) -> dict[str, Any]:
    return {
        "allowance": nearly.allowance,
        "to": exact_text(nearly.to, unit),
        "tags": list(nearly.tags),
        "cost": nearly.cost,
        "yield": round(nearly.yield_share, 4),
        "pieces": nearly.pieces,
    }


def _cut_documents(cut: Cut, glue_ups: tuple[PlannedGlueUp, ...]) -> list[dict[str, Any]]:
    """A cut's entries: one for each board and panel that its strips go to.

    The first entry has the lengths, loss and leftovers of the piece; the others only say
    which strips go elsewhere.
    """
    entries = []
    for place, share in enumerate(cut.shares):
        glue_up = glue_ups[share.glue_up]
        entry = cut_document(cut) | {"board": glue_up.board, "panel": glue_up.panel, "adds_mm": mm_text(share.adds)}
        entry |= {"leaves": share.strips} if cut.leaves else {"strips": share.strips}
        if place:
            entry |= {"lengths": 0, "remainders": []}
            entry |= dict.fromkeys(("loss_mm3", "worth_lost", "milling_mm3", "dirty_mm2"), 0)
            entry |= {"strips": 0} if cut.leaves else {}
        entries.append(entry)
    return entries or [cut_document(cut)]


def cut_document(cut: Cut) -> dict[str, Any]:
    """One cut as JSON, without the glue-ups that its strips go to."""
    return {
        "tag": cut.offcut.tag,
        "piece": cut.piece,
        "species": cut.offcut.species,
        "location": cut.offcut.location,
        "marks": [mark.value for mark in cut.offcut.marks],
        "notes": cut.offcut.notes,
        "band": cut.band,
        "board": cut.board,
        "lengths": cut.lengths_cut,
        "strips": cut.strips,
        "leaves": cut.leaves,
        "strip_width_mm": mm_text(cut.strip_width),
        "adds_mm": mm_text(cut.adds),
        "part": cut.part,
        "loss_mm3": cut.loss,
        "worth_lost": cut.worth_lost,
        "milling_mm3": cut.milling,
        "dirty_mm2": cut.milling_area,
        "remainders": [
            {
                "length_mm": mm_text(left.length),
                "width_mm": mm_text(left.width),
                "thickness_mm": mm_text(left.thickness),
                "kept": left.kept,
            }
            for left in cut.leftovers
        ],
    }


def _shortfall_document(shortfall: Shortfall) -> dict[str, Any]:
    def size(length: Length | None) -> str | None:
        return None if length is None else mm_text(length)

    return {
        "missing": [
            {
                "band": shortage.band,
                "species": list(shortage.species),
                "width_mm": mm_text(shortage.width),
                "strips": shortage.strips,
            }
            for shortage in shortfall.shortages
        ],
        "fell_out": dict(shortfall.reasons),
        "nearest": [_miss_document(miss) for miss in shortfall.nearest],
        "demand": [{"field": each.field, "tag": each.tag, "reason": each.reason} for each in shortfall.demands],
        "largest": {
            "width_mm": size(shortfall.largest_width),
            "length_mm": size(shortfall.largest_length),
            "thickness_mm": size(shortfall.largest_thickness),
        },
        "panels": shortfall.panels,
        "to_buy": [_purchase_document(purchase) for purchase in shortfall.to_buy],
        "by_mixing": shortfall.by_mixing,
    }


def _purchase_document(purchase: Purchase) -> dict[str, Any]:
    return {
        "band": purchase.band,
        "species": list(purchase.species),
        "quarters": purchase.quarters,
        **{f"{name}_mm": mm_text(getattr(purchase, name)) for name in ("thickness", "delivered", "length", "width")},
        "volume_mm3": purchase.volume,
        "board_feet": float(purchase.amount) if purchase.unit is Unit.INCH else None,
    }


def _miss_document(miss: NearMiss) -> dict[str, Any]:
    fix = miss.fix
    return {
        "tag": miss.tag,
        "reason": miss.reason,
        "by_mm": mm_text(miss.by),
        "rescue": None if fix is None else {"allowance": fix.allowance, "to_mm": mm_text(fix.to)},
    }
