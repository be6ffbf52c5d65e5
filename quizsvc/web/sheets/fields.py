"""Which fields a table of an engine sheet has in the form, read off the schema itself."""

from __future__ import annotations

import types
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic_core import PydanticUndefined

from quizsvc.sheets.schema import Caution, EngineSheet, Part
from quizsvc.sheets.words import FieldWords, field_words

LEFT_OUT = {(EngineSheet, "schema_version"), (EngineSheet, "revision"), (EngineSheet, "note")}
NAMES_BY_FIELD = {"carries": ("intake", "exhaust", "intake, exhaust")}


class FieldKind(StrEnum):
    TEXT = "text"
    AREA = "area"
    NUMBER = "number"
    WHOLE = "whole number"
    CHOICE = "choice"
    YES_NO = "yes or no"
    DATE = "date"
    NUMBERS = "whole numbers"
    NAMES = "names"
    TABLE = "table"
    ROWS = "rows"


@dataclass(frozen=True, slots=True)
class SheetField:
    """A field of a table; ``part`` is the table within it or the table of each row."""

    name: str
    kind: FieldKind
    words: FieldWords
    optional: bool  # may be left blank
    default: str  # the text of its default, "" for none
    options: tuple[str, ...] = ()
    part: type[Part] | None = None


@cache
def fields_of(part: type[Part]) -> tuple[SheetField, ...]:
    """Return the fields of a table in the order of the schema."""
    return tuple(_field(part, name) for name in part.model_fields if (part, name) not in LEFT_OUT)


def as_text(value: object) -> str:
    """Return a value of a sheet as it is typed.

    >>> as_text(92.0), as_text(True), as_text((1, 3, 4, 2)), as_text(None)
    ('92', 'yes', '1, 3, 4, 2', '')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, tuple | list):
        return ", ".join(as_text(one) for one in value)
    return value.isoformat() if isinstance(value, date) else str(value)


def _field(part: type[Part], name: str) -> SheetField:
    info = part.model_fields[name]
    plain, optional = _plain(info.annotation)
    kind, options, within = _kind(plain, name)
    if kind is FieldKind.TEXT and (part, name) == (Caution, "text"):
        kind = FieldKind.AREA
    default = "" if info.default is PydanticUndefined else as_text(info.default)
    needed = info.is_required() and not optional
    return SheetField(name, kind, field_words(part, name), not needed, default, options, within)


def _plain(annotation: Any) -> tuple[Any, bool]:
    """Strip what only limits a type, and None; return whether None was among it."""
    if get_origin(annotation) is Annotated:
        return _plain(get_args(annotation)[0])
    if get_origin(annotation) in {Union, types.UnionType}:
        kept = [one for one in get_args(annotation) if one is not type(None)]
        return _plain(kept[0])[0], True
    return annotation, False


def _kind(plain: Any, name: str) -> tuple[FieldKind, tuple[str, ...], type[Part] | None]:
    if get_origin(plain) is tuple:
        return _many(_plain(get_args(plain)[0])[0], name)
    if get_origin(plain) is Literal:
        return FieldKind.CHOICE, tuple(map(str, get_args(plain))), None
    if issubclass(plain, Part):
        return FieldKind.TABLE, (), plain
    if issubclass(plain, StrEnum):
        return FieldKind.CHOICE, tuple(one.value for one in plain), None
    return _BY_TYPE[plain], ("yes", "no") if plain is bool else (), None


def _many(within: Any, name: str) -> tuple[FieldKind, tuple[str, ...], type[Part] | None]:
    if name in NAMES_BY_FIELD:
        return FieldKind.NAMES, NAMES_BY_FIELD[name], None
    if within is int:
        return FieldKind.NUMBERS, (), None
    if within is str:
        return FieldKind.NAMES, (), None
    return FieldKind.ROWS, (), within


_BY_TYPE = {
    str: FieldKind.TEXT,
    float: FieldKind.NUMBER,
    int: FieldKind.WHOLE,
    bool: FieldKind.YES_NO,
    date: FieldKind.DATE,
}
