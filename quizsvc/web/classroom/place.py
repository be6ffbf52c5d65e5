"""The classroom's blueprint, which its modules of views add to."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from flask import Blueprint
from markupsafe import Markup

classroom = Blueprint("classroom", __name__, url_prefix="/classroom")


@classroom.app_template_filter()
def kept_drawing(svg: str) -> Markup:
    """Return a figure that was kept drawn as it goes into a page."""
    return Markup(svg)  # noqa: S704 - our own renderer wrote it, and escaped every word


@classroom.app_template_filter()
def span(length: timedelta | None) -> str:
    """Return a length of time as minutes and seconds: "12 min 05 s"."""
    if length is None:
        return "no limit"
    seconds = max(0, round(length.total_seconds()))
    return f"{seconds // 60}\N{NO-BREAK SPACE}min {seconds % 60:02}\N{NO-BREAK SPACE}s"


@classroom.app_template_filter()
def pairs(things: Iterable[object], value: str, words: str) -> list[tuple[object, str]]:
    """Return things as (value, words) pairs for a list to choose from."""
    return [(getattr(thing, value), getattr(thing, words)) for thing in things]
