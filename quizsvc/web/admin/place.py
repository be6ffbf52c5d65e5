"""The administration's blueprint, which its modules of views add to."""

from __future__ import annotations

from flask import Blueprint

from quizsvc.rules.permissions import May, allows
from quizsvc.web.access import actor

admin = Blueprint("admin", __name__, url_prefix="/people")


@admin.app_context_processor
def rights() -> dict[str, object]:
    """Let the pages lead only to what the actor may see."""
    return {
        "may_keep_people": lambda: allows(actor(), May.KEEP_PEOPLE),
        "may_read_log": lambda: allows(actor(), May.READ_AUDIT),
    }
