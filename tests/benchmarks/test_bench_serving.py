"""What serving costs: light pages, a class signing in at once, memory, start, and a kill.

`pytest tests/benchmarks/test_bench_serving.py -m benchmark -s` prints the figures.
"""

from __future__ import annotations

import re
import sys
import threading
from pathlib import Path
from statistics import median
from time import perf_counter

import pytest
from benched_server import (
    PASSWORD,
    offers_of_choices,
    post,
    served,
    stock_with_learners,
    with_a_form,
)
from load_client import Line, request, run_phase

from quizsvc.config import settings_from
from quizsvc.services.house import House

sys.path.insert(0, str(Path(__file__).parents[1] / "chaos"))
from real_server import RealServer

pytestmark = pytest.mark.benchmark
LEARNERS, BLOCKS, EACH = 8, 8, 12
LIGHT_PAGES = ("/account", "/certificates/", "/classroom/", "/bench/", "/practise/")
HERD = 200  # people who sign in at once
STARTS = 5


@pytest.fixture
def house(tmp_path):
    opened = House.open(settings_from({"QUIZSVC_INSTANCE": str(tmp_path)}), upgrade=True)
    yield opened
    opened.close()


def test_light_pages_against_hello(house):
    learners = stock_with_learners(house, LEARNERS)
    with served(house.settings) as server:
        lines = [Line(server.port) for _ in learners]
        pages = _pages_that_are_there(lines[0], learners[0], server.port)
        asked = {
            path: [[_get(one, path, server.port)] * EACH for one in learners] for path in pages
        }
        hello = [[request("GET", "/hello", port=server.port)] * EACH] * LEARNERS
        for requests in (hello, *asked.values()):
            run_phase(lines, requests, 200)  # warms up
        ratios = {path: [] for path in pages}
        speeds = []
        for _ in range(BLOCKS):
            bare = run_phase(lines, hello, 200).per_second
            speeds.append(bare)
            for path, requests in asked.items():
                ratios[path].append(run_phase(lines, requests, 200).per_second / bare)
        for line in lines:
            line.close()
    words = ", ".join(f"{path} {median(found):.2f}" for path, found in ratios.items())
    print(f"\nhello {median(speeds):.0f}/s; pages against it (aim 0.40): {words}")  # noqa: T201
    assert max(median(found) for found in ratios.values()) > 0.05


def test_pages_while_a_whole_class_signs_in(house):
    learners = stock_with_learners(house, HERD)
    with served(house.settings) as server:
        readers = [Line(server.port) for _ in range(4)]
        asked = [
            [_get(one, "/practise/", server.port)] * 60
            for one, _ in zip(learners, readers, strict=False)
        ]
        run_phase(readers, asked, 200)
        idle = run_phase(readers, asked, 200)
        herd = _Herd(server.port)
        herd.start()
        busy = run_phase(readers, asked, 200)
        herd.join()
        for line in readers:
            line.close()
    print(  # noqa: T201
        f"\n{HERD} sign in at once, in {herd.seconds:.1f} s; a page meanwhile: p99 "
        f"{busy.share(0.99) * 1e3:.0f} ms, idle {idle.share(0.99) * 1e3:.0f} ms, "
        f"ratio {busy.share(0.99) / idle.share(0.99):.1f} (aim at most 3)"
    )
    assert herd.statuses == [302] * HERD


class _Herd(threading.Thread):
    """People who send name and password at the same moment, each over a connection of their own."""

    def __init__(self, port: int) -> None:
        super().__init__()
        self.port, self.statuses, self.seconds = port, [], 0.0
        self._ready = [self._form(n) for n in range(HERD)]

    def _form(self, number: int) -> tuple[Line, bytes]:
        line = Line(self.port)
        _, head, page = line.send(request("GET", "/sign-in", port=self.port))
        form = re.search(rb"[Ss]et-[Cc]ookie: form=([^;]+)", head)[1].decode()
        csrf = re.search(rb'name="csrf_token"[^>]*value="([^"]+)"', page)[1].decode()
        body = f"csrf_token={csrf}&name=learner{number}&password={PASSWORD.replace(' ', '+')}"
        return line, request(
            "POST", "/sign-in", port=self.port, cookies=f"form={form}", body=body.encode()
        )

    def run(self) -> None:
        begun = perf_counter()
        threads = [threading.Thread(target=self._send, args=one) for one in self._ready]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        self.seconds = perf_counter() - begun

    def _send(self, line: Line, asked: bytes) -> None:
        self.statuses.append(line.send(asked)[0])
        line.close()


def test_starting_being_killed_and_memory(tmp_path, house):
    (learner,) = stock_with_learners(house, 1)
    offers = offers_of_choices(house, learner, 2 * STARTS)
    server = RealServer(tmp_path)
    clean, killed = [], []
    for turn in range(STARTS):
        clean.append(_first_answer(server, learner, offers[2 * turn]))
        server.kill()
        killed.append(_first_answer(server, learner, offers[2 * turn + 1]))
        if turn == STARTS - 1:
            memory = {pid: _own_megabytes(pid) for pid in server.workers()}
        server.stop()
    print(  # noqa: T201
        f"\nfrom the command to the first answer stored: {median(clean):.2f} s, after kill -9 "
        f"{median(killed):.2f} s, ratio {median(killed) / median(clean):.2f} (aim at most 1.5); "
        f"memory of its processes {', '.join(f'{size:.0f}' for size in memory.values())} MB"
    )
    assert memory


def _first_answer(server: RealServer, learner, offer: str) -> float:
    begun = perf_counter()
    server.start()
    line = Line(server.port)
    known = with_a_form(learner, line, server.port)
    status, _, _ = line.send(post(known, f"/practise/items/{offer}", server.port, choice="1"))
    line.close()
    assert status == 302
    return perf_counter() - begun


def _own_megabytes(pid: int) -> float:
    """Return what the process alone would free if it ended, and its share of what is common."""
    rollup = Path(f"/proc/{pid}/smaps_rollup").read_text()
    return int(re.search(r"Pss:\s+(\d+)", rollup)[1]) / 1024


def _pages_that_are_there(line, learner, port):
    found = [path for path in LIGHT_PAGES if line.send(_get(learner, path, port))[0] == 200]
    assert "/practise/" in found
    return found


def _get(learner, path: str, port: int) -> bytes:
    return request("GET", path, port=port, cookies=f"place={learner.token}")
