"""Error pages: one sentence, never a traceback.

Errors beside the fields of a form are in `inventory.web.forms`.
"""

from __future__ import annotations

from urllib.parse import urlsplit

from flask import Flask, Response, make_response, render_template, request
from flask_wtf.csrf import CSRFError
from werkzeug.exceptions import HTTPException, MethodNotAllowed

from inventory.core.errors import Conflict, UserError
from inventory.services.boards.making import NoSuchBoard
from inventory.services.boards.usual_board_list import NoSuchUsualBoard
from inventory.services.labels.print_jobs import NoSuchJob
from inventory.services.pruning.checklists import NoSuchChecklist
from inventory.services.rack.queries import NoSuchPiece
from inventory.services.stock_check.stock_checks import NoSuchStockCheck
from inventory.storage.photos import NoSuchPhoto
from inventory.web.access.access_control import MAX_FORM_BYTES, MAX_REQUEST_BYTES, HostNotAllowed, SignInRequired

_NOT_FOUND = (NoSuchPiece, NoSuchBoard, NoSuchJob, NoSuchPhoto, NoSuchStockCheck, NoSuchUsualBoard, NoSuchChecklist)
_HEADINGS = {
    400: "That could not be read",
    403: "Not without the pass phrase",
    404: "Nothing here by that address",
    405: "Not done from this address",
    409: "Somebody was quicker",
    413: "That is too much at once",
    422: "That can't be done",
    500: "Something broke in the program",
}
_SENTENCES = {
    400: "The request was not as a browser sends it. Go back, reload the page and try again.",
    403: "This page is for those who know the shop's pass phrase. Sign in and try again.",
    404: "There is no page at this address. Check it, or start from one of the places.",
    405: "This address takes no such request. Go back and use the page's own buttons.",
    413: f"More was sent than is taken at once: {MAX_REQUEST_BYTES // 1_000_000} MB in all, "
    f"{MAX_FORM_BYTES // 1_000_000} MB of it typed. Nothing was saved. Go back and send less.",
    500: "It was not you: the program made a mistake and wrote it down. What was saved before is kept. Go back and "
    "try again; if it happens again, restart Rackful.",
}
_FALLBACK_PAGE = (
    '<!doctype html><html lang="en"><meta charset="utf-8"><title>Something broke</title>'
    "<h1>Something broke in the program</h1><p>What was saved before is kept. Restart Rackful and try again.</p></html>"
)


def register(app: Flask) -> None:
    """Registers the error handlers of the app."""
    app.register_error_handler(UserError, _user_error)
    app.register_error_handler(CSRFError, _csrf_error)
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(500, _internal_error)


def error_page(status: int, sentence: str) -> tuple[str, int]:
    """A page with one sentence and a link back to the page with the form."""
    return render_template("error.html", heading=_HEADINGS[status], sentence=sentence, back=_return_path()), status


def _return_path() -> str:
    """The path of this app's page that sent the form, empty where none is known."""
    came_from = urlsplit(request.referrer or "")
    if request.method == "GET" or came_from.netloc != request.host:
        return ""
    return came_from.path + (f"?{came_from.query}" if came_from.query else "")


def _user_error(error: UserError) -> tuple[str, int]:
    return error_page(_status_of(error), str(error))


def _status_of(error: UserError) -> int:
    if isinstance(error, _NOT_FOUND):
        return 404
    if isinstance(error, Conflict):
        return 409
    if isinstance(error, HostNotAllowed):
        return 400
    return 403 if isinstance(error, SignInRequired) else 422


def _csrf_error(error: CSRFError) -> tuple[str, int]:
    return error_page(
        400,
        "This form was not opened here in this browser, or too long ago, so nothing was saved. "
        "Go back, copy what you typed if it is much, reload the page and send it again.",
    )


def _http(error: HTTPException) -> Response | HTTPException:
    code = error.code or 500
    if code < 400:
        return error
    answer = make_response(error_page(code if code in _HEADINGS else 400, _SENTENCES.get(code, _SENTENCES[400])))
    if isinstance(error, MethodNotAllowed) and error.valid_methods:
        answer.headers["Allow"] = ", ".join(sorted(error.valid_methods))
    return answer


def _internal_error(error: Exception) -> tuple[str, int]:
    try:
        return error_page(500, _SENTENCES[500])
    except Exception:
        # The page itself needs the shop's settings, which may be what broke.
        return _FALLBACK_PAGE, 500
