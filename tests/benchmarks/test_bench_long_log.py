"""What an answer costs when ten thousand, a million or ten million are stored already.

    export QUIZSVC_BENCH_RESPONSES=10000000
    pytest tests/benchmarks/test_bench_long_log.py -m benchmark -s

Each size has a house of its own, all open at once; blocks of answers alternate between them, so
that whatever else the machine does meets all alike.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

import pytest
from long_log import SIZES, fill_people, grow
from sqlalchemy import text

from quizsvc.rules.actors import Actor, Role
from quizsvc.services import practise
from quizsvc.services.shown import Given

sys.path.insert(0, str(Path(__file__).parents[1] / "services"))
from workshop import open_house, stock

pytestmark = pytest.mark.benchmark
BLOCKS, ANSWERS = 30, 20
AIM = 1.10  # of the smallest log's cost


@pytest.fixture(scope="module")
def houses(tmp_path_factory):
    """Yield a house per size, with somebody in it whose earlier answers are a part of the log."""
    made = {}
    for size in (one for one in SIZES if one != 100_000):
        folder = tmp_path_factory.mktemp(f"log{size}")
        house = open_house(f"sqlite:///{folder / 'log.sqlite3'}", folder, upgrade=True)
        shop, people = stock(house, folder)
        _, first = fill_people(house, shop, people["ida"])
        step = 1_000_000
        for start in range(0, size, step):
            grow(house, start + 1, min(size, start + step), first, shop)
        made[size] = house, Actor(first + 7, "Invented 7", shop, frozenset({Role.LEARNER}))
    yield made
    for house, _ in made.values():
        house.close()


def test_an_answer_costs_the_same_however_many_are_stored(houses):
    walls = {size: [] for size in houses}
    cores = {size: [] for size in houses}
    _block(houses)  # warms up
    for _ in range(BLOCKS):
        for size, (wall, core) in _block(houses).items():
            walls[size].append(wall)
            cores[size].append(core)
    least = min(houses)
    print()  # noqa: T201 - a benchmark prints
    ratios = {}
    for size, (house, _) in houses.items():
        ratios[size] = median(a / b for a, b in zip(walls[size], walls[least], strict=True))
        with house.read() as connection:
            stored = connection.execute(text("SELECT count(*) FROM response")).scalar_one()
        print(  # noqa: T201
            f"{stored:>11,} responses stored: {median(walls[size]):.2f} ms an answer, "
            f"{median(cores[size]):.2f} ms of processor time, "
            f"{ratios[size]:.2f} of the shortest log (aim {AIM})"
        )
        assert stored == size + (BLOCKS + 1) * ANSWERS
    assert all(ratio < 2 for ratio in ratios.values())  # growing with the log would be far more


def _block(houses):
    """Answer twenty items in each house in turn; return milliseconds an answer by size."""
    ready = {size: _offers(house, actor) for size, (house, actor) in houses.items()}
    wall, core = dict.fromkeys(houses, 0.0), dict.fromkeys(houses, 0.0)
    for turn in range(ANSWERS):
        for size, (house, actor) in houses.items():
            token, given = ready[size][turn]
            now = datetime.now(UTC)
            begun, spent = perf_counter(), process_time()
            practise.submit(house, actor, token, given, now=now)
            wall[size] += perf_counter() - begun
            core[size] += process_time() - spent
    per = 1000 / ANSWERS
    return {size: (wall[size] * per, core[size] * per) for size in houses}


def _offers(house, actor):
    """Put items until there are enough that a choice answers."""
    found = []
    while len(found) < ANSWERS:
        now = datetime.now(UTC)
        token = practise.put_next(house, actor, now=now)
        if practise.open_offer(house, actor, token, now=now).options:
            found.append((token, Given(choices=(1,))))
    return found
