"""The shop's blueprint, which its modules of views add to."""

from __future__ import annotations

from flask import Blueprint

from quizsvc.rules.permissions import May, allows
from quizsvc.web.access import actor

shop = Blueprint("shop", __name__, url_prefix="/shop")


@shop.app_context_processor
def rights() -> dict[str, object]:
    """Let the pages lead only to what the actor may see."""
    return {"may": lambda deed: allows(actor(), May[deed])}


@shop.app_template_filter()
def day(when: object) -> str:
    """Return a date in words: "1 March 2026"."""
    return f"{when.day} {when:%B %Y}"  # type: ignore[attr-defined]


@shop.app_template_filter()
def half_days(effort: float) -> str:
    """Return an effort in words: "about 2.5 half days"."""
    return f"about {effort:g} half {'day' if effort == 1 else 'days'}"
