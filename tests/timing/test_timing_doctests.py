"""Run the examples that stand in the core's docstrings."""

import doctest
import importlib
import pkgutil

import pytest

import quizsvc.timing

MODULES = sorted(
    f"quizsvc.timing.{module.name}" for module in pkgutil.iter_modules(quizsvc.timing.__path__)
)


@pytest.mark.parametrize("name", MODULES)
def test_each_example_in_the_docstrings_gives_what_it_says(name):
    module = importlib.import_module(name)

    results = doctest.testmod(module)

    assert results.failed == 0
    assert results.attempted > 0 or name == "quizsvc.timing.tangents"  # shown in path.py
