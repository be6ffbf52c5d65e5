"""The second page of signing in: the code, after the password was right."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, session, url_for
from flask_limiter.util import get_remote_address
from werkzeug.wrappers import Response

from quizsvc.errors import NotAllowedError, NotFoundError
from quizsvc.services import guess_brake
from quizsvc.services import second_step as service
from quizsvc.web import access, words
from quizsvc.web.accounts.forms import typed_code
from quizsvc.web.accounts.place import accounts
from quizsvc.web.current import house, now
from quizsvc.web.limits import SIGN_IN, limiter


@accounts.get("/sign-in/code")
def code() -> str | Response:
    if not service.is_half_way(house(), _token(), now=now()):
        return _to_the_start()
    return _page()


@accounts.post("/sign-in/code")
@limiter.limit(SIGN_IN, key_func=get_remote_address)
def check_code() -> Response | tuple[str, int]:
    try:
        token = _finish()
    except NotFoundError as over:
        return _to_the_start(over)
    except NotAllowedError as refused:
        return _page(refused), 422
    except guess_brake.BrakedError as refused:
        return _page(refused), 429
    return take_back(access.hand_out(to_the_page_asked_for(), token))


def await_code(half: service.HalfWay) -> Response:
    """Lead on to the second page; what stands for half a sign-in goes into a cookie."""
    response = redirect(url_for("accounts.code", next=_wished()))
    secure = house().settings.cookie_secure
    response.set_cookie(
        _cookie_name(), half.token, path="/", secure=secure, httponly=True, samesite="Strict"
    )
    return response


def to_the_page_asked_for() -> Response:
    session.clear()  # a new form token for the new person
    return redirect(access.page_within(request.args.get("next", "")))


def take_back(response: Response) -> Response:
    secure = house().settings.cookie_secure
    response.delete_cookie(
        _cookie_name(), path="/", secure=secure, httponly=True, samesite="Strict"
    )
    return response


def _finish() -> str:
    typed, source = typed_code(request.form), get_remote_address()
    return service.finish(house(), _token(), typed, now=now(), source=source)


def _to_the_start(over: NotFoundError | None = None) -> Response:
    if over is not None:
        flash(f"{words.sentence(over.problem)} {over.remedy}")
    return take_back(redirect(url_for("accounts.sign_in", next=_wished())))


def _wished() -> str | None:
    return request.args.get("next") or None


def _cookie_name() -> str:
    return "__Host-half" if house().settings.cookie_secure else "half"


def _token() -> str:
    return request.cookies.get(_cookie_name(), "")


def _page(refusal: Exception | None = None) -> str:
    return render_template("accounts/code.html", refusal=refusal)
