"""The examples in the docstrings of interchange."""

import doctest
from importlib import import_module

import pytest


@pytest.mark.parametrize(
    "name", ["cells", "qti.archive", "qti.names", "qti.numbers_in", "qti.report"]
)
def test_the_examples_hold(name):
    result = doctest.testmod(import_module(f"quizsvc.interchange.{name}"))

    assert result.attempted > 0
    assert result.failed == 0
