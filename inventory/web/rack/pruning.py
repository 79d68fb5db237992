"""Pruning the rack: the form of the storage limit, the simulation in the background, its advice, the checklist."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.core.codes import InvalidCode, format_code
from inventory.core.errors import UserError
from inventory.core.lengths import Length
from inventory.core.offcuts import location_key
from inventory.pruning.disposal import STOVE_CAUTION, Disposal, disposals_for
from inventory.pruning.reason_text import chance_text, lost_text, percent_text, reason_text
from inventory.pruning.storage_limit import InvalidLimit, StorageLimit, read_pieces, read_shelves, read_volume
from inventory.services.boards import usual_board_list
from inventory.services.pruning import checklists, forecasts, prune_advice
from inventory.services.pruning.prune_advice import PruneResult
from inventory.services.rack import queries
from inventory.storage.records import Decision
from inventory.web.forms import errors_by_field
from inventory.web.request_context import current_jobs, current_settings, current_shop
from inventory.web.template_filters import measure, volume

blueprint = Blueprint("pruning", __name__)

Page = str | tuple[str, int] | Response
JOB = "pruning"
MAX_ITEMS = 150
"""A longer list is shown in parts, so that a phone can show the page."""
LIMIT_KINDS = (
    ("volume", "So much wood", "a volume, or per cent of what is there"),
    ("pieces", "So many pieces", "however large they are"),
    ("shelves", "So much shelf", "by location, pieces stood on edge like books"),
)
LABELS = {
    "storage_limit": "How the storage limit is given",
    "volume": "Wood that may stay",
    "pieces": "Pieces that may stay",
}
DEFAULT_LIMIT = {"storage_limit": "volume", "volume": "60 %", "new": "yes"}


@blueprint.get("/pruning")
def index() -> str:
    """The form, the running job, and its answer."""
    return _page(DEFAULT_LIMIT)


@blueprint.post("/pruning")
def start() -> Page:
    """Starts the simulation that decides what to prune."""
    shop, typed = current_shop(), request.form
    try:
        storage_limit = _read_limit(typed)
        with_arrivals = typed.get("new", "") == "yes"
        forecasts.check_inputs(forecasts.basis(shop, with_arrivals=with_arrivals))
    except UserError as error:
        return _page(typed, errors_by_field(error)), 422
    current_jobs().start(
        JOB, "What to let go", lambda: prune_advice.prune_rack(shop, storage_limit, with_arrivals=with_arrivals)
    )
    return redirect(url_for("pruning.index", _anchor="work"), 303)


@blueprint.post("/pruning/stop")
def stop() -> Response:
    """Stops the job; what it has found so far is shown."""
    current_jobs().stop(JOB)
    current_jobs().wait(JOB, 5)
    return redirect(url_for("pruning.index", _anchor="work"), 303)


@blueprint.post("/pruning/list")
def create_checklist() -> Response:
    """Creates a checklist from the advice."""
    job = current_jobs().job(JOB)
    if job is None or not isinstance(job.outcome, PruneResult):
        flash("There is no answer any more to make a list of. Ask anew what to let go.", "stop")
        return redirect(url_for("pruning.index"), 303)
    if str(job.number) != request.form.get("answer", ""):
        flash("Another answer was found since that page was shown. Look at it, then make the list.", "stop")
        return redirect(url_for("pruning.index", _anchor="answer"), 303)
    number = prune_advice.create_checklist(current_shop(), job.outcome)
    return redirect(url_for("pruning.checklist", number=number), 303)


@blueprint.get("/pruning/<int:number>")
def checklist(number: int) -> str:
    """The checklist by location."""
    return _checklist_page(number)


@blueprint.get("/pruning/<int:number>/find")
def find(number: int) -> Page:
    """Redirects a typed or scanned code to its place on the checklist."""
    text = request.args.get("code", "")
    try:
        entry = checklists.entry_for(current_shop(), number, text)
    except (InvalidCode, checklists.NotOnChecklist) as error:
        return _checklist_page(number, str(error), text), 404
    return redirect(url_for("pruning.checklist", number=number, at=entry.code, _anchor=f"piece-{entry.code}"), 303)


@blueprint.post("/pruning/<int:number>/<code>")
def decide(number: int, code: str) -> Page:
    """Records the disposal of a piece, keeps the piece, or undoes either."""
    shop, what = current_shop(), request.form.get("decision", "")
    try:
        if what == "undo":
            back = checklists.undo(shop, number, code, request.form.get("seen", ""))
            message = f"{format_code(back)} is on the rack as before."
        elif what == "keep":
            kept = checklists.keep_piece(shop, number, code)
            message = f"{format_code(kept)} is kept: not proposed again for a year."
        elif what in {way.value for way in Disposal}:
            message = f"{format_code(checklists.send(shop, number, code, Disposal(what)).code)}: {what}."
        else:
            return _checklist_page(number, "Nothing was chosen for the piece. Choose where it goes, or keep it."), 422
    except (checklists.DecisionNotAllowed, checklists.NotOnChecklist, InvalidCode) as error:
        return _checklist_page(number, str(error)), 409
    flash(message)
    return redirect(url_for("pruning.checklist", number=number, done=code, _anchor=f"piece-{code}"), 303)


@blueprint.post("/pruning/<int:number>/end")
def end(number: int) -> Response:
    """Closes the checklist."""
    checklists.end(current_shop(), number)
    flash("The list is put away. What was not decided stays on the rack.")
    return redirect(url_for("pruning.index"), 303)


@blueprint.post("/t/<code>/pin")
def pin(code: str) -> Response:
    """Keeps a piece from being proposed for a year, or ends that."""
    wanted = request.form.get("pin", "") == "yes"
    read = prune_advice.pin(current_shop(), code, wanted=wanted)
    what = "is kept: not proposed again for a year" if wanted else "may be proposed again"
    flash(f"{format_code(read)} {what}.")
    return redirect(url_for("piece.page", code=read), 303)


def pruning_status(code: str) -> dict[str, Any]:
    """For the page of a piece: until when it is not proposed, and its chance to be cut."""
    found = forecasts.tag_chances(current_shop(), code)
    chances = None if found is None else [(words, chance_text(chance)) for words, chance in found.chances]
    return {
        "pinned_until": prune_advice.pinned_until(current_shop(), code),
        "chances": chances,
        "made_at": found and found.made_at,
    }


def _read_limit(typed: Mapping[str, str]) -> StorageLimit:
    unit = current_settings().unit
    match typed.get("storage_limit", ""):
        case "volume":
            whole = sum(each.free_volume for each in forecasts.free_pieces(current_shop()))
            return StorageLimit(volume=read_volume(typed.get("volume", ""), unit, whole))
        case "pieces":
            return StorageLimit(pieces=read_pieces(typed.get("pieces", "")))
        case "shelves":
            locations = queries.choices(current_shop()).locations
            return StorageLimit(
                shelves=read_shelves(
                    {name: typed.get(f"shelf{number}", "") for number, name in enumerate(locations)}, unit
                )
            )
        case _:
            raise InvalidLimit(
                "How the storage limit is given is not chosen. Choose one of the three.", "storage_limit"
            )


def _page(typed: Mapping[str, str], errors: Mapping[str, str] | None = None) -> str:
    shop, job = current_shop(), current_jobs().job(JOB)
    answer = job.outcome if job is not None and isinstance(job.outcome, PruneResult) else None
    return render_template(
        "rack/pruning.html",
        typed=typed,
        errors=errors or {},
        labels=LABELS | {f"shelf{number}": name for number, name in enumerate(queries.choices(shop).locations)},
        storage_limits=LIMIT_KINDS,
        locations=queries.choices(shop).locations,
        usual_boards=len(usual_board_list.listed(shop)),
        job=job,
        latest=None if job is not None and job.running else forecasts.latest(shop),
        answer=answer,
        space_used=_usage_text(answer) if answer else "",
        rules=[(prune_advice.rule_text(each.rule, current_settings().display), each) for each in answer.rules]
        if answer
        else [],
        reason_text=reason_text,
        percent_text=percent_text,
        lost_text=lost_text,
        disposals_for=disposals_for,
        caution=STOVE_CAUTION,
        under_way=checklists.under_way(shop),
        pins=len(prune_advice.pinned(shop)),
    )


def _usage_text(answer: PruneResult) -> str:
    """How much of the storage limit the rack uses, in the limit's own measure."""
    space_used = answer.storage_limit.space_used(answer.rack)
    if answer.storage_limit.volume is not None:
        return f"{volume(space_used)} of wood for {volume(answer.storage_limit.volume)}"
    if answer.storage_limit.pieces is not None:
        return f"{space_used:,} pieces for {answer.storage_limit.pieces:,}"
    return f"{measure(space_used)} of shelf for {measure(Length(sum(answer.storage_limit.shelves.values())))}"


def _checklist_page(number: int, error_text: str = "", code: str = "") -> str:
    found, at = checklists.view(current_shop(), number), request.args.get("at", "")
    items = found.items
    if len(items) > MAX_ITEMS:
        # Undecided pieces come first; a piece that the address names is always shown.
        waiting = [stop.entry.code for stop in items if stop.entry.decision is Decision.WAITING]
        chosen = {*waiting[:MAX_ITEMS], at, request.args.get("done", "")}
        items = tuple(stop for stop in items if stop.entry.code in chosen)
    return render_template(
        "rack/prune_checklist.html",
        view=found,
        error_text=error_text,
        typed={"code": code},
        shown=len(items),
        places=[list(pieces) for _, pieces in groupby(items, lambda stop: location_key(stop.location))],
        at=at,
        decisions=Decision,
        caution=STOVE_CAUTION,
        stove=Disposal.STOVE,
    )
