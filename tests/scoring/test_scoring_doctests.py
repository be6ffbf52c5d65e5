"""Run the examples that stand in the docstrings of scoring."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import quizsvc.scoring

MODULES = sorted(
    f"quizsvc.scoring.{module.name}" for module in pkgutil.iter_modules(quizsvc.scoring.__path__)
)


@pytest.mark.parametrize("name", MODULES)
def test_each_example_in_a_docstring_of_scoring_gives_what_it_says(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_the_filter_the_gate_and_typed_numbers_have_examples():
    for name in ("competence", "standing", "numbers", "luck"):
        module = importlib.import_module(f"quizsvc.scoring.{name}")

        assert doctest.testmod(module).attempted > 0
