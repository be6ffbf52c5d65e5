"""A form gives only what it has fields for: names of columns sent with it change nothing else."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

COLUMNS = {
    "id": "999",
    "person_id": "999",
    "shop_id": "2",
    "role": "administrator",
    "roles": "administrator",
    "active": "0",
    "password_hash": "x",
    "correct": "1",
    "credit": "1",
    "points": "99",
    "state": "handed in",
    "seed": "1",
    "marked_at": "2026-01-01",
    "allowed_seconds": "999999",
    "extra": "999",
    "made_by": "1",
    "is_admin": "1",
}
PLAIN = [
    ("M", "/people/1/rename", {"name": "Ana Anew"}),
    ("M", "/people/1/deactivate", {}),
    ("I", "/people/classes/1/put", {"person": "2", "part": "learner"}),
    ("I", "/classroom/assignments/1/people/1/extra", {"minutes": "5"}),
    ("I", "/classroom/assignments/1/watch/pause", {}),
    ("M", "/shop/people/1/shift", {"shift": "late"}),
    ("M", "/shop/jobs/1/end", {}),
    ("L", "/practise/items/{practise}", {"choice": "1"}),
    ("L", "/classroom/sittings/{classroom}/place", {"number": "1"}),
    ("L", "/shop/sheets/ours", {"revision": "2"}),
    ("i", "/bank/items/6/review", {"deed": "commented", "version": "1", "words": "Seen."}),
]


def stored(premises) -> dict[str, list[tuple[object, ...]]]:
    with closing(sqlite3.connect(premises.database)) as live:
        names = live.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        kept = [name for (name,) in names if not name.startswith("item_search")]
        return {name: live.execute(f"SELECT * FROM {name}").fetchall() for name in kept}  # noqa: S608


@pytest.mark.parametrize(("who", "path", "fields"), PLAIN)
def test_columns_sent_with_a_form_change_no_more_than_the_form(premises, who, path, fields):
    tokens = {name: premises.shop.values[name]["token"] for name in ("practise", "classroom")}
    address = path.format(**tokens)
    results = []
    for more in ({}, COLUMNS):
        premises.put_back()
        premises.same_seeds_again()
        answer = premises.visitors[who].ask("POST", address, {**more, **fields})
        assert answer.status_code in {200, 204, 302}, answer.text
        results.append(stored(premises))
    premises.put_back()
    before = stored(premises)

    differing = [name for name in before if results[0][name] != results[1][name]]
    assert results[0] != before
    assert differing == []
