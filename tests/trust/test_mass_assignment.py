"""A form gives only what it has fields for: names of columns sent with it change nothing else.

Every route that takes something in gets a form that it takes, once plain and once with the name of
every column of every table beside it, in the body and in the address. Chance and clock stand
still, so both must leave the same database behind, row by row.
"""

from __future__ import annotations

import os
import random
import re
from collections.abc import Collection, Iterator, Mapping
from datetime import datetime
from itertools import count, zip_longest
from random import Random
from urllib.parse import urlencode

import classroom
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from senders import Sender, sending_for, stored, unsafe_rules
from sqlalchemy import Boolean, DateTime
from valid_forms import SENDINGS, Sending

from quizsvc.services.certifying import issue_credentials
from quizsvc.store.tables import METADATA

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


class Trial:
    """Sends to one route with columns beside, and tells what came of it."""

    def __init__(self, premises, forms, urn: Urn) -> None:
        self.sender, self.urn, self.names, self.sent = Sender(premises, forms), urn, 0, 0
        self.premises = premises

    def beside(self, endpoint: str, names: set[str], offered: Mapping[str, str]) -> dict[str, str]:
        """Return what of the names offered is no name of the form's own."""
        known, _ = OWN_NAMES.get(endpoint, (set(), ""))
        return {name: value for name, value in offered.items() if name not in names | known}

    def outcome(self, endpoint: str, sending: Sending, beside: Mapping[str, str] = NOTHING):
        """Return the answer, and all rows before and after."""
        self.urn.again()
        classroom._keys = count(1)  # keys of saves, which are counted over a whole run
        given = self.sender.begin(sending)
        before = stored(self.premises)
        request = self.sender.request(endpoint, sending, given)
        more = self.beside(endpoint, request.names, beside)
        path = request.path
        if more:
            path += ("&" if "?" in path else "?") + urlencode(more)
        answer = request.visitor.ask("POST", path, {**more, **request.fields})
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
            self.names, self.sent = self.names + len(offered), self.sent + 1
            yield from differences(after, changed)
            if (more.status_code, more.location) != (plain.status_code, plain.location):
                yield f"it answers {more.status_code} with columns beside: {words_of(more)}"

    def takes_files(self, endpoint: str, sending: Sending) -> bool:
        """Return whether the form is sent in parts, of which only so many are taken."""
        known = self.sender.forms.get(sending.form_of or endpoint, [])
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
    for endpoint in sorted(trial.sender.rules):
        sending = sending_for(endpoint, forms)
        found = list(trial.try_out(endpoint, sending)) if sending else []
        if found:
            wrong[endpoint] = found
    premises.put_back()

    say(f"mass assignment: {trial.sent} routes, {trial.names} names of columns sent beside forms")
    assert not wrong, "\n".join(f"{name}: {found}" for name, found in wrong.items())
