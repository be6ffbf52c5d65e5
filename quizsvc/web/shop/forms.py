"""From the fields of the shop's pages to what the services take."""

from __future__ import annotations

from werkzeug.datastructures import MultiDict

from quizsvc.errors import InputError
from quizsvc.rules.job_needs import JobNeeds, TaskNeed, TopicNeed
from quizsvc.rules.readiness import ReadyState
from quizsvc.scoring.standing import CUT
from quizsvc.services.readiness import Wanted, day_in
from quizsvc.services.team_facts import Job
from quizsvc.web.whole_numbers import key_number, whole_number

Fields = MultiDict[str, str]


def wanted_in(fields: Fields, *, whole: bool = False) -> Wanted:
    """Return the part of the matrix an address asks for.

    Raises:
        InputError: a field cannot be read; names it.
    """
    job = fields.get("job", "")
    page = fields.get("page", "")
    return Wanted(
        words=fields.get("words", "")[:80],
        shift=fields.get("shift", "")[:40],
        job_id=key_number(job, "job") if job else None,
        state=_state(fields.get("state", "")),
        on=day_in(fields.get("on", "")),
        page=whole_number(page, "page") if page else 1,
        whole=whole or fields.get("whole") == "1",
    )


def needs_in(fields: Fields) -> JobNeeds:
    """Return what a job's form says it asks."""
    return JobNeeds(
        tuple(TopicNeed(one, _cut(fields, one)) for one in fields.getlist("topic")),
        tuple(_number(one, "certificate") for one in fields.getlist("scheme")),
        tuple(_task(one) for one in fields.getlist("task")),
        tuple(fields.getlist("sheet")),
    )


def fields_of(job: Job) -> Fields:
    """Return the fields of a job's form as they stand."""
    fields = Fields()
    fields["title"], fields["about"] = job.title, job.about
    for topic in job.needs.topics:
        fields.add("topic", topic.topic)
        fields[f"cut-{topic.topic}"] = f"{100 * topic.cut:.0f}"
    for scheme in job.needs.schemes:
        fields.add("scheme", str(scheme))
    for task in job.needs.tasks:
        fields.add("task", f"{task.scheme_id}/{task.task}")
    for sheet in job.needs.sheets:
        fields.add("sheet", sheet)
    return fields


def people_in(fields: Fields) -> list[int]:
    return [_number(one, "people") for one in fields.getlist("person")]


def _state(text: str) -> ReadyState | None:
    if not text:
        return None
    try:
        return ReadyState(text)
    except ValueError:
        raise InputError(
            "there is no such state.",
            field="state",
            value=text[:20],
            remedy="Choose one of those on the page.",
        ) from None


def _cut(fields: Fields, topic: str) -> float:
    text = fields.get(f"cut-{topic}", "").strip()
    return whole_number(text, f"cut {topic}", most=100) / 100 if text else CUT


def _task(text: str) -> TaskNeed:
    scheme, _, task = text.partition("/")
    return TaskNeed(_number(scheme, "sign-off"), task)


def _number(text: str, field: str) -> int:
    return key_number(text, field)
