"""The list of components in pyproject.toml is the inventory: nothing else is used, nothing is idle.

Also that no module of ours reaches for what makes data into code, or for a weak hash.
"""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

import quizsvc

ROOT = Path(quizsvc.__file__).parent
STATED = tomllib.loads((ROOT.parent / "pyproject.toml").read_text())["project"]
# Taken along for others and imported by none of ours: the driver that PostgreSQL is spoken with.
BY_NAME_ONLY = {"psycopg"}
# Parts of a stated component that come with it.
COMES_WITH = {
    **dict.fromkeys(("itsdangerous", "jinja2", "markupsafe", "werkzeug"), "flask"),
    "pydantic_core": "pydantic",
}
UNSAFE = {"pickle", "marshal", "shelve", "dill", "yaml"}
FETCHING = {
    *("urllib.request", "http.client", "ftplib", "xmlrpc.client", "requests", "httpx"),
    *("aiohttp", "urllib3"),
}
CALLS = {"eval", "exec", "compile", "__import__"}


@cache
def nodes() -> tuple[tuple[Path, ast.AST], ...]:
    """Return what imports, calls or names something, in all modules, with the module's path."""
    return tuple(
        (path, node)
        for path in sorted(ROOT.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, (ast.Import, ast.ImportFrom, ast.Call, ast.Attribute))
    )


def imported() -> dict[str, Path]:
    """Return every top-level module that ours import, with one place where."""
    found: dict[str, Path] = {}
    for path, node in nodes():
        if isinstance(node, ast.Import):
            names = [one.name for one in node.names]
        elif isinstance(node, ast.ImportFrom) and not node.level:
            names = [node.module or ""]
        else:
            continue
        found |= {name.partition(".")[0]: path for name in names}
    return found


def plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", re.split(r"[\s\[<>=!~;]", name, maxsplit=1)[0]).casefold()


def stated() -> set[str]:
    return {plain(one) for one in STATED["dependencies"]}


def used() -> dict[str, Path]:
    """Return every component that ours import from, by the name it is installed under."""
    installed = packages_distributions()
    ours = {name: path for name, path in imported().items() if name not in sys.stdlib_module_names}
    ours.pop("quizsvc")
    ours.pop("_typeshed", None)  # for the type checker only
    return {plain(COMES_WITH.get(n, installed.get(n, [n])[0])): path for n, path in ours.items()}


def test_every_component_that_is_used_is_stated():
    assert used().keys() - stated() - BY_NAME_ONLY == set()


def test_every_component_that_is_stated_is_used():
    assert stated() - used().keys() == set()


def test_nothing_makes_data_into_code():
    assert UNSAFE & imported().keys() == set()
    called = {
        (path.name, node.func.id)
        for path, node in nodes()
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert len(called) > 1000
    assert {one for one in called if one[1] in CALLS} == set()


def test_nothing_fetches_an_address():
    """Mail and database are all that is spoken to; nobody's address can be asked for."""
    modules = {
        name
        for _, node in nodes()
        if isinstance(node, (ast.Import, ast.ImportFrom))
        for name in (
            [one.name for one in node.names] if isinstance(node, ast.Import) else [node.module]
        )
    }

    assert "smtplib" in modules
    assert modules & FETCHING == set()


@pytest.mark.parametrize("weak", ["md5", "sha1", "new"])
def test_no_weak_hash_is_taken(weak):
    taken = {
        path.name
        for path, node in nodes()
        if (isinstance(node, ast.ImportFrom) and node.module == "hashlib")
        for one in node.names
        if one.name == weak
    }
    through = {
        path.name
        for path, node in nodes()
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and (node.value.id, node.attr) == ("hashlib", weak)
    }
    assert taken | through == set()
