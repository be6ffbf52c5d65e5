"""Five hundred learners practising at once: every page they see, at paces that do not wait.

`pytest tests/benchmarks/test_bench_load.py -m benchmark -s` prints the figures.
"""

from __future__ import annotations

from statistics import median

import pytest
from benched_server import served, stock_with_learners, with_a_form
from crowd import STEPS, practise_at
from load_client import Line, Phase, request, run_phase
from sqlalchemy import text

from quizsvc.config import settings_from
from quizsvc.services.house import House

LEARNERS = 500
RATES = (40, 60, 80, 100, 120)  # answers a second; each comes with three more requests
TURNS = 3  # how often each learner answers at each rate

pytestmark = pytest.mark.benchmark


def test_five_hundred_learners_practise_at_once(tmp_path):
    house = House.open(settings_from({"QUIZSVC_INSTANCE": str(tmp_path)}), upgrade=True)
    learners = stock_with_learners(house, LEARNERS)
    with served(house.settings) as server:
        line = Line(server.port)
        known = [with_a_form(one, line, server.port) for one in learners]
        practise_at(RATES[0], LEARNERS / RATES[0], known, server.port)  # warms up
        stored = _answers(house)
        print(f"\n{LEARNERS} learners practising at once")  # noqa: T201 - a benchmark prints
        for rate in RATES:
            before = server.processor_seconds()
            told = practise_at(rate, TURNS * LEARNERS / rate, known, server.port)
            spent = server.processor_seconds() - before
            assert not told.wrong, told.wrong[0]
            given = len(told.each["answer"])
            stored += given
            _report(rate, told, spent)
        bare = _bare_commit_ms(server.port)
        line.close()
    print(f"bare insert and commit over one connection: p50 {bare:.1f} ms")  # noqa: T201
    assert _answers(house) == stored  # every acknowledged answer is there, once
    house.close()


def _report(rate, told, spent):
    given = len(told.each["answer"])
    words = ", ".join(f"{step} {_spread(told.phase(step))}" for step in STEPS if told.each[step])
    print(  # noqa: T201
        f"{rate:>4} rounds wanted: {given / told.seconds:.0f} answers/s, "
        f"{sum(map(len, told.each.values())) / told.seconds:.0f} requests/s, "
        f"server {spent / told.seconds:.2f} cores; ms p50/p99: {words}"
    )


def _spread(phase: Phase) -> str:
    return f"{phase.share(0.5) * 1e3:.0f}/{phase.share(0.99) * 1e3:.0f}"


def _bare_commit_ms(port: int) -> float:
    line = Line(port)
    alone = run_phase([line], [[request("POST", "/commit", port=port)] * 200], 204)
    line.close()
    return median(alone.each) * 1e3


def _answers(house: House) -> int:
    with house.read() as connection:
        return connection.execute(text("SELECT count(*) FROM response")).scalar_one()
