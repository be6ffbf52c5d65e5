"""Every form and route with what it does not expect, as everybody: never a failure of ours."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from time import perf_counter
from traceback import format_exception
from urllib.parse import quote, urlencode

import pytest
from flask import got_request_exception
from hostile import MARK, file, names_read_in, text, value_for
from page_forms import PageForm, forms_in
from valid_forms import SENDINGS
from visitors import AWAY, NOBODY, PUBLIC, Visitor, address_of, said_by_the_table, values_for
from werkzeug.routing import IntegerConverter

REQUESTS, ON_POSTGRESQL = 10_000, 2_000
TURN = 200  # requests, then the shop is put back as it was
ROUNDS = {"GET": 0.35, "POST": 0.65}


def forms_of(premises) -> dict[str, list[PageForm]]:
    """Return every form that a page shows to somebody, by the endpoint it goes to."""
    ways = premises.app.url_map.bind("localhost")
    found: dict[str, dict[tuple[str, ...], PageForm]] = {}
    for rule in premises.app.url_map.iter_rules():
        if "GET" not in rule.methods or rule.endpoint == "static":
            continue
        page = address_of(premises.app, rule, values_for(rule, premises.shop.values))
        for who in (NOBODY, "L", "I", "M", "A"):
            answer = premises.visitors[who].ask("GET", page)
            if answer.mimetype == "text/html":
                for form in forms_in(answer.text, page):
                    endpoint, _ = ways.match(form.path, form.method)
                    names = tuple(sorted({name for name, _ in form.fields}))
                    found.setdefault(endpoint, {})[names] = form
    premises.put_back()
    return {endpoint: list(kinds.values()) for endpoint, kinds in found.items()}


def requests_of(statuses: Counter) -> int:
    return sum(count for status, count in statuses.items() if status != "JSON")


@contextmanager
def failures_of(app) -> Iterator[list[str]]:
    found: list[str] = []

    def keep(_sender, exception, **_more) -> None:
        found.append("".join(format_exception(exception))[-2500:])

    with got_request_exception.connected_to(keep, app):
        yield found


def spoiled_address(premises, rule, chance: random.Random) -> str:
    """Return the route's address, now and then with something else in its place."""
    values, spoiled = values_for(rule, premises.shop.values), {}
    for place, (name, converter) in enumerate(rule._converters.items()):
        if chance.random() < 0.25:
            whole = isinstance(converter, IntegerConverter)
            values[name] = 987_650 + place if whole else f"stands-for-{place}"
            spoiled[str(values[name])] = quote(str(value_for(chance, whole=whole)), safe="%")
    path = premises.app.url_map.bind("localhost").build(rule.endpoint, values)
    for stands, bad in spoiled.items():
        path = path.replace(stands, bad)
    return path


def spoiled_query(rule, chance: random.Random) -> str:
    names = names_read_in(rule.endpoint.partition(".")[0])
    asked = [(chance.choice(names), text(chance)) for _ in range(chance.randrange(4))]
    return "?" + urlencode(asked, quote_via=quote, errors="surrogatepass") if asked else ""


def spoiled_fields(rule, forms, chance: random.Random) -> dict[str, object]:
    """Return a form's fields with some left out, doubled, replaced or made up."""
    known = forms.get(rule.endpoint)
    sent: dict[str, object] = dict(chance.choice(known).as_sent()) if known else {}
    if rule.endpoint in SENDINGS and chance.random() < 0.5:
        sent |= SENDINGS[rule.endpoint].fields
    choices = {}
    if known:
        choices = dict(chance.choice(known).choices)
    names = [*sent, *names_read_in(rule.endpoint.partition(".")[0])]
    for _ in range(chance.randrange(1, 5)):
        name = chance.choice(names)
        deed = chance.random()
        if deed < 0.15:
            sent.pop(name, None)
        elif deed < 0.3 and choices:
            name = chance.choice(list(choices))
            sent[name] = [chance.choice(choices[name] or ("",))]
        elif deed < 0.4:
            sent[name] = [text(chance), text(chance)]
        else:
            sent[name] = [text(chance)]
    for form in known or ():
        for name in form.files:
            sent[name] = file(chance)
    if chance.random() < 0.05:
        sent[chance.choice(names)] = file(chance)
    return sent


