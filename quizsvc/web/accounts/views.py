"""Signing in and out."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, session, url_for
from flask_limiter.util import get_remote_address
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response

from quizsvc.errors import NotAllowedError, UnavailableError
from quizsvc.services import accounts as service
from quizsvc.services.second_step import HalfWay
from quizsvc.services.security_events import Event, tell
from quizsvc.web import access
from quizsvc.web.accounts import own_sessions, second_factor, second_step
from quizsvc.web.accounts.forms import SignInForm
from quizsvc.web.accounts.place import accounts
from quizsvc.web.current import house, now
from quizsvc.web.limits import SIGN_IN, limiter

__all__ = ["accounts", "own_sessions", "second_factor", "second_step"]


@accounts.get("/sign-in")
def sign_in() -> str:
    return _page(SignInForm())


@accounts.post("/sign-in")
@limiter.limit(SIGN_IN, key_func=get_remote_address)
def check_sign_in() -> Response | tuple[str, int]:
    form = SignInForm(request.form)  # and not its files: a file is no password
    if not form.validate():
        return _page(form), 422
    try:
        opened = _sign_in(form)
    except (NotAllowedError, UnavailableError) as refused:
        return _page(form, refused), 429 if isinstance(refused, UnavailableError) else 422
    return _let_in(opened)


@accounts.post("/sign-out")
def sign_out() -> Response:
    who = access.actor_or_none()
    service.sign_out(house(), access.token(), now=now())
    tell(Event.SIGNED_OUT, person=who.person_id if who else None)
    session.clear()
    flash("You are signed out.")
    return access.take_back(redirect(url_for("accounts.sign_in")))


def _sign_in(form: SignInForm) -> str | HalfWay:
    source = get_remote_address()
    name, password = form.name.data.strip(), form.password.data
    return service.sign_in(house(), name, password, now=now(), source=source)


def _let_in(opened: str | HalfWay) -> Response:
    if isinstance(opened, HalfWay):
        return second_step.await_code(opened)
    return access.hand_out(second_step.to_the_page_asked_for(), opened)


def _page(form: FlaskForm, refusal: Exception | None = None) -> str:
    return render_template("accounts/sign_in.html", form=form, refusal=refusal)
