"""Marking two thousand finished sittings again: the preview, doing it, and the item's page.

Run by name: pytest tests/benchmarks/test_bench_tests_again.py -m benchmark -s
"""

from __future__ import annotations

import sys
from datetime import timedelta
from pathlib import Path
from time import perf_counter

import pytest
from sqlalchemy import text

sys.path.insert(0, str(Path(__file__).parents[1] / "services"))
from sat_again import CORRECTED, correct_key, crew_with_item, give_out, mark, plan, sit
from test_tests_marked_again import AT_END
from workshop import NOON, Workshop, open_house, stock

from quizsvc.services import review

pytestmark = pytest.mark.benchmark
SITTINGS, AIM_MS = 2000, 2000
LATER = NOON + timedelta(days=1)
_PERSON = """
INSERT INTO person (id, name, sign_in_name, active, made_at)
VALUES (:person, 'Invented ' || :person, 'many' || :person, 1, '2026-03-02 12:00:00.000000')
"""


def copied(connection, table, where, **other):
    """Copy the rows of a table with some columns changed."""
    names = [row[1] for row in connection.execute(text(f"PRAGMA table_info({table})"))]
    values = ", ".join(other.get(name, name) for name in names)
    statement = (
        f"INSERT INTO {table} ({', '.join(names)}) SELECT {values} FROM {table} WHERE {where}"  # noqa: S608 - names of our own tables
    )
    connection.execute(text(statement))


def milliseconds(work):
    start = perf_counter()
    work()
    return 1000 * (perf_counter() - start)


@pytest.fixture
def crew_and_item(tmp_path):
    house = open_house(f"sqlite:///{tmp_path / 'many.sqlite3'}", tmp_path, upgrade=True)
    shop, people = stock(house, tmp_path)
    crew, item_id = crew_with_item(Workshop(house, shop, people))
    sit(crew, give_out(crew, AT_END), crew.ana, CORRECTED)
    with house.write() as connection:
        first = connection.execute(text("SELECT max(id) + 1 FROM person")).scalar_one()
        for n in range(SITTINGS):
            key = 100_000 + n
            connection.execute(text(_PERSON), {"person": first + n})
            token = f"printf('%032x', {key})"
            copied(
                connection, "sitting", "id = 1", id=str(key), token=token, person_id=str(first + n)
            )
            copied(connection, "sitting_item", "sitting_id = 1", sitting_id=str(key))
    yield crew, item_id
    house.close()


def test_two_thousand_sittings_are_marked_again_before_anybody_has_waited_long(crew_and_item):
    crew, item_id = crew_and_item
    correct_key(crew, item_id, CORRECTED, LATER)

    page = milliseconds(lambda: review.item_page(crew.house, crew.ida, item_id))
    preview = milliseconds(lambda: plan(crew, item_id))
    seen = plan(crew, item_id).seen
    done = milliseconds(lambda: mark(crew, item_id, LATER, seen=seen))

    print(  # noqa: T201 - a benchmark is run to be read
        f"\n{SITTINGS} sittings: item page {page:.0f} ms, preview {preview:.0f} ms, "
        f"marked again {done:.0f} ms"
    )
    assert plan(crew, item_id).to_mark == ()
    assert done < AIM_MS
