"""Every route of the URL map, asked for by everybody, against the table of who gets in.

The table stands in `tests/web/permission_table.toml`; a route without an entry fails, and so
does an entry without a route.
"""

from __future__ import annotations

import io
import sqlite3
from contextlib import closing
from dataclasses import dataclass

import pytest
from page_forms import forms_in
from visitors import (
    AWAY,
    METHODS,
    NOBODY,
    PUBLIC,
    address_of,
    got_in,
    said_by_the_table,
    values_for,
)
from whole_shop import GONE

from quizsvc.rules.certificate_life import CertificateDeed

# These lead to the door whoever was let in, having done what was asked.
TO_THE_DOOR = ("accounts.sign_out", "admin.use")
# What an address needs beside its parts, and what a form needs so that who is asking matters.
QUERIES = {
    "bank.write": "?bank=ours&kind=one+choice",
    "bank.write_new": "?bank=ours&kind=one+choice",
    "shop.item_change": f"?item={GONE}",
}
FIELDS = {
    "admin.change": {"name": "Somebody Else"},
    "admin.change_class": {"person": "2", "part": "learner"},
    "bank.decide": {"deed": "commented", "version": "1", "words": "Seen."},
    "certificates.answer_appeal": {"deed": "uphold", "answer": "The question had two right keys."},
    "certificates.appeal": {"words": "Look again at the last question."},
    "certificates.do": {"deed": CertificateDeed.SUSPENDED.value, "reason": "Until it is clear."},
    "certificates.open_panel": {"judge": ["3", "7"]},
    "classroom.extra": {"minutes": "5"},
    "classroom.void": {"reason": "It was ambiguous."},
    "sheets.publish": {"revision": "1", "note": "Back to the first."},
    "sheets.send": {"do": "save", "note": "Measured again."},
    "shop.bridge_item": {"item": GONE},
    "shop.say_read": {"revision": "2"},
    "teaching.make": {"assignment": "1", "variants": "1"},
}
# Refusals are noted in the log; nothing else may come of them.
NOTED = ("audit_entry", "audit_head")


def in_words(inside: list[str]) -> str:
    """Return who got in, as the table writes it: own shop's letters, "/", the other shop's."""
    own = "".join(who for who in inside if not who.startswith(AWAY))
    away = "".join(who[1:] for who in inside if who.startswith(AWAY))
    return PUBLIC if NOBODY in inside else own + (f"/{away}" if away else "")


def method_of(rule) -> str:
    return "GET" if "GET" in rule.methods else "POST"


def rules_of(premises):
    return sorted(premises.app.url_map.iter_rules(), key=lambda rule: rule.endpoint)


def address(premises, rule) -> str:
    values = values_for(rule, premises.shop.values)
    return address_of(premises.app, rule, values) + QUERIES.get(rule.endpoint, "")


@pytest.fixture(scope="module")
def sent(premises) -> dict[str, dict[str, object]]:
    """Return what to send to each address by POST: what its form holds on a page."""
    found: dict[str, dict[str, object]] = {}
    for rule in rules_of(premises):
        if "GET" not in rule.methods:
            continue
        page = address(premises, rule)
        for who in ("L", "I", "i", "M", "A"):
            answer = premises.visitors[who].ask("GET", page)
            if answer.mimetype == "text/html" and answer.status_code == 200:
                for form in forms_in(answer.text, page):
                    found.setdefault(form.path, form.as_sent())
    return found


def fields_for(rule, path: str, sent) -> dict[str, object]:
    fields = sent.get(path.partition("?")[0], {}) | FIELDS.get(rule.endpoint, {})
    if rule.endpoint == "teaching.read":
        fields = fields | {"pictures": (io.BytesIO(b"no picture"), "photo.jpg")}
    return fields


@dataclass
class Walk:
    """What came of asking for every route as every visitor."""

    inside: dict[str, str]
    asked: int
    refused: int
    changed_though_refused: list[tuple[str, str]]
    broken: list[tuple[str, str]]


def walk_everywhere(premises, sent) -> Walk:
    done = Walk({}, 0, 0, [], [])
    with closing(sqlite3.connect(premises.database)) as watching:
        rows = _rows(watching)
        for rule in rules_of(premises):
            method, path = method_of(rule), address(premises, rule)
            inside = []
            for who, visitor in premises.visitors.items():
                version = _version(watching)
                answer = visitor.ask(method, path, fields_for(rule, path, sent))
                done.asked += 1
                if answer.status_code >= 500:
                    done.broken.append((rule.endpoint, who))
                if got_in(answer):
                    inside.append(who)
                changed = _version(watching) != version
                if rule.endpoint not in TO_THE_DOOR and not got_in(answer):
                    done.refused += 1
                    if changed and _rows(watching) != rows:
                        done.changed_though_refused.append((rule.endpoint, who))
                if changed and method == "POST":
                    premises.put_back()
            done.inside[rule.endpoint] = in_words(inside)
    return done


