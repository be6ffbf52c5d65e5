"""The tables of checks in DEVELOPERS.md name tests that exist, and all forty checks."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
TEXT = (TESTS.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
NAMED = re.compile(r"`((?:[a-z_]+/)+[a-z_]+\.py)(?:::(test_[a-z0-9_]+))?`")
CHECKS = re.compile(r"^\| (\d+) \| ([^|]+) \| ([^|]+) \|", re.MULTILINE)
NAMES = sorted(set(NAMED.findall(TEXT)))


@cache
def named_in(path: Path) -> frozenset[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return frozenset(
        node.name
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and node.name.lower().startswith("test")
    )


def where(name: str) -> Path:
    """Return the file that is meant: below tests/ or quizsvc/, or from the repository."""
    roots = (TESTS, TESTS.parent / "quizsvc", TESTS.parent)
    return next((root / name for root in roots if (root / name).is_file()), TESTS / name)


@pytest.mark.parametrize(("file", "test"), NAMES, ids="::".join)
def test_a_named_test_exists(file, test):
    assert where(file).is_file()
    if test:
        assert test in named_in(where(file))


def test_each_of_the_forty_checks_is_held_by_a_named_test():
    held = {int(number): by for number, _, by in CHECKS.findall(TEXT)}

    assert sorted(held) == list(range(1, 41))
    for number, by in held.items():
        named = NAMED.findall(by)
        assert any(test for _, test in named), number
