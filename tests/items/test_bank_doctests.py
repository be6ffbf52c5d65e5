"""The examples in the docstrings of the banks and their check."""

import doctest
from importlib import import_module

import pytest


@pytest.mark.parametrize("name", ["banks.keys", "bank_check.safety", "markdown"])
def test_the_examples_hold(name):
    result = doctest.testmod(import_module(f"quizsvc.items.{name}"))

    assert result.attempted > 0
    assert result.failed == 0
