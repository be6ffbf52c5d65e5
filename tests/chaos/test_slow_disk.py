"""A disk that takes its time, and one whose writes fail: slower, refused with words, never lost."""

from __future__ import annotations

import pytest
from accounts_kept import lost
from disk_calls import DiskCalls
from examined import open_class, sitters_of
from under_load import (
    all_is_well,
    answering,
    page_said,
    refusals,
    settle,
    told,
    until,
    wait_for_more,
)

MILLISECONDS = 700  # for each durable write; a common disk takes about one


@pytest.fixture
def calls(tmp_path):
    return DiskCalls(tmp_path)


def test_a_slow_disk_makes_answers_slow_and_loses_none(tmp_path, serve, say, calls):
    made = open_class(tmp_path, 6)
    server = serve(tmp_path, workers=2, **calls.environment())
    server.start()
    sitters = sitters_of(made, [server.port])
    with answering(sitters):
        wait_for_more(sitters, 15)
        with calls.slow(server, MILLISECONDS):
            before = told(sitters)
            wait_for_more(sitters, 15)
            assert page_said(server, sitters[0])[0] == 200  # reading goes on
            assert lost(made, sitters) == []
            slowly = told(sitters) - before
        wait_for_more(sitters, 15)
        settle(sitters)
    all_is_well(made, sitters)
    server.stop()
    made.house.close()
    say(
        f"chaos: each durable write held for {MILLISECONDS} ms ({calls.how}): {slowly} answers "
        f"acknowledged meanwhile, {refusals(sitters)} refused, {told(sitters)} in all, "
        "0 lost, 0 twice"
    )


def test_a_disk_whose_writes_fail_is_said_and_nothing_is_acknowledged(tmp_path, serve, say, calls):
    made = open_class(tmp_path, 6)
    server = serve(tmp_path, workers=1, **calls.environment())
    server.start()
    sitters = sitters_of(made, [server.port])
    with answering(sitters):
        wait_for_more(sitters, 15)
        with calls.failing(server):
            until(sitters, lambda: refusals(sitters) >= 12, "nobody was told that writing fails")
            assert page_said(server, sitters[0])[0] == 200  # reading goes on
            assert lost(made, sitters) == []
        wait_for_more(sitters, 15)  # and writing comes back by itself
        settle(sitters)
    all_is_well(made, sitters)
    server.stop()
    made.house.close()
    say(
        f"chaos: durable writes fail ({calls.how}): {refusals(sitters)} answers refused with 503, "
        f"{told(sitters)} acknowledged before and after, 0 lost, 0 twice"
    )
