"""Who is asking: the actor behind the session token in a cookie, looked up on every request.

The token stands for a session kept on the server; roles are read anew each time, so that a
role taken away counts at the next request and signing out revokes at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ParamSpec, TypeVar
from urllib.parse import urlsplit

import flask_login
from flask import Flask, Request, current_app, redirect, request, url_for
from flask_login import LoginManager, UserMixin, current_user
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response as BaseResponse

from quizsvc.rules.actors import Actor
from quizsvc.services import accounts
from quizsvc.web.current import house, now

P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True)
class SignedIn(UserMixin):  # type: ignore[misc]
    """What Flask-Login keeps as the current user: our actor and nothing else."""

    actor: Actor

    def get_id(self) -> str:
        return str(self.actor.person_id)


def init_app(app: Flask) -> None:
    # Flask-Login's own session is never written: the request loader alone decides.
    manager = LoginManager()
    manager.session_protection = None
    manager.request_loader(_load)
    manager.unauthorized_handler(_ask_to_sign_in)
    manager.init_app(app, add_context_processor=False)


def login_required(view: Callable[P, R]) -> Callable[P, R]:
    """Send whoever is not signed in to the sign-in page."""
    guarded: Callable[P, R] = flask_login.login_required(view)
    return guarded


def actor() -> Actor:
    """Return the actor of this request; for views behind ``login_required``."""
    signed_in: Actor = current_user.actor
    return signed_in


def actor_or_none() -> Actor | None:
    return current_user.actor if current_user.is_authenticated else None


def cookie_name() -> str:
    return "__Host-place" if house().settings.cookie_secure else "place"


def token() -> str:
    return request.cookies.get(cookie_name(), "")


def hand_out(response: BaseResponse, new_token: str) -> BaseResponse:
    """Put the session token into the answer's cookie; it ends with the browser's session.

    The session this browser had before goes on no more.
    """
    accounts.sign_out(house(), token(), now=now())
    secure = house().settings.cookie_secure
    response.set_cookie(
        cookie_name(), new_token, path="/", secure=secure, httponly=True, samesite="Lax"
    )
    return response


def take_back(response: BaseResponse) -> BaseResponse:
    secure = house().settings.cookie_secure
    response.delete_cookie(cookie_name(), path="/", secure=secure, httponly=True, samesite="Lax")
    response.headers["Clear-Site-Data"] = '"storage"'
    return response


def page_within(target: str) -> str:
    """Return ``target`` if it is a page of this site, else the first page."""
    parts = urlsplit(target)
    ours = target.startswith("/") and not target.startswith("//") and "\\" not in target
    return target if ours and not parts.scheme and not parts.netloc else url_for("home.first")


def _load(_request: Request) -> SignedIn | None:
    found = accounts.actor_for_token(house(), token(), now=now()) if token() else None
    return SignedIn(found) if found else None


def _ask_to_sign_in() -> BaseResponse:
    return redirect(url_for("accounts.sign_in", next=_page_asked_for()))


def _page_asked_for() -> str | None:
    """Return the address to come back to: only pages that can be asked for by GET."""
    if request.path == "/":
        return None
    try:
        current_app.url_map.bind("").match(request.path, "GET")
    except HTTPException:
        return None
    return request.full_path.rstrip("?")