def test_everybody_gets_in_where_the_table_says_and_whoever_is_refused_changes_nothing(
    premises, sent, say
):
    table, walk = said_by_the_table(), walk_everywhere(premises, sent)

    say(
        f"permission walk: {len(walk.inside)} routes × {len(premises.visitors)} visitors, "
        f"{walk.asked} requests, {walk.refused} refused"
    )
    assert walk.inside.keys() == table.keys()
    assert walk.inside == table
    assert walk.broken == []
    assert walk.refused > 1000
    assert walk.changed_though_refused == []


# Forms that name somebody or something of the first shop; sent from the other shop they must
# find nothing. `{}` in an address stands for nothing: the ids are in the fields alone.
SWAPPED = [
    ("/I", "/certificates/candidates", {"scheme": "1", "person": "1"}),
    ("/I", "/certificates/sign-offs", {"task": "1/chain", "person": "1"}),
    ("/I", "/teaching/paper", {"assignment": "1", "variants": "1"}),
    ("/M", "/people/invitations", {"name": "X", "role": "learner", "days": "14", "class": "1"}),
    ("/M", "/people/invitations", {"name": "X", "role": "learner", "days": "14", "person": "1"}),
    ("/M", "/shop/jobs/new", {"title": "Ours", "scheme": "1"}),
    ("/M", "/shop/jobs/new", {"title": "Ours", "topic": "safety", "sheet": "ours"}),
    ("/I", "/classroom/assignments/new", {"class": "1"}),
    ("/I", "/classroom/assignments/new", {"person": "1"}),
    ("/I", "/bank/write?bank=ours&kind=one+choice", {"do": "save"}),
    ("/M", "/shop/changes/item", {"item": GONE, "person": "1"}),
    ("/L", "/practise/next", {"sheet": "ours"}),
]
HOMEWORK = {
    "title": "Swapped",
    "form": "homework",
    "feedback": "after handing in",
    "opens": "2026-03-02T12:00",
    "tries": "1",
}


@pytest.mark.parametrize(("who", "path", "fields"), SWAPPED)
def test_an_id_of_another_shop_in_a_form_finds_nothing(premises, who, path, fields):
    if path.endswith("assignments/new"):
        fields = HOMEWORK | fields
    with closing(sqlite3.connect(premises.database)) as watching:
        rows = _rows(watching)

        answer = premises.visitors[who].ask("POST", path, fields)

        assert answer.status_code in {403, 404, 409, 422}, answer.text
        assert _rows(watching) == rows


def _version(watching: sqlite3.Connection) -> int:
    return watching.execute("PRAGMA data_version").fetchone()[0]


def _rows(watching: sqlite3.Connection) -> dict[str, int]:
    """Return a count and a sum of what stands in each table beside the log."""
    names = [
        row[0] for row in watching.execute("SELECT name FROM sqlite_master WHERE type='table'")
    ]
    kept = [name for name in names if name not in NOTED and not name.startswith("item_search")]
    return {name: hash(tuple(watching.execute(f"SELECT * FROM {name}"))) for name in kept}  # noqa: S608


def test_a_method_a_route_does_not_have_opens_nothing(premises, say):
    asked, ways = 0, premises.app.url_map.bind("localhost")
    paths = {address(premises, rule).partition("?")[0] for rule in rules_of(premises)}
    for path in sorted(paths):
        for method in set(METHODS) - set(ways.allowed_methods(path)):
            for who in (NOBODY, "L", "I", "A"):
                visitor = premises.visitors[who]
                answer = visitor.ask(method, path)
                asked += 1
                shut = not got_in(answer) or answer.status_code in {400, 405}
                assert shut, (method, path, visitor.who)

    say(f"permission walk: {asked} requests to {len(paths)} addresses by methods they lack")


def test_head_is_answered_as_get_is_and_holds_nothing(premises):
    for rule in rules_of(premises):
        if "GET" in rule.methods:
            path = address(premises, rule)
            for who in (NOBODY, "L", "I", "/M"):
                head, get = (premises.visitors[who].ask(one, path) for one in ("HEAD", "GET"))

                assert head.status_code == get.status_code, (path, who)
                assert not head.data


def test_getting_pages_changes_nothing(premises):
    """Only settling a sitting whose time is over may be written by a GET; none is over here."""
    with closing(sqlite3.connect(premises.database)) as watching:
        before = _version(watching)
        rows = _rows(watching)
        for rule in rules_of(premises):
            for method in ("GET", "HEAD") if "GET" in rule.methods else ():
                for who in ("L", "I", "M", "A"):
                    premises.visitors[who].ask(method, address(premises, rule))
        changed = _version(watching) != before and _rows(watching) != rows

    premises.put_back()
    assert not changed
