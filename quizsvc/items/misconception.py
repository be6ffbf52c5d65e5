"""Misconceptions: named wrong ideas, each of which predicts a certain wrong answer."""

from __future__ import annotations

import pkgutil
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import import_module

from quizsvc.errors import InputError
from quizsvc.items import misconceptions


@dataclass(frozen=True, slots=True)
class Misconception:
    """A named wrong idea.

    ``thinks`` is the idea in the learner's words; ``but`` puts it right in one sentence.
    """

    id: str
    topic: str
    title: str
    thinks: str
    but: str


@cache
def all_misconceptions() -> Mapping[str, Misconception]:
    """Return every misconception by id; each module of the package lists those of a topic."""
    found: dict[str, Misconception] = {}
    for module in pkgutil.iter_modules(misconceptions.__path__):
        for one in import_module(f"{misconceptions.__name__}.{module.name}").MISCONCEPTIONS:
            if one.id in found:
                raise ValueError(f"misconception {one.id!r} is listed twice")
            found[one.id] = one
    return dict(sorted(found.items()))


def find_misconception(misconception_id: str) -> Misconception:
    try:
        return all_misconceptions()[misconception_id]
    except KeyError:
        raise InputError(
            "there is no such misconception.", field="misconception", value=misconception_id
        ) from None
