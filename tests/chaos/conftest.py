"""Tests that break things: short versions here always, long runs by name (`-m chaos -s`)."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from real_server import RealServer


@pytest.fixture
def say(capsys):
    """Print a line past pytest's capture: what was done is part of what these tests show."""

    def line(words: str) -> None:
        with capsys.disabled():
            print(f"\n{words}")  # noqa: T201

    return line


@pytest.fixture
def serve() -> Iterator[Callable[..., RealServer]]:
    """Make servers that end with the test, whatever becomes of it."""
    made: list[RealServer] = []

    def server(*given: object, **more: object) -> RealServer:
        made.append(RealServer(*given, **more))
        return made[-1]

    yield server
    for one in made:
        if one.running:
            one.kill()
