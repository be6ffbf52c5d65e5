"""kill -9 at random moments while a class sits a test: nothing acknowledged is lost or doubled.

The long run: `pytest tests/chaos -m chaos -s`.
"""

from __future__ import annotations

import random
from statistics import median
from threading import Event
from time import monotonic

import postgres_server
import pytest
from accounts_kept import counted_twice, integrity, lost
from examined import Class, open_class, sitters_of
from under_load import LONGEST_QUIET, all_is_well, answering, settle, told, wait_for_more

from quizsvc.services.sitting import closing
from quizsvc.services.steady import steady_now
from quizsvc.services.watching import results

KILLS = 200


def hand_in(made: Class) -> int:
    """Hand every sitting in and release the test; return how many answers entered the records."""
    for learner in made.learners:
        token = made.sittings[learner.person_id]
        closing.hand_in(made.house, learner, token, now=steady_now(made.house))
    now = steady_now(made.house)
    results.release(made.house, made.ida, made.test, now=now)
    closing.count_all_told(made.house, now=now)
    with made.house.read() as connection:
        return connection.exec_driver_sql("SELECT count(*) FROM response").scalar_one()


def kill_again_and_again(
    tmp_path, serve, say, *, kills: int, size: int, workers: int, one_worker_share: float
) -> None:
    made, chance = open_class(tmp_path, size), random.Random(7)
    server = serve(tmp_path, workers=workers)
    sitters, starts, done, whole = sitters_of(made, [server.port]), [server.start()], 0, 0
    with answering(sitters):
        while done < kills:
            wait_for_more(sitters, chance.randint(1, size))
            Event().wait(chance.uniform(0, 0.3))
            done += 1
            if chance.random() < one_worker_share:
                server.kill_a_worker(done)
                Event().wait(6)  # a worker that dies again within 5.5 s ends the server
                if server.running:
                    continue
            else:
                server.kill()
            whole += 1
            assert lost(made, sitters) == []
            assert integrity(made, "quick_check") == "ok"
            starts.append(server.start())
        settle(sitters)
    all_is_well(made, sitters)
    server.stop()
    answered = sum(len(sitter.acknowledged) for sitter in sitters)
    assert hand_in(made) == answered
    made.house.close()
    say(
        f"chaos: {done} kills ({whole} of the whole server, {done - whole} of a worker), "
        f"{size} people sitting, {told(sitters)} answers acknowledged, "
        f"{sum(one.cut_off for one in sitters)} times cut off: 0 lost, 0 twice, integrity ok; "
        f"start {starts[0]:.1f} s, after a kill {median(starts[1:]):.1f} s (median)"
    )


def test_nothing_acknowledged_is_lost_when_the_server_is_killed(tmp_path, serve, say):
    kill_again_and_again(tmp_path, serve, say, kills=5, size=10, workers=1, one_worker_share=0)


@pytest.mark.chaos
def test_two_hundred_kills_while_fifty_people_sit_a_test(tmp_path, serve, say):
    kill_again_and_again(
        tmp_path, serve, say, kills=KILLS, size=50, workers=2, one_worker_share=0.08
    )


def test_a_worker_that_is_killed_comes_back_and_the_others_go_on(tmp_path, serve, say):
    made = open_class(tmp_path, 6)
    server = serve(tmp_path, workers=2)
    server.start()
    sitters = sitters_of(made, [server.port])
    with answering(sitters):
        wait_for_more(sitters, 20)
        before = len(server.workers())

        server.kill_a_worker(0)

        wait_for_more(sitters, 40)
        until = monotonic() + LONGEST_QUIET
        while len(server.workers()) < before and monotonic() < until:
            Event().wait(0.1)
        assert server.running
        assert len(server.workers()) == before
        settle(sitters)
    all_is_well(made, sitters)
    server.stop()
    made.house.close()
    say(f"chaos: a worker of two killed, {told(sitters)} answers acknowledged, 0 lost, 0 twice")


def test_a_server_told_to_stop_finishes_the_answers_it_has_taken(tmp_path, serve, say):
    """SIGTERM: every answer it had begun is stored and acknowledged or was never stored."""
    made = open_class(tmp_path, 8)
    server = serve(tmp_path, workers=1)
    server.start()
    sitters = sitters_of(made, [server.port])
    with answering(sitters):
        wait_for_more(sitters, 30)

        status = server.stop()

    told_before = told(sitters)
    assert status == 0
    assert lost(made, sitters) == []
    # No answer was stored that its sender was not told of: the server drained what it had taken.
    assert counted_twice(made, sitters) == []
    assert integrity(made) == "ok"
    made.house.close()
    say(f"chaos: stopped under load, {told_before} answers acknowledged, none stored untold")


@pytest.mark.postgres
def test_one_of_two_servers_beside_one_database_is_killed_without_loss(tmp_path, serve, say):
    address = postgres_server.new_database()
    made = open_class(tmp_path, 8, DATABASE_URL=address)
    servers = [serve(tmp_path, workers=1, DATABASE_URL=address) for _ in range(2)]
    for server in servers:
        server.start()
    sitters = sitters_of(made, [server.port for server in servers])
    with answering(sitters):
        for turn in range(3):
            wait_for_more(sitters, 20)
            servers[turn % 2].kill()
            assert lost(made, sitters) == []
            wait_for_more(sitters, 20)  # the other goes on
            servers[turn % 2].start()
        settle(sitters)
    all_is_well(made, sitters)
    for server in servers:
        server.stop()
    made.house.close()
    postgres_server.drop_database(address)
    say(
        f"chaos: PostgreSQL, two servers, 3 kills of one, {told(sitters)} answers acknowledged, "
        "0 lost, 0 twice"
    )
