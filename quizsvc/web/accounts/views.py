"""Signing in and out."""

from __future__ import annotations

from flask import Blueprint, flash, redirect, render_template, request, session, url_for
from flask_limiter.util import get_remote_address
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response

from quizsvc.errors import NotAllowedError, UnavailableError
from quizsvc.services import accounts as service
from quizsvc.web import access
from quizsvc.web.accounts.forms import SignInForm
from quizsvc.web.current import house, now
from quizsvc.web.limits import SIGN_IN, limiter

accounts = Blueprint("accounts", __name__)


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
        token = _sign_in(form)
    except (NotAllowedError, UnavailableError) as refused:
        return _page(form, refused), 429 if isinstance(refused, UnavailableError) else 422
    return access.hand_out(_to_the_page_asked_for(), token)


@accounts.post("/sign-out")
def sign_out() -> Response:
    service.sign_out(house(), access.token(), now=now())
    session.clear()
    flash("You are signed out.")
    return access.take_back(redirect(url_for("accounts.sign_in")))


def _sign_in(form: SignInForm) -> str:
    source = get_remote_address()
    name, password = form.name.data.strip(), form.password.data
    return service.sign_in(house(), name, password, now=now(), source=source)


def _to_the_page_asked_for() -> Response:
    session.clear()  # a new form token for the new person
    return redirect(access.page_within(request.args.get("next", "")))


def _page(form: FlaskForm, refusal: Exception | None = None) -> str:
    return render_template("accounts/sign_in.html", form=form, refusal=refusal)
