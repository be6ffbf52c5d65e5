"""How the learners of a class stand: their stored competence, in one statement."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, select

from quizsvc.store.classes import ClassMember, Part
from quizsvc.store.competence import GeneralCompetence, GeneralRow, TopicCompetence, TopicRow


@dataclass(frozen=True, slots=True)
class PersonLevel:
    person_id: int
    general: GeneralRow
    topic: TopicRow


def levels_of_class(connection: Connection, class_id: int) -> tuple[PersonLevel, ...]:
    """Return a row for each learner of a class and topic they have answered in."""
    rows = connection.execute(
        select(
            TopicCompetence.person_id,
            GeneralCompetence.mean,
            GeneralCompetence.variance,
            GeneralCompetence.answers,
            GeneralCompetence.last_at,
            TopicCompetence.topic,
            TopicCompetence.mean,
            TopicCompetence.variance,
            TopicCompetence.answers,
            TopicCompetence.right_answers,
            TopicCompetence.last_at,
        )
        .join(GeneralCompetence, GeneralCompetence.person_id == TopicCompetence.person_id)
        .join(ClassMember, ClassMember.person_id == TopicCompetence.person_id)
        .where(
            ClassMember.class_id == class_id,
            ClassMember.part == Part.LEARNER.value,
            ClassMember.left_at.is_(None),
        )
    ).all()
    return tuple(PersonLevel(row[0], GeneralRow(*row[1:5]), TopicRow(*row[5:])) for row in rows)
