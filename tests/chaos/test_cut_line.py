"""The line to the database breaks or stands still while a class sits a test."""

from __future__ import annotations

import random
from pathlib import Path
from threading import Event
from urllib.parse import parse_qs, urlsplit

import postgres_server
import pytest
from accounts_kept import lost
from cut_line import CutLine
from examined import open_class, sitters_of
from under_load import all_is_well, answering, refusals, settle, told, wait_for_more

pytestmark = pytest.mark.postgres
CUTS = 12


@pytest.fixture
def database():
    address = postgres_server.new_database()
    yield address
    postgres_server.drop_database(address)


@pytest.fixture
def line(tmp_path, database):
    server_folder = Path(parse_qs(urlsplit(database).query)["host"][0])
    made = CutLine(tmp_path / "line", server_folder)
    yield made
    made.put_away()


def through(line: CutLine, address: str) -> str:
    """Return the address of the database at this end of the line."""
    return f"{address.split('?', maxsplit=1)[0]}?host={line.folder}"


def test_a_line_cut_at_any_moment_loses_no_answer_and_counts_none_twice(
    tmp_path, serve, say, database, line
):
    made, chance = open_class(tmp_path, 8, DATABASE_URL=database), random.Random(5)
    server = serve(tmp_path, workers=2, DATABASE_URL=through(line, database))
    server.start()
    sitters = sitters_of(made, [server.port])
    with answering(sitters):
        for _ in range(CUTS):
            wait_for_more(sitters, chance.randint(4, 12))
            Event().wait(chance.uniform(0, 0.2))
            line.cut()
            assert lost(made, sitters) == []
        wait_for_more(sitters, 10)
        settle(sitters)
    all_is_well(made, sitters)
    server.stop()
    made.house.close()
    say(
        f"chaos: PostgreSQL, line cut {CUTS} times ({line.cut_off} connections), "
        f"{refusals(sitters)} answers refused with 503, {told(sitters)} acknowledged, "
        "0 lost, 0 twice"
    )


def test_a_line_that_stands_still_goes_on_where_it_stopped(tmp_path, serve, say, database, line):
    made = open_class(tmp_path, 6, DATABASE_URL=database)
    server = serve(tmp_path, workers=1, DATABASE_URL=through(line, database))
    server.start()
    sitters = sitters_of(made, [server.port])
    with answering(sitters):
        wait_for_more(sitters, 15)
        line.stop()
        stopped_at = told(sitters)
        Event().wait(1.5)
        while_stopped = told(sitters) - stopped_at
        assert lost(made, sitters) == []
        line.go_on()
        wait_for_more(sitters, 15)
        settle(sitters)
    assert while_stopped <= len(sitters)  # at most those whose answer had come back already
    all_is_well(made, sitters)
    server.stop()
    made.house.close()
    say(
        f"chaos: PostgreSQL, line stood still: {while_stopped} acknowledged meanwhile, "
        f"{told(sitters)} in all, 0 lost, 0 twice"
    )
