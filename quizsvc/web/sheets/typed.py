"""What was typed into a sheet's form: texts by place, rows put in and out, and values from it.

A place is written as in findings: ``drives[1].wheels[3].teeth``, rows counted from 1. Whatever
was typed stays as typed, right or wrong, until the person changes it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from quizsvc.errors import InputError
from quizsvc.scoring.numbers import parse_number
from quizsvc.sheets.problems import Problem
from quizsvc.sheets.schema import EngineSheet, Part
from quizsvc.web.sheets.fields import FieldKind, SheetField, as_text, fields_of

Tree = dict[str, Any]  # texts, trees, and lists of trees
LONGEST_TEXT = 2100
MOST_FIELDS = 6000
MOST_ROWS = 150
_STEP = re.compile(r"([a-z_]{1,40})(?:\[(\d{1,3})\])?", re.ASCII)
_BLANK = {
    "layout": {"banks": [{}], "cylinders": [{}]},
    "shafts": [{"id": "crank", "title": "Crankshaft", "kind": "crank"}, {"kind": "cam"}],
    "drives": [{"wheels": [{}, {}]}],
    "invented": "no",
}


@dataclass(frozen=True, slots=True)
class Read:
    """The values that the texts stand for, and the texts that stand for none."""

    content: dict[str, Any]
    unread: tuple[Problem, ...]


def tree_of(sheet: EngineSheet) -> Tree:
    """Return a sheet as it would have been typed."""
    return _typed(sheet)


def blank_tree() -> Tree:
    """Return the tree of a sheet of which nothing is stated but that it has a crankshaft."""
    return dict(_copied(_BLANK))


def tree_in(fields: Iterable[tuple[str, str]]) -> Tree:
    """Return what a form holds; rows are counted anew in the order of their numbers.

    Raises:
        InputError: more fields or rows than any engine has.
    """
    tree: Tree = {}
    for number, (name, text) in enumerate(fields):
        if number > MOST_FIELDS:
            raise InputError("the form holds too many fields.", field="form", value=number)
        way = _way(name)
        if _kind_at(way) not in {None, FieldKind.ROWS, FieldKind.TABLE}:
            _put(tree, way, text[:LONGEST_TEXT])
    return dict(_rows_in_order(tree))


def changed_rows(tree: Tree, deed: str) -> Tree:
    """Return the tree after "add drives", "remove drives[2]" or "up drives[1].wheels[3]".

    Raises:
        InputError: there is no such list or row.
    """
    doing, _, name = deed.partition(" ")
    way = _way(name)
    rows = _rows_at(tree, way) if _kind_at(way) is FieldKind.ROWS else None
    if rows is None:
        raise _not_with_rows(deed)
    index = way[-1][1] - 1 if way and way[-1][1] else len(rows)
    if doing == "add" and len(rows) < MOST_ROWS:
        return _with_rows(tree, way, [*rows, {}])
    if doing == "remove" and index < len(rows):
        return _with_rows(tree, way, rows[:index] + rows[index + 1 :])
    if doing == "up" and 0 < index < len(rows):
        moved = [*rows[: index - 1], rows[index], rows[index - 1], *rows[index + 1 :]]
        return _with_rows(tree, way, moved)
    raise _not_with_rows(deed)


def _not_with_rows(deed: str) -> InputError:
    return InputError(
        "that cannot be done with these rows.",
        field="rows",
        value=deed[:60],
        remedy="Use the buttons of the page.",
    )


def read(tree: Tree) -> Read:
    """Return the values that the texts stand for; blank fields are left out."""
    unread: list[Problem] = []
    content = _content(EngineSheet, tree, "", unread) or {}
    return Read({"schema_version": 1, "revision": 1, **content}, tuple(unread))


def _typed(part: Part) -> Tree:
    tree: Tree = {}
    for field in fields_of(type(part)):
        value = getattr(part, field.name)
        if field.kind is FieldKind.ROWS:
            tree[field.name] = [_typed(row) for row in value]
        elif field.kind is FieldKind.TABLE:
            tree[field.name] = {} if value is None else _typed(value)
        else:
            tree[field.name] = as_text(value)
    return tree


def _content(
    part: type[Part], tree: Mapping[str, Any], name: str, unread: list[Problem]
) -> dict[str, Any] | None:
    """Return the values of a table, or None if nothing in it was filled in."""
    content: dict[str, Any] = {}
    for field in fields_of(part):
        at = f"{name}.{field.name}" if name else field.name
        if field.kind is FieldKind.ROWS and field.part:
            content[field.name] = [
                _content(field.part, row, f"{at}[{number}]", unread) or {}
                for number, row in enumerate(tree.get(field.name, ()), 1)
            ]
        elif field.kind is FieldKind.TABLE and field.part:
            inner = _content(field.part, tree.get(field.name, {}), at, unread)
            if inner or not field.optional:
                content[field.name] = inner or {}
        elif text := tree.get(field.name, field.default).strip():
            value = _value(field, text, at, unread)
            if value is not None:
                content[field.name] = value
    return content if any(value not in ([], {}) for value in content.values()) else None


def _value(field: SheetField, text: str, at: str, unread: list[Problem]) -> object:
    try:
        return _understood(field, text, at)
    except InputError as refusal:
        unread.append(Problem(at, text, refusal.problem, refusal.remedy or ""))
        return None


def _understood(field: SheetField, text: str, at: str) -> object:
    match field.kind:
        case FieldKind.NUMBER:
            return parse_number(text, field=at, unit=field.words.unit)
        case FieldKind.WHOLE:
            return _whole(text, at)
        case FieldKind.NUMBERS:
            return [_whole(one, at) for one in re.split(r"[\s,;-]+", text) if one]
        case FieldKind.NAMES:
            return [one for one in re.split(r"[\s,;]+", text) if one]
        case FieldKind.YES_NO:
            return {"yes": True, "no": False}.get(text, text)
        case _:
            return text


def _whole(text: str, at: str) -> float:
    number = parse_number(text, field=at)
    return int(number) if number == int(number) else number


def _way(name: str) -> list[tuple[str, int]]:
    """Return the steps to a place, row 0 where none is named; nothing for another field's name."""
    steps = name.split(".") if len(name) < 120 else []
    found = [_STEP.fullmatch(step) for step in steps]
    return [(one[1], int(one[2] or 0)) for one in found if one] if all(found) else []


