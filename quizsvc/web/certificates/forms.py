"""From the fields of the pages of certification to what the services take, and back."""

from __future__ import annotations

import re

from werkzeug.datastructures import MultiDict

from quizsvc.errors import InputError
from quizsvc.items.model import Level
from quizsvc.items.topics import TOPICS
from quizsvc.rules.schemes import BlueprintRow, SchemeTerms, Step, Task
from quizsvc.web.whole_numbers import key_number, whole_number

Fields = MultiDict[str, str]
CRITICAL = "!"  # before a step of a checklist
_WHOLE = {
    "minutes": "minutes",
    "tries": "tries",
    "wait_days": "days between tries",
    "valid_months": "months of validity",
    "renew_from_days": "days before the end",
    "most_exposed": "most forms a year",
    "pilots": "trial questions",
}


def terms_in(fields: Fields) -> SchemeTerms:
    """Return the terms of a scheme.

    Raises:
        InputError: a field cannot be read; names it.
    """
    return SchemeTerms(
        title=_line(fields, "title"),
        scope=fields.get("scope", "").strip(),
        job_analysis=fields.get("job_analysis", "").strip(),
        prerequisites=fields.get("prerequisites", "").strip(),
        needs_schemes=tuple(key_number(text, "schemes") for text in fields.getlist("needs")),
        sheets=tuple(fields.getlist("sheet")),
        blueprint=_blueprint(fields),
        tasks=_tasks(fields),
        invigilated="invigilated" in fields,
        independent_decision="independent" in fields,
        expected_tolerance=number(fields.get("expected_tolerance", ""), "tolerance in points"),
        information_share=number(fields.get("information_percent", ""), "tolerance in %") / 100,
        pilot_items=tuple(fields.get("pilot_items", "").split()),
        **{name: whole_number(fields.get(name, ""), said) for name, said in _WHOLE.items()},
    )


def fields_of(terms: SchemeTerms) -> Fields:
    """Return terms as the fields of their page."""
    fields: Fields = MultiDict(
        {name: str(getattr(terms, name)) for name in (*_WHOLE, "title", "scope")}
    )
    fields.update(
        {
            "job_analysis": terms.job_analysis,
            "prerequisites": terms.prerequisites,
            "expected_tolerance": f"{terms.expected_tolerance:g}",
            "information_percent": f"{100 * terms.information_share:g}",
            "pilot_items": "\n".join(terms.pilot_items),
        }
    )
    fields.setlist("needs", [str(one) for one in terms.needs_schemes])
    fields.setlist("sheet", list(terms.sheets))
    for name, holds in (
        ("invigilated", terms.invigilated),
        ("independent", terms.independent_decision),
    ):
        if holds:
            fields[name] = "1"
    for row in terms.blueprint:
        fields[f"cell-{row.topic}-{row.level}"] = str(row.count)
    for place, task in enumerate(terms.tasks, 1):
        fields.update(_task_fields(task, place))
    return fields


def blank() -> Fields:
    """Return the fields of a new scheme, filled in with what is usual."""
    return fields_of(SchemeTerms(title="", scope="", blueprint=()))


def task_places(fields: Fields) -> range:
    """Return the places of tasks to show: those filled in, and one more."""
    filled = [int(name[5:-6]) for name in fields if re.fullmatch(r"task-\d{1,2}-title", name)]
    return range(1, max(filled, default=0) + 2)


def chances_in(fields: Fields) -> dict[int, float]:
    """Return a judge's estimates, 0 to 1, by the question's place; empty ones are left out."""
    return {
        int(name[7:]): number(text, f"question {name[7:]}") / 100
        for name, text in fields.items()
        if re.fullmatch(r"chance-\d{1,3}", name) and text.strip()
    }


def steps_in(fields: Fields) -> frozenset[int]:
    return frozenset(whole_number(text, "steps") for text in fields.getlist("step"))


def number(text: str, field: str) -> float:
    """Return a number, written with a point or a comma.

    Raises:
        InputError: it is none.
    """
    plain = text.strip().removesuffix("%").strip().replace(",", ".")
    if not re.fullmatch(r"\d{1,6}(\.\d{1,6})?", plain, re.ASCII):
        raise InputError(
            "that is no number that can be used here.",
            field=field,
            value=text[:20],
            remedy="Write it like 65 or 12.5.",
        )
    return float(plain)


def _blueprint(fields: Fields) -> tuple[BlueprintRow, ...]:
    return tuple(
        BlueprintRow(topic.id, level.value, whole_number(text, f"{topic.title}, {level.value}"))
        for topic in TOPICS
        for level in Level
        if (text := fields.get(f"cell-{topic.id}-{level.value}", "").strip()) not in {"", "0"}
    )


def _tasks(fields: Fields) -> tuple[Task, ...]:
    return tuple(
        _task(fields, place)
        for place in task_places(fields)
        if _line(fields, f"task-{place}-title")
    )


def _task(fields: Fields, place: int) -> Task:
    title = _line(fields, f"task-{place}-title")
    lines = [line.strip() for line in fields.get(f"task-{place}-steps", "").splitlines()]
    steps = tuple(
        Step(line.lstrip(CRITICAL).strip()[:300], line.startswith(CRITICAL))
        for line in lines
        if line.lstrip(CRITICAL).strip()
    )
    needed = fields.get(f"task-{place}-needed", "").strip()
    return Task(
        id=_slug(title, place),
        title=title[:120],
        steps=steps,
        needed=whole_number(needed, f"{title}: steps needed") if needed else len(steps),
        two_persons=f"task-{place}-two" in fields,
        caution=_line(fields, f"task-{place}-caution")[:500],
    )


def _task_fields(task: Task, place: int) -> dict[str, str]:
    steps = "\n".join(f"{CRITICAL if step.critical else ''}{step.words}" for step in task.steps)
    found = {
        f"task-{place}-title": task.title,
        f"task-{place}-steps": steps,
        f"task-{place}-needed": str(task.needed),
        f"task-{place}-caution": task.caution,
    }
    return found | ({f"task-{place}-two": "1"} if task.two_persons else {})


def _slug(title: str, place: int) -> str:
    plain = re.sub(r"[^a-z0-9]+", "-", title.casefold()).strip("-")
    return plain[:60].strip("-") or f"task-{place}"


def _line(fields: Fields, name: str) -> str:
    return " ".join(fields.get(name, "").split())
