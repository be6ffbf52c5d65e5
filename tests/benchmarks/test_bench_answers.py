"""A durable answer against POSTs that do less, on the same server in the same run.

`pytest tests/benchmarks/test_bench_answers.py -m benchmark -s` prints the figures. Blocks of all
kinds alternate, so that whatever else the machine does meets all; only ratios mean anything.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from time import perf_counter

import pytest
from benched_server import offers_of_choices, post, served, stock_with_learners, with_a_form
from load_client import Line, Phase, request, run_phase
from sqlalchemy import text

from quizsvc.config import settings_from
from quizsvc.services.house import House
from quizsvc.store.engines import PRAGMAS

LEARNERS = 16  # each on a connection of their own, as many as ask at the same moment
BLOCKS = 12
ANSWERS = 10  # per learner and block
AIM = 0.36

pytestmark = pytest.mark.benchmark


@dataclass(frozen=True)
class Ready:
    """What a learner sends, ready made: answers, and POSTs that only pass the gate."""

    answers: list[bytes]
    gate: bytes


@pytest.mark.parametrize("size", [LEARNERS, 500])
def test_a_durable_answer_against_posts_that_do_less(tmp_path, size):
    house = House.open(settings_from({"QUIZSVC_INSTANCE": str(tmp_path)}), upgrade=True)
    blocks, each = (BLOCKS, ANSWERS) if size == LEARNERS else (4, 3)
    learners = stock_with_learners(house, size)
    offers = [offers_of_choices(house, one, blocks * each) for one in learners]
    with served(house.settings) as server:
        lines = [Line(server.port) for _ in learners]
        ready = []
        for learner, own, line in zip(learners, offers, lines, strict=True):
            known = with_a_form(learner, line, server.port)
            paths = [f"/practise/items/{offer}" for offer in own]
            answers = [post(known, path, server.port, choice="1") for path in paths]
            ready.append(Ready(answers, post(known, "/gate", server.port)))
        nothing = [[request("POST", "/nothing", port=server.port)] * each] * size
        commits = [[request("POST", "/commit", port=server.port)] * each] * size
        gates = [[one.gate] * each for one in ready]
        run_phase(lines, nothing, 204)  # warms up

        rounds: list[dict[str, Phase]] = []
        for block in range(blocks):
            own = slice(block * each, (block + 1) * each)
            rounds.append(
                {
                    "nothing": run_phase(lines, nothing, 204),
                    "gate": run_phase(lines, gates, 200),
                    "commit": run_phase(lines, commits, 204),
                    "answer": run_phase(lines, [one.answers[own] for one in ready], 302),
                }
            )
        for line in lines:
            line.close()

    to_gate = _report(rounds, size, _raw_commit_ms(house.settings.instance))
    with house.read() as connection:
        stored = connection.execute(text("SELECT count(*) FROM response")).scalar_one()
    house.close()
    assert stored == size * each * blocks  # every acknowledged answer is there, once
    assert to_gate > AIM / 3  # far below the aim something is broken, whatever the machine does


def _report(rounds: list[dict[str, Phase]], size: int, commit_ms: float) -> float:
    """Print the figures; return answers per POST that passes the gate."""
    all_of = {name: _together([one[name] for one in rounds]) for name in rounds[0]}
    per = {
        name: median(one["answer"].per_second / one[name].per_second for one in rounds)
        for name in ("nothing", "gate", "commit")
    }
    print(f"\n{size} learners, each on a connection kept open")  # noqa: T201 - a benchmark prints
    titles = {
        "nothing": "POST that does nothing",
        "gate": "same, behind sign-in and form",
        "commit": "bare insert and commit",
        "answer": "durable answer",
    }
    for name, phase in all_of.items():
        p50, p99 = phase.share(0.5) * 1e3, phase.share(0.99) * 1e3
        print(  # noqa: T201
            f"{titles[name]:30} {phase.per_second:5.0f}/s, p50 {p50:.1f} ms, p99 {p99:.1f} ms, "
            f"p99/p50 {p99 / p50:.1f}"
        )
    print(  # noqa: T201
        f"answer / nothing {per['nothing']:.2f} (aim {AIM} to 0.50), / gate {per['gate']:.2f}, "
        f"/ bare commit {per['commit']:.2f}; raw commit without a server p50 {commit_ms:.2f} ms; "
        "p99/p50 aims at 3 at most"
    )
    return per["gate"]


def _together(phases: Sequence[Phase]) -> Phase:
    return Phase(sum(p.seconds for p in phases), [time for p in phases for time in p.each])


def _raw_commit_ms(folder) -> float:
    """Return the median time of a bare row made durable on the same disk, in milliseconds."""
    connection = sqlite3.connect(folder / "raw.sqlite3", isolation_level=None)
    for pragma in PRAGMAS:
        connection.execute(pragma)
    connection.execute("CREATE TABLE row (x INTEGER)")
    times = []
    for n in range(200):
        begun = perf_counter()
        connection.execute("BEGIN IMMEDIATE")
        connection.execute("INSERT INTO row VALUES (?)", (n,))
        connection.execute("COMMIT")
        times.append(perf_counter() - begun)
    connection.close()
    return median(times) * 1e3
