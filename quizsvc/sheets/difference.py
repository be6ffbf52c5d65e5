"""What differs between two states of a sheet, field by field and in words.

Rows of a list are known again by their name, not by their place, so that a wheel put in between
does not make every later wheel look changed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from quizsvc.sheets.schema import EngineSheet, MarkPins, Part
from quizsvc.sheets.words import field_words, row_words

NOTHING = "nothing"
_ALWAYS_OTHER = {"revision", "note"}


@dataclass(frozen=True, slots=True)
class Difference:
    """One field: where it stands, and what it said before and says now."""

    section: str
    where: str
    old: str
    new: str


def differences(old: EngineSheet, new: EngineSheet) -> tuple[Difference, ...]:
    """Return all that differs but for revision and note, in the order of the sheet."""
    return tuple(
        difference
        for field in EngineSheet.model_fields
        if field not in _ALWAYS_OTHER
        for difference in _of_field(EngineSheet, field, old, new, "", ())
    )


def said(value: object, unit: str = "") -> str:
    """Return a value of a sheet in words.

    >>> said(True), said(None), said(10.5, "mm"), said((1, 3, 4, 2))
    ('yes', 'nothing', '10.5 mm', '1, 3, 4, 2')
    """
    if value is None or value in ((), ""):
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(said(one) for one in value)
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, int | float):
        return f"{value:.10g}".replace("-", "\N{MINUS SIGN}") + f"{_gap(unit)}{unit}"
    return str(value)


def _gap(unit: str) -> str:
    return "" if unit in {"", "°"} else " "


def _of_field(
    part: type[Part],
    field: str,
    old: Part | None,
    new: Part | None,
    section: str,
    way: tuple[str, ...],
) -> Iterator[Difference]:
    words = field_words(part, field)
    before, after = getattr(old, field, None), getattr(new, field, None)
    if before == after:
        return
    section = section or words.label
    if _is_rows(before) or _is_rows(after):
        yield from _of_rows(before or (), after or (), section, way)
    elif isinstance(before, Part) or isinstance(after, Part):
        inner = (*way, words.label) if way else way
        stated: Part = before if isinstance(before, Part) else after  # type: ignore[assignment]
        yield from _of_part(type(stated), before, after, section, inner)
    else:
        where = ", ".join((*way, words.label))
        yield Difference(section, where, said(before, words.unit), said(after, words.unit))


def _of_part(
    part: type[Part], old: Part | None, new: Part | None, section: str, way: tuple[str, ...]
) -> Iterator[Difference]:
    for field in part.model_fields:
        yield from _of_field(part, field, old, new, section, way)


def _of_rows(
    old: tuple[Part, ...], new: tuple[Part, ...], section: str, way: tuple[str, ...]
) -> Iterator[Difference]:
    before, after = _named(old), _named(new)
    kept = [name for name in before if name in after]
    for name in kept:
        yield from _of_part(
            type(before[name]), before[name], after[name], section, (*way, _row(before[name], name))
        )
    for name in (name for name in before if name not in after):
        yield Difference(section, ", ".join((*way, _row(before[name], name))), "there", "taken out")
    for name in (name for name in after if name not in before):
        row = after[name]
        yield Difference(section, ", ".join((*way, _row(row, name))), NOTHING, _summary(row))
    if kept != [name for name in after if name in before]:
        where = ", ".join((*way, "order"))
        yield Difference(section, where, ", ".join(before), ", ".join(after))


def _named(rows: tuple[Part, ...]) -> dict[str, Part]:
    named: dict[str, Part] = {}
    for row in rows:
        name = _name(row)
        copies = sum(1 for known in named if known == name or known.startswith(f"{name} ("))
        named[f"{name} ({copies + 1})" if copies else name] = row
    return named


def _name(row: Part) -> str:
    if isinstance(row, MarkPins):
        return f"{row.from_wheel} to {row.to_wheel}"
    for field in ("id", "number", "kind"):
        if hasattr(row, field):
            return str(getattr(row, field))
    return ""


def _row(row: Part, name: str) -> str:
    return f"{row_words(type(row))} {name}"


def _summary(row: Part) -> str:
    stated = [
        f"{words.label.lower()} {said(value, words.unit)}"
        for field in type(row).model_fields
        if field != "id"
        and (value := getattr(row, field)) not in (None, (), "")
        and not isinstance(value, Part)
        and not _is_rows(value)
        and (words := field_words(type(row), field))
    ]
    return "new: " + ", ".join(stated)


def _is_rows(value: object) -> bool:
    return isinstance(value, tuple) and bool(value) and isinstance(value[0], Part)
