"""A scheme of certification: what is asked, how, and for how long the certificate stands.

The words follow ISO/IEC 17024:2012 in spirit: scope, prerequisites, blueprint, cut score,
practical tasks, validity, renewal.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any

from quizsvc.errors import InputError
from quizsvc.items.model import Level
from quizsvc.items.topics import find_topic

MOST_QUESTIONS, MOST_PILOTS, MOST_TASKS, MOST_STEPS = 120, 10, 20, 40
MOST_MINUTES, MOST_TRIES, MOST_DAYS, MOST_MONTHS = 600, 10, 365, 120
LONGEST_WORDS = 4000


class VersionState(StrEnum):
    DRAFT = "draft"
    PUBLISHED = "published"
    REPLACED = "replaced"


@dataclass(frozen=True, slots=True)
class BlueprintRow:
    """So many questions of a topic at a level."""

    topic: str
    level: str
    count: int


@dataclass(frozen=True, slots=True)
class Step:
    words: str
    critical: bool = False  # missed: the whole task is failed


@dataclass(frozen=True, slots=True)
class Task:
    """A piece of hands-on work, signed off by an assessor who saw it done."""

    id: str
    title: str
    steps: tuple[Step, ...]
    needed: int  # how many steps have to be done; every critical one among them
    two_persons: bool = False
    caution: str = ""


@dataclass(frozen=True, slots=True)
class SchemeTerms:
    """All of a scheme's version but its cut score; ``sheets`` empty means every engine here."""

    title: str
    scope: str
    blueprint: tuple[BlueprintRow, ...]
    job_analysis: str = ""  # where the topics and their weights come from
    prerequisites: str = ""  # in words
    needs_schemes: tuple[int, ...] = ()  # certificates a candidate must hold
    sheets: tuple[str, ...] = ()
    minutes: int = 60
    invigilated: bool = True
    tries: int = 3
    wait_days: int = 14
    tasks: tuple[Task, ...] = ()
    valid_months: int = 24
    renew_from_days: int = 90  # before the end
    independent_decision: bool = True  # whoever taught or assessed doesn't certify alone
    expected_tolerance: float = 0.5  # points between forms, for somebody at the cut
    information_share: float = 0.15  # of the typical form's information
    most_exposed: int = 50  # forms in a year that an item may stand in
    pilot_items: tuple[str, ...] = ()  # tried out, never counted
    pilots: int = 0  # of these in each form

    @property
    def counted(self) -> int:
        return sum(row.count for row in self.blueprint)

    def task(self, task_id: str) -> Task:
        for task in self.tasks:
            if task.id == task_id:
                return task
        raise InputError(
            "the scheme has no such task.",
            field="task",
            value=task_id[:40],
            remedy="Choose one of those on the page.",
        )


def check_scheme(terms: SchemeTerms) -> SchemeTerms:
    """Return the terms if people can be certified by them.

    Raises:
        InputError: names the field, what is wrong with it and what to do.
    """
    if not 1 <= len(terms.title) <= 120:
        raise _wrong("title", terms.title[:40], "a title has from 1 to 120 characters.", "Name it.")
    if not terms.scope.strip():
        raise _wrong(
            "scope", "", "it doesn't say what it certifies.", "Write one or two sentences."
        )
    for name in ("scope", "job_analysis", "prerequisites"):
        if len(getattr(terms, name)) > LONGEST_WORDS:
            raise _wrong(name, "…", "that is too long.", f"At most {LONGEST_WORDS} characters.")
    _check_blueprint(terms)
    for field, low, high in _RANGES:
        value = getattr(terms, field)
        if not low <= value <= high:
            raise _wrong(
                field.replace("_", " "), value, "that is out of range.", f"{low} to {high}."
            )
    _check_tasks(terms.tasks)
    return terms


_RANGES = (
    ("minutes", 1, MOST_MINUTES),
    ("tries", 1, MOST_TRIES),
    ("wait_days", 0, MOST_DAYS),
    ("valid_months", 1, MOST_MONTHS),
    ("renew_from_days", 0, MOST_DAYS),
    ("expected_tolerance", 0.05, 20),
    ("information_share", 0.01, 1),
    ("most_exposed", 1, 100_000),
    ("pilots", 0, MOST_PILOTS),
)


def _check_blueprint(terms: SchemeTerms) -> None:
    if not 1 <= terms.counted <= MOST_QUESTIONS:
        raise _wrong(
            "blueprint",
            terms.counted,
            "the blueprint asks for that many questions.",
            f"Ask for 1 to {MOST_QUESTIONS}.",
        )
    for row in terms.blueprint:
        find_topic(row.topic)
        if row.level not in set(Level) or row.count < 1:
            raise _wrong("blueprint", f"{row.level} {row.count}", "no such row.", "Choose a level.")
    if terms.pilots > len(terms.pilot_items):
        raise _wrong(
            "pilots",
            terms.pilots,
            "fewer questions are named to be tried out.",
            "Name more of them, or ask for fewer.",
        )


def _check_tasks(tasks: tuple[Task, ...]) -> None:
    if len(tasks) > MOST_TASKS or len({task.id for task in tasks}) < len(tasks):
        raise _wrong("tasks", len(tasks), "too many tasks, or two of one name.", "Name them apart.")
    for task in tasks:
        if not task.title.strip() or not 1 <= len(task.steps) <= MOST_STEPS:
            raise _wrong("tasks", task.title[:40], "a task needs a name and steps.", "Write them.")
        critical = sum(step.critical for step in task.steps)
        if not max(1, critical) <= task.needed <= len(task.steps):
            raise _wrong(
                "tasks",
                f"{task.title[:40]}: {task.needed}",
                "so many steps can't be asked for.",
                f"Ask for {max(1, critical)} to {len(task.steps)}.",
            )


def as_text(terms: SchemeTerms) -> str:
    """Return the terms as the JSON that is stored."""
    return json.dumps(asdict(terms), ensure_ascii=False, sort_keys=True)


def from_text(text: str) -> SchemeTerms:
    """Return the terms that were stored as this JSON."""
    data: dict[str, Any] = json.loads(text)
    data["blueprint"] = tuple(BlueprintRow(**row) for row in data["blueprint"])
    data["tasks"] = tuple(
        Task(**(task | {"steps": tuple(Step(**step) for step in task["steps"])}))
        for task in data["tasks"]
    )
    for name in ("needs_schemes", "sheets", "pilot_items"):
        data[name] = tuple(data[name])
    return SchemeTerms(**data)


def _wrong(field: str, value: object, problem: str, remedy: str) -> InputError:
    return InputError(problem, field=field, value=value, remedy=remedy)
