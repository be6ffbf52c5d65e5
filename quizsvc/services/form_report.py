"""How a test as a whole measured: reliability with its interval, error, each question's part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quizsvc.errors import ConflictError
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.scoring import classical
from quizsvc.scoring.classical import Interval
from quizsvc.services.assigning.access import watches
from quizsvc.services.house import House
from quizsvc.services.item_titles import item_title
from quizsvc.services.item_words import Told
from quizsvc.store import assignment_questions, form_marks

FEWEST_PEOPLE = 5
GOOD, FAIR = 0.8, 0.6


@dataclass(frozen=True, slots=True)
class QuestionPart:
    place: int
    item_ref: str
    title: str
    share: float
    link: float  # corrected point-biserial
    upper_lower: float


@dataclass(frozen=True, slots=True)
class FormReport:
    title: str
    people: int
    questions: tuple[QuestionPart, ...]
    mean: float
    spread: float
    kr20: float
    interval: Interval
    error: float  # standard error of measurement, in points
    says: Told


def form_report(house: House, actor: Actor, assignment_id: int) -> FormReport:
    """Return how an assignment measured, from everybody's first finished try.

    Raises:
        NotFoundError: there is no such assignment the actor may watch.
        ConflictError: too few have finished, or all have the same points.
    """
    require(actor, May.SEE_CLASS_RECORDS)
    with house.read_for_report() as connection:
        held = watches(connection, actor, assignment_id)
        questions = {
            one.id: one for one in assignment_questions.questions_of(connection, assignment_id)
        }
        marks = form_marks.first_tries(connection, assignment_id)
    order, matrix = _matrix(marks)
    _refuse_few(held.title, matrix)
    totals = matrix.sum(axis=1)
    kr20 = classical.kr20(matrix)
    links = classical.corrected_point_biserials(matrix)
    gaps = classical.upper_lower_indices(matrix)
    shares = classical.difficulty(matrix)
    spread = float(totals.std())
    interval = classical.alpha_interval(kr20, *matrix.shape)
    error = classical.standard_error_of_measurement(spread, max(0.0, kr20))
    return FormReport(
        held.title,
        matrix.shape[0],
        tuple(
            QuestionPart(
                questions[question].place,
                questions[question].item_ref,
                item_title(questions[question].item_ref),
                float(shares[n]),
                float(links[n]),
                float(gaps[n]),
            )
            for n, question in enumerate(order)
        ),
        float(totals.mean()),
        spread,
        kr20,
        interval,
        error,
        _told(kr20, error, len(order)),
    )


def _matrix(marks: tuple[form_marks.Mark, ...]) -> tuple[list[int], np.ndarray]:
    """Return the questions everybody was put, and persons × questions of 0 and 1."""
    by_person: dict[int, dict[int, bool]] = {}
    for one in marks:
        by_person.setdefault(one.sitting_id, {})[one.question_id] = one.correct
    every = set.intersection(*(set(one) for one in by_person.values())) if by_person else set()
    order = sorted(every)
    rows = [[float(one[question]) for question in order] for one in by_person.values()]
    return order, np.array(rows, dtype=float).reshape(len(rows), len(order))


def _refuse_few(title: str, matrix: np.ndarray) -> None:
    people, questions = matrix.shape
    if people < FEWEST_PEOPLE or questions < 2 or matrix.sum(axis=1).std() == 0:
        raise ConflictError(
            "this test cannot be analysed yet: it needs at least "
            f"{FEWEST_PEOPLE} people who finished, two questions, and points that differ.",
            field="test",
            value=title,
            remedy="Look again when more have finished.",
        )


def _told(kr20: float, error: float, questions: int) -> Told:
    says = (
        f"About {max(0.0, kr20):.0%} of the differences in points are real; a person's points are "
        f"uncertain by about ±{1.96 * error:.1f} (95 %)."
    )
    if kr20 >= GOOD:
        return Told(says, "Good enough to decide about single people with care.")
    if kr20 < 0.05:
        return Told(says, "Do not decide anything about anybody by it; look at each question.")
    factor = classical.length_for_reliability(kr20, GOOD)
    wanted = round(questions * factor)
    verdict = "Fair for a class, not for deciding about a person" if kr20 >= FAIR else "Weak"
    return Told(
        says, f"{verdict}; about {wanted} such questions would reach {GOOD} (Spearman-Brown)."
    )
