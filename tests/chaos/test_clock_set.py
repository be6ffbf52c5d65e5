"""Somebody sets the machine's clock while a class sits a test: nothing ends, nothing is extended.

A preloaded library (libfaketime) tells the server's processes another time of day; the machine's
uptime stays what it is, as it does when a real clock is set.
"""

from __future__ import annotations

import re
import time
from pathlib import Path

import pytest
from examined import Sitter, open_class, sitters_of
from real_server import RealServer
from under_load import all_is_well, answering, page_said, settle, told, wait_for_more

HOUR = 3600
APART = 60  # seconds that the two looks at a clock may differ beside what really passed


@pytest.fixture
def faked(tmp_path):
    """Return the environment of a server whose clock is set by writing to a file, and the file."""
    found = sorted(Path("/usr/lib").glob("*/faketime/libfaketimeMT.so.1"))
    if not found:
        pytest.skip("libfaketime is not installed here")
    clock = tmp_path / "clock"
    clock.write_text("+0\n")
    environment = {
        "LD_PRELOAD": str(found[-1]),
        "FAKETIME_TIMESTAMP_FILE": str(clock),
        "FAKETIME_NO_CACHE": "1",
        "FAKETIME_DONT_FAKE_MONOTONIC": "1",
    }
    return environment, clock


def seconds_left(server: RealServer, sitter: Sitter) -> float:
    """Return what the page of a question says is left."""
    status, page = page_said(server, sitter)
    assert status == 200
    return float(re.search(rb'data-left="([0-9.]+)"', page)[1])


def time_of_day(server: RealServer) -> float:
    """Return what the server's own process takes the time to be, from its log's newest line."""
    stamps = re.findall(r'"timestamp": ?"([^"]+)"', server.log.read_text())
    assert stamps, "the log names no time"
    return time.mktime(time.strptime(stamps[-1][:19], "%Y-%m-%dT%H:%M:%S")) - time.timezone


def test_a_clock_set_an_hour_forward_and_back_ends_and_extends_nothing(tmp_path, serve, say, faked):
    environment, clock = faked
    made = open_class(tmp_path, 6)
    server = serve(tmp_path, workers=2, **environment)
    server.start()
    sitters = sitters_of(made, [server.port])
    left, real = seconds_left(server, sitters[0]), time.monotonic()
    with answering(sitters):
        wait_for_more(sitters, 15)
        for jump in (HOUR, -HOUR, 0):
            clock.write_text(f"{jump:+d}\n")
            wait_for_more(sitters, 30)

            passed = time.monotonic() - real
            assert abs(time_of_day(server) - time.time() - jump) < APART  # it was really set
            assert abs(left - passed - seconds_left(server, sitters[0])) < APART
        settle(sitters)
    all_is_well(made, sitters)
    server.stop()
    made.house.close()
    say(
        f"chaos: clock set an hour forward, back and right again under {len(sitters)} people "
        f"sitting: {told(sitters)} answers acknowledged, 0 lost, 0 twice, time left unmoved"
    )
