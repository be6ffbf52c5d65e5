"""A form gives only what it has fields for: names of columns sent with it change nothing else.

Every route that takes something in gets a form that it takes, once plain and once with the name of
every column of every table beside it, in the body and in the address. Chance and clock stand
still, so both must leave the same database behind, row by row.
"""

from __future__ import annotations

import os
import random
import re
import sqlite3
from collections.abc import Collection, Iterator, Mapping
from contextlib import closing
from datetime import datetime
from itertools import count, zip_longest
from random import Random
from urllib.parse import urlencode

import classroom
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from page_forms import PageForm, forms_in
from sqlalchemy import Boolean, DateTime
from valid_forms import SENDINGS, Sending
from visitors import AWAY, NOBODY, Fields, address_of, said_by_the_table, values_for

from quizsvc.services import issue_credentials
from quizsvc.store.tables import METADATA

UNSAFE = {"POST", "PUT", "PATCH", "DELETE"}
QUERIES = {"bank.write": "?bank=ours&kind=one+choice"}
TAKEN = {200, 204, 302}
NOTHING: Mapping[str, str] = {}
BY_NAME = {
    "id": "999",
    "shop_id": "2",
    "person_id": "2",
    "correct": "1",
    "role": "administrator",
    "roles": "administrator",
    "state": "handed in",
    "is_admin": "1",
}
# Columns whose names a view reads though no form on a page shows a field of that name here.
OWN_NAMES: dict[str, tuple[set[str], str]] = {
    "certificates.decide_case": (
        {"reason"},
        "what is said for the decision; the form for it is on the case's page once there is one",
    ),
    "practise.answer": ({"topic"}, "in the address: which topic the next question is to be of"),
    "classroom.save": (
        {"number", "place"},
        "fields of other kinds of answers: kept as typed, and marked by the question's own kind",
    ),
}


class Urn:
    """Stands in for the system's chance: the same draws again after each `again`."""

    def __init__(self) -> None:
        self.again()

    def again(self) -> None:
        self._chance = Random(20)

    def __call__(self, size: int) -> bytes:
        return self._chance.randbytes(size)


@pytest.fixture
def urn(monkeypatch) -> Urn:
    drawn = Urn()
    monkeypatch.setattr(os, "urandom", drawn)
    monkeypatch.setattr(random, "_urandom", drawn)
    monkeypatch.setattr(
        issue_credentials,
        "new_private_key",
        lambda: Ed25519PrivateKey.from_private_bytes(drawn(32)),  # OpenSSL has chance of its own
    )
    return drawn


@pytest.fixture(scope="module")
def forms(premises) -> dict[str, list[tuple[str, PageForm]]]:
    """Return the forms that pages show, by the route they go to, with who was shown them."""
    found: dict[str, list[tuple[str, PageForm]]] = {}
    ways = premises.app.url_map.bind("localhost")
    for rule in premises.app.url_map.iter_rules():
        if "GET" not in rule.methods or rule.endpoint == "static":
            continue
        page = address_of(premises.app, rule, values_for(rule, premises.shop.values))
        page += QUERIES.get(rule.endpoint, "")
        for who in (NOBODY, "L", "I", "i", "M", "A"):
            answer = premises.visitors[who].ask("GET", page)
            if answer.mimetype == "text/html":
                for form in forms_in(answer.text, page):
                    endpoint, _ = ways.match(form.path, form.method)
                    found.setdefault(endpoint, []).append((who, form))
    premises.put_back()
    return found


def unsafe_rules(premises) -> dict[str, object]:
    rules = premises.app.url_map.iter_rules()
    return {rule.endpoint: rule for rule in rules if rule.methods & UNSAFE}


def sending_for(endpoint: str, forms) -> Sending | None:
    """Return what is decided for a route, or its form untouched, or None."""
    if endpoint in SENDINGS:
        return SENDINGS[endpoint]
    inside = said_by_the_table().get(endpoint, "").partition(AWAY)[0]
    return Sending(inside[0]) if endpoint in forms and inside else None


def form_for(rule, path: str, who: str, forms) -> PageForm | None:
    """Return the route's form: of this address and shown to this visitor, if there is one."""
    kept = forms.get(rule.endpoint, [])
    ranked = sorted(kept, key=lambda one: (one[1].path != path, one[0] != who))
    return ranked[0][1] if ranked else None


def columns(tables: Collection[str] | None = None) -> dict[str, str]:
    """Return the name of every column, of these tables or of all, with something to put in it."""
    found = dict(BY_NAME)
    for name, table in METADATA.tables.items():
        for column in table.columns if tables is None or name in tables else ():
            found.setdefault(column.name, _value_for(column.type))
    return found


def _value_for(kind) -> str:
    if isinstance(kind, Boolean):
        return "1"
    if isinstance(kind, DateTime):
        return datetime(2026, 1, 1).isoformat()  # noqa: DTZ001 - as a browser sends it
    return "2" if kind.python_type in {int, float} else "put in beside"


def stored(premises) -> dict[str, list[tuple[object, ...]]]:
    with closing(sqlite3.connect(premises.database)) as live:
        names = live.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        kept = [name for (name,) in names if not name.startswith("item_search")]
        return {name: live.execute(f"SELECT * FROM {name}").fetchall() for name in kept}  # noqa: S608


