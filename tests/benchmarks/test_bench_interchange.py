"""Items a second through interchange: ten thousand items out to QTI and in again, and as CSV.

Run by name: ``pytest tests/benchmarks/test_bench_interchange.py -s``. The items are the shipped
ones, renamed and repeated, so that kinds are mixed as in real banks. Import has to stay under a
minute of processor time for ten thousand items, with progress told.
"""

from __future__ import annotations

import time
from itertools import cycle, islice

import pytest

from quizsvc.interchange.bank_csv import export_csv, import_csv
from quizsvc.interchange.bank_toml import bank_text
from quizsvc.interchange.qti.package import export_package, import_package, picture_in
from quizsvc.items.banks.loading import MEDIA, read_bank, shipped_banks
from quizsvc.items.banks.schema import WrittenBank

pytestmark = pytest.mark.benchmark
ITEMS = 10_000
A_MINUTE = 60.0


def large_bank() -> WrittenBank:
    shipped = [
        (bank.written, item) for bank in shipped_banks().values() for item in bank.written.items
    ]
    items = tuple(
        item.model_copy(update={"id": f"i{place}-{item.id}"[:60], "cautions": ()})
        for place, (_, item) in enumerate(islice(cycle(shipped), ITEMS))
    )
    first = shipped[0][0]
    return first.model_copy(update={"id": "large", "items": items})


def test_ten_thousand_items_come_in_from_qti_and_csv_in_under_a_minute_with_progress():
    bank = large_bank()
    told: list[int] = []

    package, out = timed(export_package, bank, picture_in(MEDIA))
    imported, into = timed(import_package, package, None, lambda done, _: told.append(done))
    text, written = timed(bank_text, imported.bank)
    (read, faults), again = timed(read_bank, text)
    (table, _), csv_out = timed(export_csv, bank)
    choices, csv_in = timed(import_csv, table.encode())

    print()  # noqa: T201 - a benchmark prints
    say("out to QTI", ITEMS, out, f"{len(package) / 1e6:.1f} MB")
    say("in from QTI", ITEMS, into)
    say("written as TOML", ITEMS, written, f"{len(text) / 1e6:.1f} MB")
    say("TOML read again", ITEMS, again)
    say("out to CSV", choices.items_kept, csv_out, f"{len(table) / 1e6:.1f} MB")
    say("in from CSV", choices.items_kept, csv_in)
    assert imported.bank == bank
    assert read.written == bank
    assert faults == ()
    assert told == list(range(1, ITEMS + 1))
    assert into + written < A_MINUTE


def timed(work, *given):
    """Return what was done and its seconds of processor time, whatever else the machine does."""
    began = time.process_time()
    done = work(*given)
    return done, time.process_time() - began


def say(what: str, items: int, seconds: float, more: str = "") -> None:
    print(f"{what:16} {items:6} items {seconds:6.2f} s {items / seconds:8.0f} items/s {more}")  # noqa: T201
