"""What differs between two versions of an item, field by field and word by word."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from enum import StrEnum
from typing import Any

from quizsvc.items.banks.keys import field_name
from quizsvc.items.banks.lines import Path
from quizsvc.items.banks.schema import AnyItem

_PIECES = re.compile(r"\s+|[^\s]+")
_UNTOLD = {"version"}


class Change(StrEnum):
    SAME = "same"
    REMOVED = "removed"
    ADDED = "added"


@dataclass(frozen=True, slots=True)
class Piece:
    """Some words, and whether both versions have them."""

    change: Change
    words: str


@dataclass(frozen=True, slots=True)
class Differing:
    field: str
    pieces: tuple[Piece, ...]


def differences(before: AnyItem, after: AnyItem) -> tuple[Differing, ...]:
    """Return the fields that differ, in the order of the later version."""
    old, new = dict(_fields(before)), dict(_fields(after))
    names = [*new, *(name for name in old if name not in new)]
    return tuple(
        Differing(name, pieces(old.get(name, ""), new.get(name, "")))
        for name in names
        if old.get(name) != new.get(name)
    )


def pieces(before: str, after: str) -> tuple[Piece, ...]:
    """Return what was taken out and put in, with what stayed between.

    >>> [(one.change.value, one.words) for one in pieces("a b c", "a d c")]
    [('same', 'a '), ('removed', 'b'), ('added', 'd'), ('same', ' c')]
    """
    old, new = _PIECES.findall(before), _PIECES.findall(after)
    found: list[Piece] = []
    for same, a, b, c, d in _stretches(old, new):
        if same:
            found.append(Piece(Change.SAME, "".join(old[a:b])))
            continue
        if b > a:
            found.append(Piece(Change.REMOVED, "".join(old[a:b])))
        if d > c:
            found.append(Piece(Change.ADDED, "".join(new[c:d])))
    return tuple(found)


def _stretches(old: list[str], new: list[str]) -> list[tuple[bool, int, int, int, int]]:
    """Return same and changed stretches in turn; a lone gap between two changes is no sameness."""
    found: list[tuple[bool, int, int, int, int]] = []
    opcodes = SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
    for number, (tag, a, b, c, d) in enumerate(opcodes):
        inside = 0 < number < len(opcodes) - 1
        same = tag == "equal" and not (inside and not "".join(old[a:b]).strip())
        if not same and found and not found[-1][0]:
            found[-1] = (False, found[-1][1], b, found[-1][3], d)
        else:
            found.append((same, a, b, c, d))
    return found


def _fields(item: AnyItem) -> Iterator[tuple[str, str]]:
    dumped = item.model_dump(mode="json", exclude_defaults=True)
    for path, value in _leaves(dumped, ()):
        if path[0] not in _UNTOLD:
            yield field_name(path), _words(value)


def _leaves(value: Any, path: Path) -> Iterator[tuple[Path, Any]]:
    if isinstance(value, dict):
        for key, one in value.items():
            yield from _leaves(one, (*path, key))
    elif isinstance(value, list):
        for place, one in enumerate(value):
            yield from _leaves(one, (*path, place))
    else:
        yield path, value


def _words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
