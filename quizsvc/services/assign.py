"""Build assignments and give them out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.items.family import all_families
from quizsvc.items.markdown import plain_words
from quizsvc.items.model import Item, Level
from quizsvc.items.topics import TOPICS, find_topic
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import (
    MOST_QUESTIONS,
    Issue,
    Run,
    Terms,
    check_terms,
    may_run,
    may_watch,
)
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.marking import right_words
from quizsvc.services import proposing
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.laying_out import recipe_at, seed_for_all
from quizsvc.services.proposing import Pick
from quizsvc.services.recipes import draw
from quizsvc.services.shown import SheetChoice
from quizsvc.store import assignments, banks, classes, people_pages, sheets
from quizsvc.store.assignments import StoredAssignment, StoredQuestion

Rearranging = Callable[[list[StoredQuestion]], list[StoredQuestion]]


@dataclass(frozen=True, slots=True)
class Audience:
    """Whom an assignment is for: a class, persons by key, or both."""

    class_id: int | None = None
    person_ids: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class ItemChoice:
    """A family or a bank item to choose for an assignment."""

    ref: str
    title: str
    topic: str


@dataclass(frozen=True, slots=True)
class ClassChoice:
    id: int
    name: str
    learners: int


@dataclass(frozen=True, slots=True)
class PersonChoice:
    id: int
    name: str


@dataclass(frozen=True, slots=True)
class Choices:
    """All an assignment may be built from and for."""

    classes: tuple[ClassChoice, ...]
    people: tuple[PersonChoice, ...]
    sheets: tuple[SheetChoice, ...]
    topics: tuple[tuple[str, str], ...]
    families: tuple[ItemChoice, ...]
    bank_items: tuple[ItemChoice, ...]


@dataclass(frozen=True, slots=True)
class QuestionLine:
    """A question of an assignment as its maker sees it, with the numbers all would get alike."""

    place: int
    topic_title: str
    title: str
    level: str
    kind: str
    sheet_title: str
    prompt: str
    right_words: str
    void_reason: str
    void: bool


@dataclass(frozen=True, slots=True)
class Draft:
    """An assignment as its maker sees it."""

    id: int
    terms: Terms
    issue: Issue
    audience: Audience
    audience_words: str
    questions: tuple[QuestionLine, ...]
    released_at: datetime | None


@dataclass(frozen=True, slots=True)
class Line:
    """An assignment in the list of those who run or watch it."""

    id: int
    title: str
    form: str
    issue: Issue
    opens_at: datetime
    due_at: datetime | None
    class_name: str
    questions: int


def list_run(house: House, actor: Actor, *, now: datetime) -> tuple[Line, ...]:  # noqa: ARG001
    """Return the assignments the actor runs or may watch, newest first."""
    require(actor, May.WATCH)
    with house.read() as connection:
        leads = classes.led_by(connection, actor.person_id)
        found = [
            one
            for one in assignments.assignments_of_shop(connection, actor.shop_id)
            if may_watch(actor, run_of(one), leads=leads)
        ]
        names = assignments.class_names(connection, actor.shop_id)
        counts = assignments.question_counts(connection, [one.id for one in found])
    return tuple(
        Line(
            one.id,
            one.title,
            one.form.value,
            one.issue,
            one.opens_at,
            one.due_at,
            names.get(one.class_id or 0, ""),
            counts.get(one.id, 0),
        )
        for one in found
    )


def choices(house: House, actor: Actor) -> Choices:
    """Return what an assignment may be built from and for."""
    require(actor, May.ASSIGN)
    with house.read() as connection:
        led = classes.led_by(connection, actor.person_id)
        rooms = [
            ClassChoice(one.id, one.name, one.learners)
            for one in classes.classes_of_shop(connection, actor.shop_id)
            if one.id in led and one.archived_at is None
        ]
        learners = people_pages.active_learners(connection, actor.shop_id)
        revisions = sheets.latest_published(connection, actor.shop_id)
        written = [
            ItemChoice(f"bank:{one.bank_id}/{one.entry}", one.entry.replace("-", " "), topic.id)
            for topic in TOPICS
            for one in banks.current_approved(connection, actor.shop_id, topic.id)
        ]
    return Choices(
        tuple(rooms),
        tuple(PersonChoice(*one) for one in learners),
        tuple(SheetChoice(one.sheet_id, one.title, one.revision) for one in revisions),
        tuple((topic.id, topic.title) for topic in TOPICS),
        tuple(ItemChoice(one.id, one.title, one.topic) for one in all_families().values()),
        tuple(written),
    )


def draft(house: House, actor: Actor, terms: Terms, audience: Audience, *, now: datetime) -> int:
    """Make an assignment that nobody sees yet, and return its key.

    Raises:
        InputError: the terms cannot be kept, or it is for nobody.
        NotFoundError: a class or person is not of the actor's.
    """
    require(actor, May.ASSIGN)
    check_terms(terms)
    with house.write() as connection:
        _check_audience(connection, actor, audience)
        assignment_id = assignments.add_assignment(
            connection,
            shop_id=actor.shop_id,
            maker_id=actor.person_id,
            class_id=audience.class_id,
            issue=Issue.DRAFT.value,
            seed=house.seeds(),
            made_at=now,
            **_columns(terms),
        )
        assignments.set_people(connection, assignment_id, set(audience.person_ids))
    return assignment_id


def change(
    house: House,
    actor: Actor,
    assignment_id: int,
    terms: Terms,
    audience: Audience,
    *,
    now: datetime,  # noqa: ARG001 - every service takes the time
) -> None:
    """Change the terms. Of what is given out only title, words, times and people may change."""
    check_terms(terms)
    with house.write() as connection:
        held = runs(connection, actor, assignment_id, lock=True)
        _check_audience(connection, actor, audience)
        columns = _columns(terms)
        if held.issue is not Issue.DRAFT:
            fixed = {name: columns[name] for name in _FIXED_ONCE_ISSUED}
            if any(getattr(held, name) != value for name, value in fixed.items()):
                raise ConflictError(
                    "it is given out: form, time, tries, feedback and numbers stay as they are.",
                    field="assignment",
                    value=held.title,
                    remedy="Withdraw it and make another, or change only times and people.",
                )
        assignments.change_assignment(
            connection, assignment_id, class_id=audience.class_id, **columns
        )
        assignments.set_people(connection, assignment_id, set(audience.person_ids))


def look(house: House, actor: Actor, assignment_id: int) -> Draft:
    """Return an assignment as its maker sees it, every question with an example."""
    with house.read() as connection:
        held = runs(connection, actor, assignment_id)
        questions = tuple(
            _question_line(connection, house, held, question)
            for question in assignments.questions_of(connection, assignment_id)
        )
        names = assignments.class_names(connection, actor.shop_id)
        by_name = assignments.people_by_name(connection, assignment_id)
        takers = len(assignments.takers_of(connection, held))
    return Draft(
        held.id,
        _terms(held),
        held.issue,
        Audience(held.class_id, by_name),
        f"{names.get(held.class_id or 0, 'Persons by name')}, {takers} in all",
        questions,
        held.released_at,
    )


def add_from_topic(
    house: House,
    actor: Actor,
    assignment_id: int,
    *,
    topic: str,
    count: int,
    sheet: str | None,
    level: Level | None,
) -> None:
    """Add questions of a topic that the program chooses."""
    with house.read() as connection:
        runs(connection, actor, assignment_id)
        pool = proposing.pool_of(connection, actor.shop_id, sheet)
        taken = _taken(connection, assignment_id)
        picks = proposing.from_topic(
            connection,
            house.shelf,
            pool,
            topic,
            count,
            level=level,
            taken=taken,
            seed=house.seeds(),
        )
    _append(house, actor, assignment_id, picks)


def add_family(
    house: House,
    actor: Actor,
    assignment_id: int,
    *,
    family_id: str,
    sheet: str,
    level: Level | None,
) -> None:
    """Add a question of one family on one engine sheet."""
    with house.read() as connection:
        runs(connection, actor, assignment_id)
        pool = proposing.pool_of(connection, actor.shop_id, sheet)
        pick = proposing.one_family(
            connection, house.shelf, pool, family_id, level=level, seed=house.seeds()
        )
    _append(house, actor, assignment_id, (pick,))


def add_bank_item(house: House, actor: Actor, assignment_id: int, *, item_ref: str) -> None:
    """Add a bank item: the version that is approved now."""
    with house.read() as connection:
        runs(connection, actor, assignment_id)
        pool = proposing.pool_of(connection, actor.shop_id, None)
        topic = _topic_of(connection, actor, item_ref)
        pick = proposing.one_bank_item(connection, pool, item_ref, topic)
    _append(house, actor, assignment_id, (pick,))


def add_by_blueprint(
    house: House,
    actor: Actor,
    assignment_id: int,
    counts: Mapping[str, int],
    *,
    sheet: str | None,
) -> None:
    """Add as many questions of each topic as the blueprint says."""
    wanted = {topic: count for topic, count in counts.items() if count}
    if not wanted:
        raise InputError(
            "the blueprint asks for no question.",
            field="questions",
            value=0,
            remedy="Give a number for at least one topic.",
        )
    with house.read() as connection:
        runs(connection, actor, assignment_id)
        picks = proposing.by_blueprint(
            connection,
            house.shelf,
            proposing.pool_of(connection, actor.shop_id, sheet),
            wanted,
            taken=_taken(connection, assignment_id),
            seed=house.seeds(),
        )
    _append(house, actor, assignment_id, picks)


def add_by_mistakes(
    house: House,
    actor: Actor,
    assignment_id: int,
    *,
    count: int,
    sheet: str | None,
    now: datetime,
) -> None:
    """Add questions by what the assignment's class gets wrong."""
    with house.read() as connection:
        held = runs(connection, actor, assignment_id)
        if held.class_id is None:
            raise InputError(
                "it is for no class, so nothing is known of a class.",
                field="class",
                value="none",
                remedy="Choose a class, or propose by topics.",
            )
        picks = proposing.by_mistakes(
            connection,
            house.shelf,
            proposing.pool_of(connection, actor.shop_id, sheet),
            held.class_id,
            count,
            taken=_taken(connection, assignment_id),
            seed=house.seeds(),
            now=now,
        )
    _append(house, actor, assignment_id, picks)


