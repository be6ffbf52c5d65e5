"""The invented shop's own engine sheet: a copy of the inline four that was measured again later."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from quizsvc.rules.actors import Actor
from quizsvc.services.edit_sheets import Draft, save
from quizsvc.services.house import House
from quizsvc.sheets.loading import shipped_sheets

ENGINE = "stand-inline-four"
TITLE = "Engine on the stand, inline four (invented)"


def state_first(house: House, actor: Actor, *, now: datetime) -> None:
    """Publish the first revision, for the engines of the earlier build dates."""
    save(house, actor, Draft(_content(), note="First issue.", publish=True), now=now)


def measure_again(house: House, actor: Actor, *, now: datetime) -> None:
    """Publish a second revision with another cam card, and leave a third as a draft."""
    later = _content()
    later["valves"]["events"]["ivo_btdc"] += 4.0
    note = "Intake opens 4° earlier: read again from the cam card (invented)."
    save(house, actor, Draft(later, 1, note, publish=True), sheet_id=ENGINE, now=now)
    later["fasteners"][0]["torque_nm"] += 5.0
    note = "Torque to be held against the maker's information before this is published."
    save(house, actor, Draft(later, 2, note), sheet_id=ENGINE, now=now)


def _content() -> dict[str, Any]:
    stated = shipped_sheets()["demo-inline-four"].model_dump(mode="json", exclude_none=True)
    return stated | {"id": ENGINE, "title": TITLE, "invented": True, "note": ""}