class Trial:
    """Sends to one route, and tells what came of it."""

    def __init__(self, premises, forms, urn: Urn) -> None:
        self.premises, self.forms, self.urn = premises, forms, urn
        self.rules, self.names = unsafe_rules(premises), 0
        self.house = premises.app.extensions["quizsvc"].house

    def begin(self, sending: Sending) -> Fields:
        """Put the shop back and do what comes before; return the fields that this gave."""
        self.premises.put_back()
        self.premises.same_seeds_again()
        self.urn.again()
        classroom._keys = count(1)  # keys of saves, which are counted over a whole run
        for endpoint in sending.after:
            answer = self.send(endpoint, SENDINGS[endpoint])
            assert answer.status_code in {200, 302}, (endpoint, answer.text)
        return sending.prepare(self.house) if sending.prepare else {}

    def fields(self, endpoint: str, sending: Sending) -> tuple[str, Fields, set[str]]:
        """Return address, fields, and all names the form has."""
        rule, known = self.rules[endpoint], self.premises.shop.values
        other = known.get(sending.values_of, {}) if sending.values_of else {}
        values = {**values_for(rule, known), **other, **sending.values}
        path = address_of(self.premises.app, rule, {name: values[name] for name in rule.arguments})
        form = form_for(self.rules[sending.form_of or endpoint], path, sending.who, self.forms)
        fields: Fields = {**(form.as_sent() if form else {}), **sending.fields}
        names = {name for name, _ in form.choices} | set(form.files) if form else set()
        return path + sending.query, fields, names | set(fields)

    def send(
        self,
        endpoint: str,
        sending: Sending,
        given: Fields | None = None,
        beside: Mapping[str, str] = NOTHING,
    ):
        path, fields, names = self.fields(endpoint, sending)
        fields = {**fields, **(given or {})}
        more = self.beside(endpoint, names | set(fields), beside) if beside else {}
        visitor = self.premises.visitors[sending.who]
        if more:
            path += ("&" if "?" in path else "?") + urlencode(more)
        cookies = visitor.cookies
        if sending.cookie:
            visitor.cookies = f"{cookies}; {sending.cookie(self.house)}"
        try:
            return visitor.ask("POST", path, {**more, **fields})
        finally:
            visitor.cookies = cookies

    def beside(self, endpoint: str, names: set[str], offered: Mapping[str, str]) -> dict[str, str]:
        """Return what of the names offered is no name of the form's own."""
        known, _ = OWN_NAMES.get(endpoint, (set(), ""))
        return {name: value for name, value in offered.items() if name not in names | known}

    def outcome(self, endpoint: str, sending: Sending, beside: Mapping[str, str] = NOTHING):
        """Return the answer, and all rows before and after."""
        given = self.begin(sending)
        before = stored(self.premises)
        answer = self.send(endpoint, sending, given, beside)
        return answer, before, stored(self.premises)

    def try_out(self, endpoint: str, sending: Sending) -> Iterator[str]:
        """Yield what is wrong with a route: not taken, nothing written, or more than the form."""
        plain, before, after = self.outcome(endpoint, sending)
        written = {name for name in after if after[name] != before[name]}
        if plain.status_code not in TAKEN:
            yield f"the form is not taken ({plain.status_code}): {words_of(plain)}"
        elif bool(written) == bool(sending.writes_nothing):
            yield f"it writes {sorted(written)}, and that is not what was decided for it"
        else:
            offered = columns(written if self.takes_files(endpoint, sending) else None)
            more, _, changed = self.outcome(endpoint, sending, offered)
            self.names += len(offered)
            yield from differences(after, changed)
            if (more.status_code, more.location) != (plain.status_code, plain.location):
                yield f"it answers {more.status_code} with columns beside: {words_of(more)}"

    def takes_files(self, endpoint: str, sending: Sending) -> bool:
        """Return whether the form is sent in parts, of which only so many are taken."""
        known = self.forms.get(sending.form_of or endpoint, [])
        return any(form.files for _, form in known)


def words_of(answer) -> str:
    main = answer.text.partition("<main")[2] or answer.text
    return re.sub(r"(?:<[^>]*>|\s)+", " ", main)[:300]


def differences(one: dict[str, list], other: dict[str, list]) -> Iterator[str]:
    for table, rows in one.items():
        for row, changed in zip_longest(rows, other[table]):
            if row != changed:
                yield f"{table}: {str(row)[:300]} became {str(changed)[:300]}"
                break


def test_a_route_that_takes_something_in_is_decided_on(premises, forms):
    rules = unsafe_rules(premises)

    undecided = [name for name in rules if sending_for(name, forms) is None]

    assert undecided == [], "say in valid_forms.py how it is sent to"
    assert SENDINGS.keys() <= rules.keys()
    assert OWN_NAMES.keys() <= rules.keys()


def test_columns_sent_with_any_form_change_no_more_than_the_form(premises, forms, urn, say):
    trial = Trial(premises, forms, urn)
    wrong: dict[str, list[str]] = {}
    for endpoint in sorted(trial.rules):
        sending = sending_for(endpoint, forms)
        found = list(trial.try_out(endpoint, sending)) if sending else []
        if found:
            wrong[endpoint] = found
    premises.put_back()

    say(f"mass assignment: {len(trial.rules)} routes, {trial.names} column names sent beside forms")
    assert not wrong, "\n".join(f"{name}: {found}" for name, found in wrong.items())