def remove(house: House, actor: Actor, assignment_id: int, place: int) -> None:
    """Take a question out of a draft."""
    _rearrange(house, actor, assignment_id, lambda rows: [r for r in rows if r.place != place])


def move_up(house: House, actor: Actor, assignment_id: int, place: int) -> None:
    """Move a question of a draft one place up."""

    def moved(rows: list[StoredQuestion]) -> list[StoredQuestion]:
        at = next((n for n, row in enumerate(rows) if row.place == place), 0)
        if at > 0:
            rows[at - 1], rows[at] = rows[at], rows[at - 1]
        return rows

    _rearrange(house, actor, assignment_id, moved)


def issue(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> None:
    """Give it out: from then on its questions stay."""
    with house.write() as connection:
        held = _draft_of(connection, actor, assignment_id)
        if not assignments.questions_of(connection, assignment_id):
            raise InputError(
                "it has no question yet.", field="questions", value=0, remedy="Add some first."
            )
        assignments.change_assignment(connection, assignment_id, issue=Issue.ISSUED.value)
        note(
            connection,
            actor,
            Action.ASSIGNMENT_ISSUED,
            f"assignment {held.id}",
            now=now,
            form=held.form.value,
        )


def withdraw(house: House, actor: Actor, assignment_id: int, *, now: datetime) -> None:
    """Take it back: nobody can begin it any more; who is in it may finish."""
    with house.write() as connection:
        held = runs(connection, actor, assignment_id, lock=True)
        assignments.change_assignment(connection, assignment_id, issue=Issue.WITHDRAWN.value)
        note(connection, actor, Action.ASSIGNMENT_WITHDRAWN, f"assignment {held.id}", now=now)


def give_out(
    connection: Connection,
    house: House,
    actor: Actor,
    terms: Terms,
    person_ids: frozenset[int],
    picks: tuple[Pick, ...],
    *,
    now: datetime,
) -> int:
    """Make an assignment of chosen questions and give it out, in the caller's transaction.

    Who may order it was checked by the caller.

    Raises:
        InputError: the terms cannot be kept, or there is nobody or nothing to ask.
        NotFoundError: somebody is no learner of the actor's shop.
    """
    check_terms(terms)
    _check_audience(connection, actor, Audience(None, person_ids))
    if not 1 <= len(picks) <= MOST_QUESTIONS:
        raise InputError(
            "that number of questions is not possible.",
            field="questions",
            value=len(picks),
            remedy=f"1 to {MOST_QUESTIONS}.",
        )
    assignment_id = assignments.add_assignment(
        connection,
        shop_id=actor.shop_id,
        maker_id=actor.person_id,
        class_id=None,
        issue=Issue.ISSUED.value,
        seed=house.seeds(),
        made_at=now,
        **_columns(terms),
    )
    assignments.set_people(connection, assignment_id, set(person_ids))
    rows = [pick.columns(place) for place, pick in enumerate(picks, 1)]
    assignments.replace_questions(connection, assignment_id, rows)
    subject = f"assignment {assignment_id}"
    note(connection, actor, Action.ASSIGNMENT_ISSUED, subject, now=now, form=terms.form.value)
    return assignment_id


def runs(
    connection: Connection, actor: Actor, assignment_id: int, *, lock: bool = False
) -> StoredAssignment:
    """Return an assignment the actor may run; any other looks like none at all."""
    require(actor, May.ASSIGN)
    held = assignments.find_assignment(connection, assignment_id, lock=lock)
    leads = classes.led_by(connection, actor.person_id)
    if held is None or not may_run(actor, run_of(held), leads=leads):
        raise _no_such(assignment_id)
    return held


def watches(connection: Connection, actor: Actor, assignment_id: int) -> StoredAssignment:
    """Return an assignment the actor may watch; any other looks like none at all."""
    require(actor, May.WATCH)
    held = assignments.find_assignment(connection, assignment_id)
    leads = classes.led_by(connection, actor.person_id)
    if held is None or not may_watch(actor, run_of(held), leads=leads):
        raise _no_such(assignment_id)
    return held


def run_of(held: StoredAssignment) -> Run:
    return Run(held.shop_id, held.maker_id, held.class_id)


def example_of(
    connection: Connection, house: House, held: StoredAssignment, question: StoredQuestion
) -> Item | None:
    """Return the item with the numbers all would get alike; None if it can be drawn no more."""
    try:
        recipe = recipe_at(question, seed_for_all(held, question))
        return draw(house.shelf, connection, recipe)
    except (InputError, ConflictError):
        return None


_FIXED_ONCE_ISSUED = (
    "form",
    "minutes",
    "tries",
    "feedback",
    "shuffled",
    "own_numbers",
    "invigilated",
)


def _no_such(assignment_id: int) -> NotFoundError:
    return NotFoundError(
        "there is no such assignment for you.",
        field="assignment",
        value=assignment_id,
        remedy="Go to the list of assignments.",
    )


def _check_audience(connection: Connection, actor: Actor, audience: Audience) -> None:
    if audience.class_id is None and not audience.person_ids:
        raise InputError(
            "it is for nobody.",
            field="class",
            value="none",
            remedy="Choose a class, or persons by name.",
        )
    leads = classes.led_by(connection, actor.person_id)
    if audience.class_id is not None and audience.class_id not in leads:
        raise NotFoundError(
            "you lead no such class.",
            field="class",
            value=audience.class_id,
            remedy="Choose one of those on the page.",
        )
    known = {one[0] for one in people_pages.active_learners(connection, actor.shop_id)}
    if strangers := audience.person_ids - known:
        raise NotFoundError(
            "there is no such learner in this shop.",
            field="persons",
            value=min(strangers),
            remedy="Choose some of those on the page.",
        )


def _columns(terms: Terms) -> dict[str, object]:
    return {
        "title": terms.title.strip(),
        "words": terms.words.strip(),
        "form": terms.form.value,
        "opens_at": terms.opens_at,
        "due_at": terms.due_at,
        "tries": terms.tries,
        "minutes": terms.minutes,
        "feedback": terms.feedback.value,
        "shuffled": terms.shuffled,
        "own_numbers": terms.own_numbers,
        "invigilated": terms.invigilated,
    }


def _terms(held: StoredAssignment) -> Terms:
    return Terms(
        held.title,
        held.form,
        held.opens_at,
        held.due_at,
        held.tries,
        held.minutes,
        held.feedback,
        held.shuffled,
        held.own_numbers,
        held.invigilated,
        held.words,
    )


def _draft_of(connection: Connection, actor: Actor, assignment_id: int) -> StoredAssignment:
    held = runs(connection, actor, assignment_id, lock=True)
    if held.issue is not Issue.DRAFT:
        raise ConflictError(
            "it is given out already; its questions stay.",
            field="assignment",
            value=held.title,
            remedy="Make a new one, or declare a question void.",
        )
    return held


def _taken(connection: Connection, assignment_id: int) -> frozenset[str]:
    return frozenset(
        question.item_ref for question in assignments.questions_of(connection, assignment_id)
    )


def _topic_of(connection: Connection, actor: Actor, item_ref: str) -> str:
    for topic in TOPICS:
        for one in banks.current_approved(connection, actor.shop_id, topic.id):
            if f"bank:{one.bank_id}/{one.entry}" == item_ref:
                return topic.id
    raise InputError(
        "there is no such bank item here.",
        field="question",
        value=item_ref[:80],
        remedy="Choose one of those on the page.",
    )


def _append(house: House, actor: Actor, assignment_id: int, picks: tuple[Pick, ...]) -> None:
    with house.write() as connection:
        _draft_of(connection, actor, assignment_id)
        rows = assignments.questions_of(connection, assignment_id)
        if len(rows) + len(picks) > MOST_QUESTIONS:
            raise InputError(
                "that would be too many questions.",
                field="questions",
                value=len(rows) + len(picks),
                remedy=f"At most {MOST_QUESTIONS}.",
            )
        kept = [_row(row, place) for place, row in enumerate(rows, 1)]
        new = [pick.columns(place) for place, pick in enumerate(picks, len(rows) + 1)]
        assignments.replace_questions(connection, assignment_id, kept + new)


def _rearrange(house: House, actor: Actor, assignment_id: int, how: Rearranging) -> None:
    with house.write() as connection:
        _draft_of(connection, actor, assignment_id)
        rows = how(list(assignments.questions_of(connection, assignment_id)))
        assignments.replace_questions(
            connection, assignment_id, [_row(row, place) for place, row in enumerate(rows, 1)]
        )


def _row(row: StoredQuestion, place: int) -> dict[str, object]:
    return {
        "place": place,
        "topic": row.topic,
        "item_ref": row.item_ref,
        "item_version": row.item_version,
        "level": row.level,
        "kind": row.kind,
        "sheet_revision_id": row.sheet_revision_id,
        "bank_item_version_id": row.bank_item_version_id,
    }


def _question_line(
    connection: Connection, house: House, held: StoredAssignment, question: StoredQuestion
) -> QuestionLine:
    item = example_of(connection, house, held, question)
    family = all_families().get(question.item_ref)
    sheet_id = question.sheet_revision_id
    return QuestionLine(
        question.place,
        find_topic(question.topic).title,
        family.title if family else question.item_ref.rpartition("/")[2].replace("-", " "),
        question.level,
        question.kind,
        house.shelf.sheet(connection, sheet_id).title if sheet_id is not None else "",
        plain_words(item.prompt) if item else "This question can no longer be drawn.",
        right_words(item) if item else "",
        question.void_reason or "",
        void=question.voided_at is not None,
    )
