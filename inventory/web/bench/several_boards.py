"""Several boards at once: the list, the search in the background, and its answer.

The address of the answer holds the whole order, so it can be opened again while the program runs.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.core.errors import Conflict
from inventory.core.whole_numbers import read_integer
from inventory.fill.plan import Fill
from inventory.services.boards import making, several_boards
from inventory.services.boards.filling import fill_key
from inventory.services.boards.several_boards import BatchSolution, BoardOrder, TooManySearches
from inventory.services.jobs import Job
from inventory.services.labels import label_content
from inventory.storage.repositories.idempotency_keys import idempotency_key
from inventory.web.bench import board_form
from inventory.web.bench.answer_view import option_tags
from inventory.web.bench.several_boards_form import (
    BoardEntry,
    encode_board,
    read_entries,
    read_question,
)
from inventory.web.bench.several_boards_view import build_order_options
from inventory.web.forms import FormError
from inventory.web.request_context import current_jobs, current_settings, current_shop
from inventory.web.template_filters import counted
from inventory.wording.shortfall_text import order_shortfall_sentences

blueprint = Blueprint("several_boards", __name__)

Page = str | tuple[str, int] | Response


@blueprint.get("/several-boards")
def index() -> Page:
    """The list of boards in the address."""
    return _list_page(read_entries(current_shop(), current_settings(), request.args))


@blueprint.post("/several-boards")
def change() -> Page:
    """Starts the search for all boards of the list or for as many of one as fit, or changes the list."""
    boards = read_entries(current_shop(), current_settings(), request.form)
    word, _, number = request.form.get("do", "look").partition("-")
    place = read_integer(number)
    chosen = next((each for each in boards if each.number == place), None)
    match word:
        case "remove":
            return redirect(_list_address([each for each in boards if each is not chosen]), 303)
        case "add":
            return redirect(_bench_address(boards, chosen), 303)
        case "change":
            return redirect(_bench_address([each for each in boards if each is not chosen], chosen), 303)
    how_many = word == "how"
    try:
        question = read_question(boards, how_many=how_many)
        several_boards.start(current_shop(), current_jobs(), question)
    except FormError as error:
        return _list_page(boards, error.errors), 422
    except TooManySearches as error:
        return _list_page(boards, {"": str(error)}), 409
    asked = "yes" if how_many else None
    return redirect(url_for("several_boards.answer", board=[each.text for each in boards], how_many=asked), 303)


@blueprint.get("/several-boards/add")
def add() -> Page:
    """Adds the board of the bench's form to its list; a board that can't be read goes back to the form."""
    if board_form.read_board(current_shop(), current_settings(), request.args).request is None:
        return redirect(board_form.url_to_correct(request.args), 303)
    return redirect(
        url_for("several_boards.index", board=[*request.args.getlist("beside"), encode_board(request.args)]), 303
    )


@blueprint.get("/several-boards/answer")
def answer() -> Page:
    """The progress of the search for these boards, or its answer."""
    boards, question = _read_question()
    if question is None:
        return redirect(_list_address(boards), 303)
    return _result_page(boards, question, several_boards.job_of(current_jobs(), question.key))


@blueprint.post("/several-boards/answer")
def press() -> Page:
    """Starts or stops the search, or holds all that it found."""
    boards, question = _read_question()
    if question is None:
        return redirect(_list_address(boards), 303)
    here = redirect(request.full_path.rstrip("?"), 303)
    job = several_boards.job_of(current_jobs(), question.key)
    match request.form.get("do", ""):
        case "stop":
            several_boards.stop(current_jobs(), question.key)
            return here
        case "set-aside" if job is not None:
            return _set_aside(boards, question, job)
    try:
        several_boards.start(current_shop(), current_jobs(), question)
    except TooManySearches as error:
        return _result_page(boards, question, job, error_text=str(error)), 409
    return here


def _set_aside(boards: Sequence[BoardEntry], question: BoardOrder, job: Job) -> Page:
    key, token = request.form.get("set", ""), request.form.get("form_token", "")
    found: BatchSolution | None = job.outcome
    fill = next((each for each in _fills(found) if fill_key(each) == key), None)
    if fill is None or found is None or found.plan is None:
        sentence = "This answer is no longer at hand: nothing was set aside. Look through the rack again."
        return _result_page(boards, question, job, error_text=sentence), 409
    plan = found.plan
    form = idempotency_key("set a batch aside", token, question.key, key)
    try:
        board = making.set_aside(current_shop(), plan.request, fill, beside=plan.other_requests, form=form)
    except Conflict as conflict:
        return _result_page(boards, question, job, error_text=str(conflict)), 409
    flash(f"{counted(board.fill.pieces, 'offcut')} set aside for {counted(board.boards, 'board')}.")
    return redirect(url_for("boards.board", number=board.id), 303)


def _fills(found: BatchSolution | None) -> tuple[Fill, ...]:
    return found.plan.fills if found is not None and found.plan is not None else ()


def _read_question() -> tuple[list[BoardEntry], BoardOrder | None]:
    """The boards of the address with their order; None where it can't be searched."""
    boards = read_entries(current_shop(), current_settings(), request.args)
    try:
        return boards, read_question(boards, how_many=request.args.get("how_many") == "yes")
    except FormError:
        return boards, None


def _list_address(boards: Sequence[BoardEntry]) -> str:
    return url_for("several_boards.index", board=[each.text for each in boards])


def _bench_address(beside: Sequence[BoardEntry], like: BoardEntry | None) -> str:
    """The address of the bench's form, filled in as one board of the list, with the others beside it."""
    keys = {} if like is None else board_form.query(like.typed)
    return url_for("bench.form", **(keys | {"beside": [each.text for each in beside]}))  # type: ignore[arg-type]


def _list_page(boards: Sequence[BoardEntry], errors: Mapping[str, str] | None = None) -> str:
    return render_template(
        "bench/several_boards.html",
        boards=boards,
        errors=errors or {},
        labels={each.field: f"Board {each.number}" for each in boards},
        typed={each.field: each.count for each in boards},
    )


def _result_page(boards: Sequence[BoardEntry], question: BoardOrder, job: Job | None, *, error_text: str = "") -> str:
    settings = current_settings()
    found: BatchSolution | None = None if job is None else job.outcome
    plan = None if found is None else found.plan
    shortfall = None if plan is None else plan.shortfall
    options = () if plan is None else build_order_options(plan, settings.workshop, settings.display)
    records = label_content.pieces(current_shop(), option_tags(options))
    return render_template(
        "bench/several_boards_answer.html",
        boards=boards,
        question=question,
        job=job,
        found=found,
        options=options,
        lacking=()
        if plan is None or shortfall is None
        else tuple(order_shortfall_sentences(shortfall, plan.request, settings.display)),
        error_text=error_text,
        bench_at=board_form.address(boards[0].typed) if question.how_many else "",
        pieces={record.code: record for record in records},
        of_one=encode_board(boards[0].typed) if len(boards) == 1 and not question.how_many else "",
        preference_labels=board_form.PREFERENCE_LABELS,
        set_aside_at=request.full_path,
        form_token=secrets.token_hex(16),
    )
