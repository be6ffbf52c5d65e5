"""Practice: what to practise, the next item, its answer, its outcome, and the history."""

from __future__ import annotations

from datetime import datetime

from quizsvc.figures.scene import Scene
from quizsvc.rules.actors import Actor
from quizsvc.services.house import House
from quizsvc.services.shown import Given, HistoryPage, OpenItem, Outcome, PracticeOverview


def overview(house: House, actor: Actor, now: datetime) -> PracticeOverview:
    """Return where the actor stands in every topic, and what helps most now."""
    raise NotImplementedError


def put_next(
    house: House, actor: Actor, *, topic: str | None = None, sheet: str | None = None, now: datetime
) -> str:
    """Offer an item and return its token; ``topic`` None means what helps most now."""
    raise NotImplementedError


def open_offer(house: House, actor: Actor, token: str, *, now: datetime) -> OpenItem:
    """Return the offered item as put to the actor, without key, seed or misconception.

    Raises:
        NotFoundError: no such offer, or another person's.
        ConflictError: the offer is stale.
    """
    raise NotImplementedError


def answer(house: House, actor: Actor, token: str, given: Given, *, now: datetime) -> Outcome:
    """Mark and store the answer; a second call returns the first outcome, changing nothing.

    Raises:
        InputError: the answer is empty or cannot be read; nothing was stored.
    """
    raise NotImplementedError


def outcome(house: House, actor: Actor, token: str, *, now: datetime) -> Outcome:
    """Return the outcome of an answered offer.

    Raises:
        ConflictError: the offer is not answered yet.
    """
    raise NotImplementedError


def figure(house: House, actor: Actor, token: str, *, solution: bool, now: datetime) -> Scene:
    """Return the item's figure, or with ``solution`` the annotated one once answered.

    Raises:
        NotFoundError: the item has no figure.
        NotAllowedError: the solution was asked for before the answer.
    """
    raise NotImplementedError


def history(
    house: House, actor: Actor, *, topic: str | None = None, page: int = 1, now: datetime
) -> HistoryPage:
    """Return a page of the actor's own answers, newest first."""
    raise NotImplementedError
