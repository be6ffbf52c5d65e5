"""The one place where errors become pages: in plain words, with what to do next."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Flask, Response, g, render_template, request
from flask_wtf.csrf import CSRFError
from werkzeug.exceptions import HTTPException, SecurityError

from quizsvc.errors import (
    ConflictError,
    InputError,
    NotAllowedError,
    NotFoundError,
    QuizsvcError,
    UnavailableError,
)
from quizsvc.services.security_events import Event, tell
from quizsvc.web.operating import observing

Page = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Words:
    """What an error page says: its heading, what happened and what to do."""

    title: str
    problem: str
    remedy: str


OURS: dict[type[QuizsvcError], tuple[int, str]] = {
    InputError: (422, "That cannot be right"),
    NotFoundError: (404, "Not found"),
    NotAllowedError: (403, "Not allowed"),
    ConflictError: (409, "Not any more"),
    UnavailableError: (503, "Not just now"),
}

TOLD: dict[type[QuizsvcError], Event] = {
    NotAllowedError: Event.ACCESS_REFUSED,
    NotFoundError: Event.NOTHING_FOUND,  # what belongs to others looks like nothing at all
}

BY_STATUS: dict[int, Words] = {
    400: Words("Not understood", "This request could not be read.", "Go back and try again."),
    404: Words(
        "Not found", "There is no page at this address.", "Check the address, or start again."
    ),
    405: Words(
        "Not this way",
        "This address does not take a request of this kind.",
        "Use the buttons on the page that led here.",
    ),
    413: Words(
        "Too large", "What was sent is larger than allowed here.", "Send less, then try again."
    ),
    429: Words(
        "Too many at once",
        "More requests came from here than one person can make.",
        "Wait a minute, then try again. Nothing that was saved is lost.",
    ),
    500: Words(
        "Our fault",
        "Something went wrong in the server. It was written to the log.",
        "Try again. If it happens again, tell whoever runs this server.",
    ),
}

FORM_EXPIRED = Words(
    "This form is out of date",
    "The page was left open across a sign-in or sign-out, or cookies are switched off. "
    "Nothing was changed.",
    "Go back, load the page again and send it once more.",
)
WRONG_HOST = (
    "This server does not answer to the host name in the address. Use the address you were given; "
    "whoever runs the server states it in QUIZSVC_PUBLIC_URL.\n"
)


def init_app(app: Flask) -> None:
    app.register_error_handler(QuizsvcError, show_ours)
    app.register_error_handler(CSRFError, refuse_form)
    app.register_error_handler(SecurityError, refuse_host)
    app.register_error_handler(HTTPException, show_http)


def show_ours(error: QuizsvcError) -> Page:
    """Show an error that a person can put right, with field, value and remedy."""
    if event := next((TOLD[kind] for kind in type(error).__mro__ if kind in TOLD), None):
        _tell(event)
    status, title = next(OURS[kind] for kind in type(error).__mro__ if kind in OURS)
    words = Words(title, error.problem, error.remedy or "")
    return _page(status, words, field=error.field, value=error.value, plain=status >= 500)


def refuse_form(_error: CSRFError) -> Page:
    """Refuse a form without a token of this browser's, or from a page of another site."""
    _tell(Event.FORM_REFUSED)
    return _page(400, FORM_EXPIRED)


def refuse_host(_error: SecurityError) -> Response:
    """Answer in plain text: without a known host no address of a page can be built."""
    observing.note_address()  # refused before anything else was done
    _tell(Event.HOST_REFUSED)
    return Response(WRONG_HOST, status=400, mimetype="text/plain")


def show_http(error: HTTPException) -> Page | HTTPException:
    status = error.code or 500
    if status < 400:
        return error
    if status == 429:
        _tell(Event.SLOWED)
    words = BY_STATUS.get(status) or BY_STATUS[400 if status < 500 else 500]
    return _page(status, words, plain=status >= 500)


def _tell(event: Event) -> None:
    """Tell of a refusal, with the number of whoever is known already: nothing is looked up."""
    signed_in = g.get("_login_user")  # Flask-Login's, once somebody asked who it is
    person = signed_in.actor.person_id if signed_in and signed_in.is_authenticated else None
    tell(event, person=person, route=request.endpoint or "none")


def _page(
    status: int,
    words: Words,
    *,
    field: str | None = None,
    value: object = None,
    plain: bool = False,
) -> Page:
    """``plain`` leaves out all that would ask the database who is signed in."""
    page = render_template(
        "errors/page.html", status=status, words=words, field=field, value=value, plain=plain
    )
    return page, status
