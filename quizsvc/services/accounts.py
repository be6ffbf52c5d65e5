"""Signing in and out: passwords, sessions kept on the server, and a brake on guessing."""

from __future__ import annotations

from datetime import datetime

from quizsvc.rules.actors import Actor
from quizsvc.services.house import House


def sign_in(house: House, sign_in_name: str, password: str, *, now: datetime, source: str) -> str:
    """Return a new session token; ``source`` is the address the request came from.

    Raises:
        NotAllowedError: wrong name or password (never says which).
        UnavailableError: too many attempts; says when to try again.
    """
    raise NotImplementedError


def actor_for_token(house: House, token: str, *, now: datetime) -> Actor | None:
    """Return who is behind the token with the roles held at this moment, or None."""
    raise NotImplementedError


def sign_out(house: House, token: str, *, now: datetime) -> None:
    """Revoke the session on the server; an unknown token changes nothing."""
    raise NotImplementedError
