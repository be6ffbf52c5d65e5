"""Judge the questions of a panel's reference form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotAllowedError
from quizsvc.figures.scene import Scene
from quizsvc.items.topics import find_topic
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.marking import right_words
from quizsvc.services.auditing import note
from quizsvc.services.certifying import schemes as scheme_service
from quizsvc.services.certifying.panels import items_of_panel, rows_of_panel
from quizsvc.services.certifying.schemes import Held
from quizsvc.services.house import House
from quizsvc.store import panels
from quizsvc.store.panels import Judge, StoredPanel


@dataclass(frozen=True, slots=True)
class JudgedQuestion:
    """A question as a judge sees it, with its answer and what they have estimated."""

    place: int
    topic_title: str
    level: str
    prompt: str
    options: tuple[str, ...]
    right: str
    caution: str
    figure: Scene | None
    chance: float | None


def to_judge(house: House, actor: Actor) -> tuple[Held, ...]:
    """Return the versions whose panels wait for the actor."""
    require(actor, May.JUDGE)
    with house.read() as connection:
        return tuple(
            scheme_service.find(connection, actor, version_id)
            for version_id in panels.panels_to_judge(connection, actor.person_id)
        )


def sheet_for_judge(
    house: House, actor: Actor, version_id: int
) -> tuple[Held, tuple[JudgedQuestion, ...]]:
    """Return what the actor is to estimate; only judges of the panel see it."""
    require(actor, May.JUDGE)
    with house.read() as connection:
        held, panel, _ = _judged_by(connection, actor, version_id)
        mine = panels.estimates_of(connection, panel.id).get(actor.person_id, {})
        items = items_of_panel(connection, house, panel)
    return held, tuple(
        JudgedQuestion(
            place,
            find_topic(item.topic).title,
            item.level.value,
            item.prompt,
            tuple(option.text for option in item.shown_options) or item.things or item.left,
            right_words(item),
            item.caution,
            item.figure() if item.figure else None,
            mine.get(place),
        )
        for place, item in enumerate(items, 1)
    )


def estimate(
    house: House,
    actor: Actor,
    version_id: int,
    chances: Mapping[int, float],
    *,
    finish: bool,
    now: datetime,
) -> None:
    """Keep the actor's estimates, 0 to 1 by place; finished ones are not changed any more.

    Raises:
        InputError: a chance out of range, or one is missing at the end.
        ConflictError: the actor has finished, or the panel is closed.
    """
    require(actor, May.JUDGE)
    with house.write() as connection:
        held, panel, judge = _judged_by(connection, actor, version_id, lock=True)
        if panel.closed_at is not None or judge.finished_at is not None:
            raise ConflictError(
                "these estimates are handed in and stand.",
                field="panel",
                value=held.terms.title,
                remedy="Nothing more is to be done.",
            )
        places = range(1, len(rows_of_panel(panel)) + 1)
        _check_chances(chances, places, finish=finish)
        panels.keep_estimates(
            connection,
            panel.id,
            actor.person_id,
            dict(chances),
            finished_at=now if finish else None,
        )
        if finish:
            note(
                connection,
                actor,
                Action.ESTIMATES_GIVEN,
                f"scheme {held.stored.scheme_id}",
                now=now,
                version=held.stored.version,
            )


def _judged_by(
    connection: Connection, actor: Actor, version_id: int, *, lock: bool = False
) -> tuple[Held, StoredPanel, Judge]:
    held = scheme_service.find(connection, actor, version_id)
    panel = panels.panel_of(connection, version_id, lock=lock)
    judges = panels.judges_of(connection, panel.id) if panel else ()
    mine = next((one for one in judges if one.person_id == actor.person_id), None)
    if panel is None or mine is None:
        raise NotAllowedError(
            "you are no judge of this panel.",
            field="judge",
            value=actor.name,
            remedy="Whoever opened the panel chooses its judges.",
        )
    return held, panel, mine


def _check_chances(chances: Mapping[int, float], places: range, *, finish: bool) -> None:
    for place, chance in chances.items():
        if place not in places or not 0 <= chance <= 1:
            raise InputError(
                "an estimate is from 0 to 100 %.",
                field=f"question {place}",
                value=f"{chance * 100:g} %",
                remedy="Write how many of 100 people just good enough would be right.",
            )
    missing = [place for place in places if place not in chances]
    if finish and missing:
        raise InputError(
            "not every question has an estimate.",
            field=f"question {missing[0]}",
            value="",
            remedy=f"Missing: {', '.join(map(str, missing))}.",
        )
