"""Sends each route what `valid_forms` says that it takes."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass, replace

from page_forms import PageForm, forms_in
from valid_forms import SENDINGS, Sending
from visitors import AWAY, NOBODY, Fields, Visitor, address_of, said_by_the_table, values_for
from werkzeug.routing import Rule
from werkzeug.test import TestResponse

UNSAFE = {"POST", "PUT", "PATCH", "DELETE"}
QUERIES = {"bank.write": "?bank=ours&kind=one+choice"}
Forms = dict[str, list[tuple[str, PageForm]]]  # by the route they go to, with who was shown them


def forms_shown(premises) -> Forms:
    """Return the forms that pages show to anybody of the shop."""
    found: Forms = {}
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


def unsafe_rules(premises) -> dict[str, Rule]:
    rules = premises.app.url_map.iter_rules()
    return {rule.endpoint: rule for rule in rules if rule.methods & UNSAFE}


def sending_for(endpoint: str, forms: Forms) -> Sending | None:
    """Return what is decided for a route, or its form untouched, or None."""
    if endpoint in SENDINGS:
        return SENDINGS[endpoint]
    inside = said_by_the_table().get(endpoint, "").partition(AWAY)[0]
    return Sending(inside[0]) if endpoint in forms and inside else None


def stored(premises) -> dict[str, list[tuple[object, ...]]]:
    """Return all rows by table, without the index of words, which follows from them."""
    with closing(sqlite3.connect(premises.database)) as live:
        names = live.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        kept = [name for (name,) in names if not name.startswith("item_search")]
        return {name: live.execute(f"SELECT * FROM {name}").fetchall() for name in kept}  # noqa: S608


@dataclass(frozen=True)
class Request:
    """What is about to be sent: by whom, where, and the names of all the form's fields."""

    visitor: Visitor
    path: str
    fields: Fields
    names: set[str]

    def ask(self) -> TestResponse:
        return self.visitor.ask("POST", self.path, self.fields)


class Sender:
    def __init__(self, premises, forms: Forms) -> None:
        self.premises, self.forms, self.rules = premises, forms, unsafe_rules(premises)
        self.house = premises.app.extensions["quizsvc"].house

    def begin(self, sending: Sending) -> Fields:
        """Put the shop back and do what comes before; return the fields that this gave."""
        self.premises.put_back()
        self.premises.same_seeds_again()
        for endpoint in sending.after:
            answer = self.request(endpoint, SENDINGS[endpoint], {}).ask()
            assert answer.status_code in {200, 302}, (endpoint, answer.text)
        return sending.prepare(self.house) if sending.prepare else {}

    def request(self, endpoint: str, sending: Sending, given: Fields) -> Request:
        path, form = self._path(self.rules[endpoint], sending), self.form_of(endpoint, sending)
        fields: Fields = {**(form.as_sent() if form else {}), **sending.fields, **given}
        names = {name for name, _ in form.choices} | set(form.files) if form else set()
        return Request(self._visitor(sending), path + sending.query, fields, names | set(fields))

    def form_of(self, endpoint: str, sending: Sending) -> PageForm | None:
        """Return the form to be sent: of this address and shown to this visitor, if any is."""
        path = self._path(self.rules[endpoint], sending)
        kept = self.forms.get(sending.form_of or endpoint, [])
        ranked = sorted(kept, key=lambda one: (one[1].path != path, one[0] != sending.who))
        return ranked[0][1] if ranked else None

    def _visitor(self, sending: Sending) -> Visitor:
        visitor = self.premises.visitors[sending.who]
        if sending.cookie is None:
            return visitor
        return replace(visitor, cookies=f"{visitor.cookies}; {sending.cookie(self.house)}")

    def _path(self, rule: Rule, sending: Sending) -> str:
        known = self.premises.shop.values
        other = known.get(sending.values_of, {}) if sending.values_of else {}
        values = {**values_for(rule, known), **other, **sending.values}
        return address_of(self.premises.app, rule, {name: values[name] for name in rule.arguments})
