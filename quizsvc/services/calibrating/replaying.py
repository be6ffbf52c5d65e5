"""Bring every stored competence up to date with new constants."""

from __future__ import annotations

from sqlalchemy import Connection

from quizsvc.items.model import Kind, Level
from quizsvc.scoring.competence import ItemParameters
from quizsvc.scoring.standing import item_parameters
from quizsvc.services.calibrating.rounds import Progress
from quizsvc.services.filter_constants import settings_in
from quizsvc.services.house import House
from quizsvc.services.replay import GUESSED, Counted, recompute, replay
from quizsvc.store import calibrations, competence
from quizsvc.store.calibrations import LoggedAnswer

PEOPLE_AT_ONCE = 10  # brought up to date in one transaction


def bring_up_to_date(house: House, progress: Progress) -> None:
    """Compute every stored competence anew, so that all are believed by the same constants."""
    with house.read() as connection:
        people = competence.people_known(connection)
        marked_again = calibrations.people_marked_again(connection)
    for start in range(0, len(people), PEOPLE_AT_ONCE):
        some = people[start : start + PEOPLE_AT_ONCE]
        with house.write() as connection:
            for person_id in some:
                if person_id not in marked_again:
                    _replay(connection, person_id)
        for person_id in some:
            if person_id in marked_again:
                recompute(house, person_id)
        progress("Bringing competences up to date", start + len(some), len(people))


def _replay(connection: Connection, person_id: int) -> None:
    """Replay a person's answers; guessing goes by the kind, without drawing every item again."""
    competence.lock_general(connection, person_id)
    fitted = calibrations.items_fitted(connection)
    answers = [
        Counted(one.topic, _item(one, fitted), one.correct, one.answered_at)
        for one in calibrations.log_of_person(connection, person_id)
    ]
    done = replay(answers, settings_in(connection))
    competence.replace_all(connection, person_id, done.general, tuple(done.topics.values()))


def _item(one: LoggedAnswer, fitted: dict[str, tuple[float, float]]) -> ItemParameters:
    guessing = GUESSED.get(Kind(one.kind), 0.0)
    return item_parameters(fitted.get(one.item_ref), Level(one.level), guessing)