def somebody(premises, who_gets_in: str, chance: random.Random) -> Visitor:
    """Return mostly somebody whom the route lets in: deeper things can break for them."""
    own, _, away = who_gets_in.partition("/")
    inside = [*own, *(AWAY + who for who in away)]
    if who_gets_in == PUBLIC or not inside or chance.random() < 0.2:
        inside = list(premises.visitors)
    return premises.visitors[chance.choice(inside)]


def asked(visitor: Visitor, method: str, path: str, fields, chance: random.Random):
    """Send a form mostly, now and then as a script would, or JSON where a form is expected."""
    way = chance.random()
    if fields is not None and way < 0.05:
        return visitor.send_json(path, json_of(fields, chance))
    return visitor.ask(method, path, fields, accept="application/json" if way < 0.2 else "*/*")


def json_of(fields: dict[str, object], chance: random.Random) -> object:
    """Return a document with the form's names in it, or something else altogether."""
    named = {
        name: value if isinstance(value, list) else str(value) for name, value in fields.items()
    }
    other = chance.choice((None, 7, -1.5, "x", [], [[]] * 50, {"a": {"b": [None]}}, True))
    return chance.choice((named, [named], {"data": named}, other))


def fuzz(premises, forms, requests: int, seed: int) -> tuple[Counter, list[str], list[str]]:
    chance = random.Random(seed)
    rules = [rule for rule in premises.app.url_map.iter_rules() if rule.endpoint != "static"]
    rules.sort(key=lambda rule: rule.endpoint)
    by_method = {method: [rule for rule in rules if method in rule.methods] for method in ROUNDS}
    table, statuses, unescaped = said_by_the_table(), Counter(), []
    with failures_of(premises.app) as failures:
        for turn in range(requests):
            if turn % TURN == 0:
                premises.put_back()
            method = chance.choices(list(ROUNDS), list(ROUNDS.values()))[0]
            rule = chance.choice(by_method[method])
            path = spoiled_address(premises, rule, chance) + spoiled_query(rule, chance)
            fields = spoiled_fields(rule, forms, chance) if method == "POST" else None
            visitor = somebody(premises, table[rule.endpoint], chance)
            answer = asked(visitor, method, path, fields, chance)
            statuses[answer.status_code] += 1
            statuses["JSON"] += answer.is_json
            if answer.status_code >= 500:
                failures.append(f"{method} {path[:200]} {str(fields)[:600]}")
            if answer.mimetype == "text/html" and MARK in answer.text:
                unescaped.append(path)
    premises.put_back()
    return statuses, failures, unescaped


@pytest.mark.postgres
def test_bad_requests_break_nothing_on_postgresql_either(served_premises, say):
    forms = forms_of(served_premises)

    statuses, failures, unescaped = fuzz(served_premises, forms, ON_POSTGRESQL, seed=12)

    say(f"fuzz: {requests_of(statuses)} requests on PostgreSQL")
    assert not failures, f"{len(failures)} failures, the first:\n" + "\n".join(failures[:2])
    assert not unescaped


def test_ten_thousand_bad_requests_break_nothing(premises, say):
    begun, forms = perf_counter(), forms_of(premises)

    statuses, failures, unescaped = fuzz(premises, forms, REQUESTS, seed=11)

    kinds = ", ".join(f"{status}: {count}" for status, count in sorted(statuses.items(), key=str))
    say(
        f"fuzz: {requests_of(statuses)} requests to {len(forms)} forms and all routes as "
        f"{len(premises.visitors)} visitors in {perf_counter() - begun:.0f} s ({kinds})"
    )
    assert not failures, f"{len(failures)} failures, the first:\n" + "\n".join(failures[:2])
    assert not unescaped
    assert requests_of(statuses) == REQUESTS
    assert statuses["JSON"] > 50
    assert statuses[200] > 500
    assert statuses[422] > 500
