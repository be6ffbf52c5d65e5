"""One's own password and the places one is signed in at."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, session, url_for
from flask_limiter.util import get_remote_address
from werkzeug.wrappers import Response

from quizsvc.errors import InputError, NotAllowedError, QuizsvcError, UnavailableError
from quizsvc.services import own_account as service
from quizsvc.web import access
from quizsvc.web.access import actor, login_required
from quizsvc.web.accounts.place import accounts
from quizsvc.web.current import house, now
from quizsvc.web.limits import SIGN_IN, limiter

Refused = (InputError, NotAllowedError, UnavailableError)


@accounts.get("/account/password")
@login_required
def password() -> str:
    return _password_page()


@accounts.post("/account/password")
@login_required
@limiter.limit(SIGN_IN)
def change_password() -> Response | tuple[str, int]:
    try:
        token = _change()
    except Refused as refusal:
        return _password_page(refusal), _status(refusal)
    session.clear()
    flash("Your password is changed. Wherever else you were signed in, you are no more.")
    return access.hand_out(redirect(url_for("accounts.own")), token)


@accounts.get("/account/sessions")
@login_required
def sessions() -> str:
    return _sessions_page()


@accounts.post("/account/sessions/end")
@login_required
@limiter.limit(SIGN_IN)
def end_sessions() -> Response | tuple[str, int]:
    try:
        _end()
    except Refused as refusal:
        return _sessions_page(refusal), _status(refusal)
    flash("Ended.")
    return redirect(url_for("accounts.sessions"))


def _change() -> str:
    present, wanted = (request.form.get(name, "") for name in ("present", "wanted"))
    source = get_remote_address()
    return service.change_password(
        house(), actor(), present=present, wanted=wanted, now=now(), source=source
    )


def _end() -> None:
    present, which = (request.form.get(name, "") for name in ("present", "which"))
    source = get_remote_address()
    service.end_sessions(
        house(), actor(), access.token(), which, present=present, now=now(), source=source
    )


def _status(refusal: QuizsvcError) -> int:
    return 429 if isinstance(refusal, UnavailableError) else 422


def _password_page(refusal: QuizsvcError | None = None) -> str:
    name = service.sign_in_name(house(), actor())
    return render_template("accounts/password.html", name=name, refusal=refusal)


def _sessions_page(refusal: QuizsvcError | None = None) -> str:
    name = service.sign_in_name(house(), actor())
    places = service.own_sessions(house(), actor(), access.token(), now=now())
    return render_template(
        "accounts/sessions.html",
        name=name,
        places=places,
        others=service.ALL_OTHERS,
        refusal=refusal,
    )
