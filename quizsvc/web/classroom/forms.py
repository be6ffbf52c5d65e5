"""From the fields of the classroom's pages to what the services take."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, datetime
from typing import TypeVar

from werkzeug.datastructures import MultiDict

from quizsvc.errors import InputError
from quizsvc.items.model import BenchStart, Level
from quizsvc.items.topics import TOPICS
from quizsvc.rules.assignments import Feedback, Form, Terms
from quizsvc.services.assigning.drafting import Audience
from quizsvc.services.shown import Given
from quizsvc.services.sitting.words import Saving
from quizsvc.web.practise.forms import given_in
from quizsvc.web.whole_numbers import key_number, whole_number

Fields = MultiDict[str, str]
T = TypeVar("T", Form, Feedback, Level)
_ANSWER = re.compile(r"choice|number|place|ahead|(?:place|partner)-\d{1,3}", re.ASCII)


def saving_in(fields: Fields, bench: Callable[[], BenchStart | None]) -> Saving:
    """Return what an answer's form holds; an answer that is not whole yet is kept as typed."""
    typed = answer_fields(fields)
    return Saving(
        typed,
        _whole(fields, bench) if typed else None,
        whole_number(fields.get("sequence", ""), "sequence", most=999_999_999),
        fields.get("key", ""),
    )


def answer_fields(fields: Fields) -> dict[str, list[str]]:
    """Return only the fields that are an answer, as they are kept."""
    kept = {
        name: [text for text in fields.getlist(name) if text.strip()]
        for name in sorted(fields)
        if _ANSWER.fullmatch(name)
    }
    return {name: texts for name, texts in kept.items() if texts}


def terms_in(fields: Fields) -> Terms:
    """Return the terms of an assignment.

    Raises:
        InputError: a field cannot be read; names it.
    """
    minutes = fields.get("minutes", "").strip()
    due = fields.get("due", "").strip()
    return Terms(
        title=" ".join(fields.get("title", "").split()),
        form=_one_of(Form, fields.get("form", ""), "form"),
        opens_at=_moment(fields.get("opens", ""), "opens"),
        due_at=_moment(due, "due") if due else None,
        tries=whole_number(fields.get("tries", ""), "tries"),
        minutes=whole_number(minutes, "minutes") if minutes else None,
        feedback=_one_of(Feedback, fields.get("feedback", ""), "feedback"),
        shuffled="shuffled" in fields,
        own_numbers=fields.get("numbers", "own") == "own",
        invigilated="invigilated" in fields,
        words=fields.get("words", "")[:2000],
    )


def audience_in(fields: Fields) -> Audience:
    class_text = fields.get("class", "")
    return Audience(
        key_number(class_text, "class") if class_text else None,
        frozenset(key_number(text, "persons") for text in fields.getlist("person")),
    )


def blueprint_in(fields: Fields) -> dict[str, int]:
    """Return the numbers of questions asked for by topic."""
    return {
        topic.id: whole_number(text, topic.title)
        for topic in TOPICS
        if (text := fields.get(f"topic-{topic.id}", "").strip())
    }


def level_in(fields: Fields) -> Level | None:
    text = fields.get("level", "")
    return _one_of(Level, text, "level") if text else None


def _whole(fields: Fields, bench: Callable[[], BenchStart | None]) -> Given | None:
    try:
        return given_in(fields, bench)
    except InputError:
        return None


def _moment(text: str, field: str) -> datetime:
    try:
        found = datetime.fromisoformat(text.strip())
        return found.replace(tzinfo=UTC) if found.tzinfo is None else found.astimezone(UTC)
    except (ValueError, OverflowError):
        raise InputError(
            "that is no date and time.",
            field=field,
            value=text[:30],
            remedy="Write it like 2026-03-02T14:30; times are in UTC.",
        ) from None


def _one_of(kind: type[T], text: str, field: str) -> T:
    try:
        return kind(text)
    except ValueError:
        raise InputError(
            "that is none of the choices.",
            field=field,
            value=text[:30],
            remedy=f"Choose one of: {', '.join(kind)}.",
        ) from None
