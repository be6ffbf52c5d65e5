"""The examples in the docstrings of the classroom's rules are true."""

from __future__ import annotations

import doctest

import pytest

from quizsvc.interchange import rosters
from quizsvc.rules import second_factor, sitting_clock, sittings
from quizsvc.services.assigning import proposing


@pytest.mark.parametrize("module", [second_factor, sitting_clock, sittings, proposing, rosters])
def test_the_examples_are_true(module):
    result = doctest.testmod(module)

    assert result.attempted > 0
    assert result.failed == 0
