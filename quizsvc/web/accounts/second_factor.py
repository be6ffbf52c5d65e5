"""One's own second factor: set up, turned on, renewed, turned off."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from flask_limiter.util import get_remote_address as source
from werkzeug.wrappers import Response

from quizsvc.errors import ConflictError, NotAllowedError, QuizsvcError
from quizsvc.services import second_factor as service
from quizsvc.services.guess_brake import BrakedError
from quizsvc.services.second_factor import Proof
from quizsvc.web.access import actor, login_required
from quizsvc.web.accounts.forms import typed_code
from quizsvc.web.accounts.place import accounts
from quizsvc.web.accounts.qr import qr_code
from quizsvc.web.current import house, now
from quizsvc.web.limits import SIGN_IN, limiter

Answer = Response | str | tuple[str, int]
STATUS: dict[type[QuizsvcError], int] = {
    NotAllowedError: 422,
    ConflictError: 409,
    BrakedError: 429,
}


@accounts.get("/account")
@login_required
def own() -> str:
    standing = service.standing(house(), actor(), now=now())
    return render_template("accounts/account.html", standing=standing)


@accounts.get("/account/second-factor")
@login_required
def second_factor() -> str:
    return _page()


@accounts.post("/account/second-factor/begin")
@login_required
def begin_second_factor() -> Answer:
    try:
        service.begin(house(), actor(), now=now())
    except ConflictError as refusal:
        return _refused(refusal, "begin")
    return redirect(url_for("accounts.second_factor"))


@accounts.post("/account/second-factor/on")
@login_required
@limiter.limit(SIGN_IN)
def turn_on() -> Answer:
    try:
        codes = service.turn_on(house(), actor(), _proof(), now=now(), source=source())
    except tuple(STATUS) as refusal:
        return _refused(refusal, "on")
    return render_template("accounts/recovery_codes.html", codes=codes, first=True)


@accounts.post("/account/second-factor/codes")
@login_required
@limiter.limit(SIGN_IN)
def renew_codes() -> Answer:
    try:
        codes = service.renew_recovery_codes(house(), actor(), _proof(), now=now(), source=source())
    except tuple(STATUS) as refusal:
        return _refused(refusal, "codes")
    return render_template("accounts/recovery_codes.html", codes=codes, first=False)


@accounts.post("/account/second-factor/off")
@login_required
@limiter.limit(SIGN_IN)
def turn_off() -> Answer:
    try:
        service.turn_off(house(), actor(), _proof(), now=now(), source=source())
    except tuple(STATUS) as refusal:
        return _refused(refusal, "off")
    flash("Your second factor is off. The password alone signs you in.")
    return redirect(url_for("accounts.second_factor"))


def _proof() -> Proof:
    return Proof(request.form.get("password", ""), typed_code(request.form))


def _refused(refusal: QuizsvcError, deed: str) -> tuple[str, int]:
    status = next(STATUS[kind] for kind in type(refusal).__mro__ if kind in STATUS)
    return _page(refusal, deed), status


def _page(refusal: QuizsvcError | None = None, deed: str = "") -> str:
    place, who, at = house(), actor(), now()
    secret = service.new_secret(place, who, now=at)
    return render_template(
        "accounts/second_factor.html",
        standing=service.standing(place, who, now=at),
        secret=secret,
        picture=qr_code(secret.address) if secret else "",
        refusal=refusal,
        deed=deed,
    )
