"""What another site can make a browser send is refused: on every route, by every unsafe method."""

from __future__ import annotations

import io
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from urllib.parse import urlencode

import pytest
from senders import UNSAFE, Request, Sender, sending_for
from visitors import Fields

TAKEN = {200, 204, 302}


def whole(fields: Fields) -> Fields:
    """Return the fields with each file's bytes in place of the stream, which is read but once."""
    return {name: _whole(value) for name, value in fields.items()}


def _whole(value: object) -> object:
    match value:
        case (io.BytesIO() as stream, name):
            return stream.getvalue(), name
    return value


def fresh(fields: Fields) -> Fields:
    return {
        name: (io.BytesIO(value[0]), value[1]) if isinstance(value, tuple) else value
        for name, value in fields.items()
    }


def forgeries(request: Request, others_token: str) -> Iterator[tuple[str, str, dict[str, object]]]:
    """Yield what is wrong with a forged request, its address, and what goes into it."""
    fields, token = whole(request.fields), request.visitor.token
    named = urlencode({"csrf_token": token})
    in_address = f"{request.path}{'&' if '?' in request.path else '?'}{named}"
    yield "no token", request.path, {"data": fresh(fields)}
    yield "empty token", request.path, {"data": {**fresh(fields), "csrf_token": ""}}
    yield "made-up token", request.path, {"data": {**fresh(fields), "csrf_token": "x" * 90}}
    yield "another's token", request.path, {"data": {**fresh(fields), "csrf_token": others_token}}
    yield "cut token", request.path, {"data": {**fresh(fields), "csrf_token": token[:-1]}}
    yield "token in the address", in_address, {"data": fresh(fields)}
    yield "JSON", request.path, {"json": {"csrf_token": token, "deed": "x"}}
    plain = {name: value for name, value in fields.items() if isinstance(value, str)}
    text = urlencode({"csrf_token": token, **plain})
    yield "plain text", request.path, {"data": text, "content_type": "text/plain"}


def asked(request: Request, method: str, path: str, body: dict[str, object]):
    headers = {"Cookie": request.visitor.cookies, "Accept": "text/html, application/json"}
    return request.visitor.client.open(path, method=method, headers=headers, **body)


@pytest.fixture
def watching(premises) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(premises.database)) as opened:
        yield opened


def version(watching: sqlite3.Connection) -> int:
    """Return a number that changes with every change to the database."""
    return watching.execute("PRAGMA data_version").fetchone()[0]


def test_every_form_and_route_refuses_what_comes_without_its_token(premises, forms, watching, say):
    sender, refused, let_through = Sender(premises, forms), 0, []
    methods = {(name, one) for name, rule in sender.rules.items() for one in rule.methods & UNSAFE}
    for endpoint, method in sorted(methods):
        sending = sending_for(endpoint, forms)
        if sending is None:
            continue  # test_mass_assignment.py asks for a decision
        request = sender.request(endpoint, sending, sender.begin(sending))
        other = premises.visitors["i" if sending.who != "i" else "I"].token
        fields = whole(request.fields)
        before = version(watching)
        for wrong, path, body in forgeries(request, other):
            answer = asked(request, method, path, body)
            refused += 1
            if answer.status_code != 400 or version(watching) != before:
                let_through.append((method, endpoint, wrong, answer.status_code))
        sound = {"data": {**fresh(fields), "csrf_token": request.visitor.token}}
        answer = asked(request, method, request.path, sound)
        assert answer.status_code in TAKEN, (endpoint, answer.text[-1500:])
    premises.put_back()

    say(f"forged requests: {refused} to {len(methods)} routes × unsafe methods refused")
    assert let_through == []


def test_unsafe_methods_that_no_route_has_are_refused_with_a_sound_token(premises, watching):
    ways = premises.app.url_map.bind("localhost")
    visitor, before = premises.visitors["A"], version(watching)
    paths = {"/", "/sign-in", "/people/1/rename", "/shop/people/1/erase", "/bank/banks"}
    for path in sorted(paths):
        for method in sorted(UNSAFE - set(ways.allowed_methods(path))):
            headers = {"Cookie": visitor.cookies, "X-CSRFToken": visitor.token}
            answer = visitor.client.open(path, method=method, headers=headers)

            assert answer.status_code == 405, (method, path)
    assert version(watching) == before
