"""Tests that break things: short versions here always, long runs by name (`-m chaos -s`)."""

from __future__ import annotations

import pytest


@pytest.fixture
def say(capsys):
    """Print a line past pytest's capture: what was done is part of what these tests show."""

    def line(words: str) -> None:
        with capsys.disabled():
            print(f"\n{words}")  # noqa: T201

    return line
