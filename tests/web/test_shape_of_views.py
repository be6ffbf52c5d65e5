"""Views stay thin: a form, one service, a page or a redirect."""

import ast
from pathlib import Path

import pytest

import quizsvc.web

WEB = Path(quizsvc.web.__file__).parent
LONGEST = 10


def views_in(path):
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef) and any(map(is_route, node.decorator_list)):
            yield node


def is_route(decorator):
    called = decorator.func if isinstance(decorator, ast.Call) else decorator
    return isinstance(called, ast.Attribute) and called.attr in {"get", "post", "route"}


HOLD_VIEWS = [path for path in sorted(WEB.rglob("*.py")) if list(views_in(path))]


def test_there_are_views_to_look_at():
    assert len(HOLD_VIEWS) >= 8


@pytest.mark.parametrize("path", HOLD_VIEWS, ids=lambda p: p.relative_to(WEB).as_posix())
def test_a_view_is_short(path):
    for view in views_in(path):
        first = view.body[0].end_lineno if ast.get_docstring(view) else view.body[0].lineno - 1
        assert view.end_lineno - first < LONGEST, view.name
