"""Compare what people were told is saved with what the database holds."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from copy import copy

from examined import Class, Sent, Sitter
from sqlalchemy import text

ITEMS = text("""
    SELECT number, sequence, typed FROM sitting_item
    JOIN sitting ON sitting.id = sitting_item.sitting_id
    WHERE sitting.token = :token AND saved_at IS NOT NULL
""")
SAVES = text("""
    SELECT count(*) FROM sitting_save
    JOIN sitting ON sitting.id = sitting_save.sitting_id WHERE sitting.token = :token
""")


def lost(made: Class, sitters: Iterable[Sitter]) -> list[str]:
    """Return what was acknowledged and is not there, or is there and was never sent."""
    told = {sitter: copy(sitter.acknowledged) for sitter in sitters}  # before the database is read
    found = []
    with made.house.read() as connection:
        for sitter, acknowledged in told.items():
            rows = connection.execute(ITEMS, {"token": sitter.sitting}).all()
            found += all_that_differs(sitter, acknowledged, rows)
    return found


def all_that_differs(sitter: Sitter, acknowledged: dict[int, Sent], rows) -> list[str]:
    """Return what rows (number, sequence, typed) lack of what was acknowledged, or make up."""
    stored = {number: (sequence, typed) for number, sequence, typed in rows}
    found = [
        f"person {sitter.person}, question {number}: {sent.sequence} acknowledged, "
        f"{stored.get(number, (None,))[0]} stored"
        for number, sent in acknowledged.items()
        if stored.get(number, (0,))[0] < sent.sequence
    ]
    for number, (sequence, typed) in stored.items():
        sent = sitter.sent.get((number, sequence))
        if sent is None or json.loads(typed).get("choice") != [sent.choice]:
            found.append(f"person {sitter.person}, question {number}: {typed} was never sent")
    return found


def counted_twice(made: Class, sitters: Iterable[Sitter]) -> list[str]:
    """Return whose saves are more or fewer than the answers they sent; all is quiet by now."""
    found = []
    with made.house.read() as connection:
        for sitter in sitters:
            saves = connection.scalar(SAVES, {"token": sitter.sitting})
            if saves != sitter.answers:
                found.append(f"person {sitter.person}: {sitter.answers} answers, {saves} saves")
    return found


def integrity(made: Class, pragma: str = "integrity_check") -> str:
    """Return SQLite's own verdict; "ok" for a server, which checks itself when it recovers."""
    if made.house.database.turns is None:
        return "ok"
    path = made.house.settings.instance / "quizsvc.sqlite3"
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute(f"PRAGMA {pragma}").fetchall()
        broken = connection.execute("PRAGMA foreign_key_check").fetchall()
    return "ok" if rows == [("ok",)] and not broken else f"{rows} {broken}"
