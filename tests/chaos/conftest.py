"""Tests that break things: short versions here always, long runs by name (`-m chaos -s`)."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from real_server import RealServer


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
