"""A class answers while something is broken: let it begin, wait for it, see what is kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from threading import Event
from time import monotonic

from accounts_kept import counted_twice, integrity, lost
from benchmarks.load_client import Line, request
from examined import Class, Sitter
from real_server import RealServer

from quizsvc.services import auditing

LONGEST_QUIET = 60  # seconds without any answer acknowledged
WAIT = 90  # seconds until something is said


@contextmanager
def answering(sitters: list[Sitter]) -> Iterator[None]:
    for sitter in sitters:
        sitter.start()
    try:
        yield
    finally:
        for sitter in sitters:
            sitter.end()
        for sitter in sitters:
            sitter.join()


def told(sitters: list[Sitter]) -> int:
    return sum(sitter.answers for sitter in sitters)


def wait_for_more(sitters: list[Sitter], more: int) -> None:
    """Wait until that many more answers were acknowledged."""
    wanted, until = told(sitters) + more, monotonic() + LONGEST_QUIET
    while told(sitters) < wanted:
        wrong = [words for sitter in sitters for words in sitter.wrong]
        assert not wrong, wrong[0]
        assert monotonic() < until, f"only {told(sitters)} of {wanted} answers came through"
        Event().wait(0.02)


def settle(sitters: list[Sitter]) -> None:
    """Let everybody send what is on its way until it is acknowledged."""
    for sitter in sitters:
        sitter.finish()
    for sitter in sitters:
        sitter.join(timeout=LONGEST_QUIET)
        assert not sitter.is_alive(), "an answer was never acknowledged"
        assert not sitter.wrong, sitter.wrong[0]


def all_is_well(made: Class, sitters: list[Sitter]) -> None:
    assert lost(made, sitters) == []
    assert counted_twice(made, sitters) == []
    assert integrity(made) == "ok"
    assert auditing.broken_at(made.house) is None


def refusals(sitters: list[Sitter]) -> int:
    return sum(sitter.statuses[503] for sitter in sitters)


def until(sitters: list[Sitter], reached: Callable[[], bool], words: str) -> None:
    last = monotonic() + WAIT
    while not reached():
        wrong = [fault for sitter in sitters for fault in sitter.wrong]
        assert not wrong, wrong[0]
        assert monotonic() < last, words
        Event().wait(0.05)


def page_said(server: RealServer, sitter: Sitter) -> tuple[int, bytes]:
    with closing(Line(server.port)) as line:
        path = f"/classroom/sittings/{sitter.sitting}/1"
        cookies = f"place={sitter.place}"
        status, _, body = line.send(request("GET", path, port=server.port, cookies=cookies))
    return status, body
