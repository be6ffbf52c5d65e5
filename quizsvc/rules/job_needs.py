"""What a job of a shop asks of people: topics, tasks, certificates and sheets."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass

from quizsvc.errors import InputError
from quizsvc.items.topics import TOPICS
from quizsvc.scoring.standing import CUT

LOWEST_CUT, HIGHEST_CUT = 0.5, 0.95
MOST_TITLE, MOST_ABOUT, MOST_SHIFT = 120, 1000, 40


@dataclass(frozen=True, slots=True)
class TopicNeed:
    """A topic in which typical items are got right with a chance of at least ``cut``."""

    topic: str
    cut: float = CUT


@dataclass(frozen=True, slots=True)
class TaskNeed:
    """A hands-on task of a scheme, signed off."""

    scheme_id: int
    task: str


@dataclass(frozen=True, slots=True)
class JobNeeds:
    """All that a job asks of somebody who does it."""

    topics: tuple[TopicNeed, ...] = ()
    schemes: tuple[int, ...] = ()
    tasks: tuple[TaskNeed, ...] = ()
    sheets: tuple[str, ...] = ()

    @property
    def keys(self) -> tuple[NeedKey, ...]:
        """Every need in the order in which it is told."""
        return (
            *self.topics,
            *(SchemeKey(one) for one in self.schemes),
            *self.tasks,
            *(SheetKey(one) for one in self.sheets),
        )


@dataclass(frozen=True, slots=True)
class SchemeKey:
    scheme_id: int


@dataclass(frozen=True, slots=True)
class SheetKey:
    sheet_id: str


NeedKey = TopicNeed | SchemeKey | TaskNeed | SheetKey


def check_needs(needs: JobNeeds) -> JobNeeds:
    """Return a job's needs if somebody could meet them.

    Raises:
        InputError: it asks nothing, or something impossible.
    """
    if not needs.keys:
        raise InputError(
            "a job has to ask something of people.",
            field="needs",
            value="nothing",
            remedy="Choose at least one topic, certificate, sign-off or sheet.",
        )
    known = {topic.id for topic in TOPICS}
    for need in needs.topics:
        if need.topic not in known:
            raise InputError(
                "there is no such topic.",
                field="topic",
                value=need.topic[:40],
                remedy="Choose one of those on the page.",
            )
        if not LOWEST_CUT <= need.cut <= HIGHEST_CUT:
            raise InputError(
                "that share cannot be asked.",
                field=f"cut {need.topic}",
                value=need.cut,
                remedy=f"{LOWEST_CUT:.0%} to {HIGHEST_CUT:.0%}.",
            )
    return needs


def check_words(title: str, about: str) -> tuple[str, str]:
    """Return title and description of a job in plain form."""
    plain = " ".join(title.split())
    if not 1 <= len(plain) <= MOST_TITLE:
        raise InputError(
            f"a title has from 1 to {MOST_TITLE} characters.",
            field="title",
            value=plain[:40],
            remedy="Name the work, for example “Replace a primary chain”.",
        )
    if len(about) > MOST_ABOUT:
        raise InputError(
            "that is too long.",
            field="about",
            value="…",
            remedy=f"At most {MOST_ABOUT} characters.",
        )
    return plain, about.strip()


def plain_shift(text: str) -> str:
    """Return the name of a shift in plain form; empty for none."""
    plain = " ".join(text.split())
    if len(plain) > MOST_SHIFT:
        raise InputError(
            f"the name of a shift has at most {MOST_SHIFT} characters.",
            field="shift",
            value=plain[:MOST_SHIFT],
            remedy="Shorten it, for example “early”.",
        )
    return plain


def to_text(needs: JobNeeds) -> str:
    return json.dumps(asdict(needs), sort_keys=True)


def from_text(text: str) -> JobNeeds:
    """Return needs as `to_text` wrote them.

    >>> needs = JobNeeds((TopicNeed("marks", 0.8),), (3,), (TaskNeed(3, "strip"),), ("demo",))
    >>> from_text(to_text(needs)) == needs
    True
    """
    data = json.loads(text)
    return JobNeeds(
        tuple(TopicNeed(one["topic"], one["cut"]) for one in data["topics"]),
        tuple(data["schemes"]),
        tuple(TaskNeed(one["scheme_id"], one["task"]) for one in data["tasks"]),
        tuple(data["sheets"]),
    )
