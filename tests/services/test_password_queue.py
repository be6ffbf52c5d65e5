"""Password checks take turns; who would wait too long is told so at once."""

from __future__ import annotations

import os
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from threading import Event

import pytest
from workshop import PASSWORD, hashed_password

from quizsvc.errors import UnavailableError
from quizsvc.services import passwords
from quizsvc.services.passwords import Passwords

PATIENCE = 30


@pytest.fixture
def held():
    """Passwords whose queue stands still until the event is set."""
    made, go_on = Passwords(), Event()
    made._queue.submit(go_on.wait, PATIENCE)
    yield made, go_on
    go_on.set()
    made.close()


def test_whoever_comes_when_the_queue_is_full_is_told_at_once(held, monkeypatch):
    made, go_on = held
    monkeypatch.setattr(passwords, "MOST_WAITING", 3)
    with ThreadPoolExecutor(3) as threads:
        waiting = [threads.submit(made.matches, PASSWORD, hashed_password()) for _ in range(3)]
        while made._waiting < 3:
            Event().wait(0.001)

        with pytest.raises(UnavailableError, match="very many people are signing in"):
            made.matches(PASSWORD, hashed_password())

        go_on.set()
        assert all(one.result(PATIENCE) for one in waiting)
    assert made.matches(PASSWORD, hashed_password())  # there is room again


def test_whoever_waits_too_long_is_told_and_leaves_the_queue(held, monkeypatch):
    made, go_on = held
    monkeypatch.setattr(passwords, "WAIT_SECONDS", 0.01)

    with pytest.raises(UnavailableError, match="very many people are signing in"):
        made.matches(PASSWORD, hashed_password())

    go_on.set()
    monkeypatch.setattr(passwords, "WAIT_SECONDS", PATIENCE)
    assert made.matches(PASSWORD, hashed_password())


@pytest.mark.skipif(sys.platform != "linux", reason="threads have no priority of their own here")
def test_checks_run_at_a_lower_priority_than_the_pages():
    made = Passwords()

    beside = made._in_turn(lambda: os.getpriority(os.PRIO_PROCESS, threading.get_native_id()))

    own = os.getpriority(os.PRIO_PROCESS, threading.get_native_id())
    assert beside == min(19, max(own, passwords.NICENESS))
    made.close()
