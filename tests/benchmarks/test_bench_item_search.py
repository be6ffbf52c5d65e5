"""How long a search takes and an import lasts, at 205 and at 10,000 items.

Run by name: pytest tests/benchmarks/test_bench_item_search.py -s
"""

from __future__ import annotations

import statistics
import sys
from datetime import UTC, datetime
from pathlib import Path
from time import perf_counter

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "services"))
from workshop import NOON, open_house, stock

from quizsvc.items.banks.loading import SHIPPED, read_bank
from quizsvc.items.banks.pieces import cut
from quizsvc.services.background import run_next
from quizsvc.services.import_items import ask_for_import
from quizsvc.services.import_report import ask_for_report
from quizsvc.services.search_items import Difficulty, Query, Used, search

pytestmark = pytest.mark.benchmark
QUERIES = {
    "no words": Query(),
    "one word": Query(words="plunger"),
    "three words": Query(words="rattle cold start"),
    "a rare word": Query(words="magnetised"),
    "word, topic, state": Query(words="belt", topic="wear", state="draft"),
    "not used lately": Query(used=Used.NOT_LATELY),
    "hard ones": Query(difficulty=Difficulty.HARD),
    "last page": Query(page=8),
}
TIMES = 20


def many_items(count: int) -> str:
    """Return one bank with the shipped items, over and over under other ids."""
    pieces = []
    for path in sorted(SHIPPED.glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        bank, _ = read_bank(text)
        found = cut(text, bank.lines, len(bank.entries))
        for piece, entry in zip(found.items, bank.entries, strict=True):
            kept = [line for line in piece.splitlines() if not line.startswith("cautions =")]
            pieces.append(("\n".join(kept) + "\n", entry.id))
    head = 'schema_version = 1\nid = "many"\ntitle = "Many (invented)"\nauthor = "tests"\n\n'
    rounds = (pieces[number % len(pieces)] for number in range(count))
    return head + "".join(
        piece.replace(f'id = "{name}"', f'id = "n{number}-{name}"', 1)
        for number, (piece, name) in enumerate(rounds)
    )


@pytest.mark.parametrize("count", [205, 10_000])
def test_searching_among_many_items(tmp_path, count):
    house = open_house(f"sqlite:///{tmp_path / 'bench.sqlite3'}", tmp_path, upgrade=True)
    _, people = stock(house, tmp_path)
    ida, content = people["ida"], many_items(count).encode()

    def clock() -> datetime:
        return datetime.now(UTC)

    started = perf_counter()
    report = ask_for_report(house, ida, file="many.toml", content=content, now=NOON)
    run_next(house, clock)
    read = perf_counter() - started
    started = perf_counter()
    ask_for_import(house, ida, report, now=NOON)
    run_next(house, clock)
    print(f"\n{count} items, {len(content) / 1e6:.1f} MB: read and checked in {read:.1f} s,")  # noqa: T201 - a benchmark is run to be read
    print(f"written in {perf_counter() - started:.1f} s; a search, median of {TIMES}:")  # noqa: T201 - a benchmark is run to be read
    for name, query in QUERIES.items():
        total, took = timed(house, ida, query)
        print(f"  {name:20} {total:6} found  {took * 1000:7.1f} ms")  # noqa: T201 - a benchmark is run to be read
    assert search(house, ida, Query(bank="many"), now=NOON).total == count
    house.close()


def timed(house, person, query) -> tuple[int, float]:
    took = []
    for _ in range(TIMES):
        started = perf_counter()
        found = search(house, person, query, now=NOON)
        took.append(perf_counter() - started)
    return found.total, statistics.median(took)
