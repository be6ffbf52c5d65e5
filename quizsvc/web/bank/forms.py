"""What is typed, chosen and sent on the pages of hand-written items."""

from __future__ import annotations

from dataclasses import dataclass, field

from flask import request
from werkzeug.datastructures import MultiDict

from quizsvc.errors import InputError, NotFoundError
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Level
from quizsvc.items.topics import TOPICS
from quizsvc.rules.reviewing import Deed
from quizsvc.services.authored import BankChoice, Checked, Draft, Finding, Saved
from quizsvc.services.review import Decision
from quizsvc.services.search_items import Difficulty, Query, Used
from quizsvc.web.bank.fields import (
    BY_KIND,
    MOST_OTHERS,
    STEPS,
    Data,
    Fields,
    data_in,
    field_for,
    fields_of,
    rows_shown,
)
from quizsvc.web.whole_numbers import whole_or_none

KINDS = tuple(BY_KIND)
LEVELS = tuple(Level)
MORE_ROWS = 3
LONGEST_QUERY = 200
_SEARCHED = ("topic", "level", "kind", "state", "bank", "sheet", "used", "difficulty")


@dataclass(frozen=True, slots=True)
class Form:
    """An item's form: what stands in it, what was found, and what can be chosen."""

    kind: str
    bank: BankChoice
    typed: Fields
    item_id: int | None = None
    version: int | None = None
    more: int = 0  # empty rows asked for beyond those filled in
    checked: Checked | None = None
    refusal: Exception | None = None
    overtook: Saved | None = None
    pictures: tuple[str, ...] = ()
    findings: dict[str, list[Finding]] = field(default_factory=dict)

    def value(self, name: str) -> str:
        return self.typed.get(name, "")

    def ticked(self, name: str, value: str = "1") -> bool:
        return value in self.typed.getlist(name)

    def found(self, name: str) -> list[Finding]:
        return self.findings.get(name, [])

    def rows(self, table: str) -> range:
        rows = next(one for one in (*BY_KIND[self.kind], STEPS) if one.table == table)
        return rows_shown(self.typed, rows, self.more)

    @property
    def picture_choices(self) -> list[tuple[str, str]]:
        return [(name, name) for name in self.pictures]

    @property
    def things_to_choose(self) -> list[tuple[int, str]]:
        """The steps a rule can speak of, with the words typed so far."""
        rows = self.rows("sequence")
        words = {n: self.value(f"sequence-{n}-text") for n in rows}
        return [(n, f"{n}: {words[n]}" if words[n] else f"step {n}") for n in rows]

    @property
    def others(self) -> range:
        return range(1, MOST_OTHERS + 1)

    @property
    def to_keep(self) -> list[str]:
        """The checks of style that were found or have been accepted, each once."""
        found = self.checked.findings if self.checked else ()
        names = [one.check for one in found if one.can_be_kept]
        names += [
            self.value(name)
            for name in self.typed
            if name.startswith("accepted-") and name.endswith("-check")
            if self.value(name.replace("-check", "-because"))
        ]
        return list(dict.fromkeys(names))

    def kept_because(self, check: str) -> str:
        for name in self.typed:
            if name.endswith("-check") and self.value(name) == check:
                return self.value(name.replace("-check", "-because"))
        return ""


TOPIC_CHOICES = tuple((topic.id, topic.title) for topic in TOPICS)


def ideas() -> tuple[tuple[str, str], ...]:
    """Return the wrong ideas an option can stand for, by title."""
    found = all_misconceptions().values()
    return tuple(
        sorted(((one.id, one.title) for one in found), key=lambda pair: pair[1].casefold())
    )


def known_kind(kind: str) -> str:
    if kind not in BY_KIND:
        raise NotFoundError(
            "items of this kind are not written by hand.",
            field="kind",
            value=kind[:40],
            remedy=f"Choose one of: {', '.join(KINDS)}.",
        )
    return kind


def empty_form(draft: Draft, pictures: tuple[str, ...]) -> Form:
    """Return the form that shows a draft as it stands."""
    return Form(
        draft.data["kind"],
        draft.bank,
        fields_of(draft.data),
        draft.item_id,
        draft.version,
        pictures=pictures,
    )


def typed_form(
    draft: Draft,
    data: Data,
    pictures: tuple[str, ...],
    checked: Checked | None,
    refusal: Exception | None = None,
) -> Form:
    """Return the form with what was typed, its rows moved together, and what was found."""
    typed = fields_of(data)
    typed["said"] = request.form.get("said", "")
    findings: dict[str, list[Finding]] = {}
    for one in checked.findings if checked else ():
        findings.setdefault(field_for(one.field), []).append(one)
    return Form(
        draft.data["kind"],
        draft.bank,
        typed,
        draft.item_id,
        whole_or_none(request.form.get("based_on", "")),
        MORE_ROWS if request.form.get("do") == "rows" else 0,
        checked,
        refusal,
        pictures=pictures,
        findings=findings,
    )


def typed_data(kind: str, texts: dict[str, str]) -> Data:
    """Return the item typed in; a picture without words takes those it was sent with."""
    data = data_in(MultiDict(request.form.items(multi=True)), kind)
    if data.get("picture") and not data.get("picture_alt"):
        data["picture_alt"] = texts.get(data["picture"], "")
    return {name: value for name, value in data.items() if value != ""}


def query_in(fields: Fields) -> Query:
    """Return what is searched for."""
    text = fields.get("page", "1")
    page = whole_or_none(text, most=999_999)
    if not page:
        raise InputError(
            "there is no such page.", field="page", value=text, remedy="Pages count from 1."
        )
    chosen = {name: fields.get(name, "")[:120] for name in _SEARCHED}
    return Query(words=fields.get("words", "")[:LONGEST_QUERY], page=page, **chosen)


def decision_in(fields: Fields) -> Decision:
    """Return what is to be done with a version."""
    try:
        deed = Deed(fields.get("deed", ""))
    except ValueError:
        raise InputError(
            "nothing is to be done.", field="deed", value="", remedy="Use a button of the page."
        ) from None
    version = whole_or_none(fields.get("version", ""))
    if version is None:
        raise InputError(
            "no version is named.", field="version", value="", remedy="Load the page again."
        )
    return Decision(deed, version, fields.get("words", ""), fields.get("mark_again") == "yes")


def choices_to_search() -> dict[str, tuple[tuple[str, str], ...]]:
    return {
        "topic": TOPIC_CHOICES,
        "level": tuple((one.value, one.value) for one in LEVELS),
        "kind": tuple((one, one) for one in KINDS),
        "used": tuple((one.value, one.value) for one in Used),
        "difficulty": tuple((one.value, one.value) for one in Difficulty),
    }


def based_on() -> int | None:
    """Return the version the author had before them when they began."""
    return whole_or_none(request.form.get("based_on", ""))


def sent_file(name: str) -> tuple[str, bytes]:
    """Return name and bytes of a file that was sent, or of the text pasted in its place."""
    sent = request.files.get(name)
    if sent is not None and sent.filename:
        return sent.filename[:120], sent.read()
    pasted = request.form.get("pasted", "")
    return ("pasted.toml" if name == "bank" else ""), pasted.encode()