def _kind_at(way: list[tuple[str, int]]) -> FieldKind | None:
    """Return what the schema has at a place; None where it has nothing, or no row is named."""
    part: type[Part] | None = EngineSheet
    kind: FieldKind | None = None
    for step, (name, row) in enumerate(way):
        field = next((one for one in fields_of(part) if one.name == name), None) if part else None
        if field is None:
            return None
        listed, last = field.kind is FieldKind.ROWS, step == len(way) - 1
        if (row and not listed) or (listed and not row and not last):
            return None
        kind, part = field.kind, field.part
    return kind


def _put(tree: Tree, way: list[tuple[str, int]], text: str) -> None:
    """Put a text into the tree; rows are kept by number until all is in."""
    here = tree
    for name, row in way[:-1]:
        inner = here.setdefault(name, {})
        here = inner.setdefault(row, {}) if row else inner
    here[way[-1][0]] = text


def _rows_in_order(tree: Mapping[Any, Any]) -> Any:
    if tree and all(isinstance(key, int) for key in tree):
        return [_rows_in_order(tree[key]) for key in sorted(tree)[:MOST_ROWS]]
    return {
        key: _rows_in_order(value) if isinstance(value, dict) else value
        for key, value in tree.items()
        if isinstance(key, str)
    }


def _rows_at(tree: Tree, way: list[tuple[str, int]]) -> list[Tree] | None:
    """Return the rows of a list, None where a row on the way is not there."""
    here: Any = tree
    for name, row in way[:-1]:
        here = here.get(name, [] if row else {})
        if row > len(here):
            return None
        here = here[row - 1] if row else here
    return list(here.get(way[-1][0], []))


def _with_rows(tree: Tree, way: list[tuple[str, int]], rows: list[Tree]) -> Tree:
    changed: Tree = _copied(tree)
    here: Any = changed
    for name, row in way[:-1]:
        here = here.setdefault(name, {})
        here = here[row - 1] if row else here
    here[way[-1][0]] = rows
    return changed


def _copied(tree: Any) -> Any:
    if isinstance(tree, dict):
        return {key: _copied(value) for key, value in tree.items()}
    return [_copied(one) for one in tree] if isinstance(tree, list) else tree


def names_in(rows: object) -> Iterator[str]:
    """Yield the ids that rows were given."""
    if isinstance(rows, list):
        yield from (row["id"] for row in rows if row.get("id"))
