"""An item's TOML written anew where it was changed, and nowhere else: comments stay."""

from __future__ import annotations

from typing import Any

import tomlkit
from tomlkit.items import Array, InlineTable, Table

from quizsvc.items.banks.schema import AnyItem

Data = dict[str, Any]
_FIRST = ("id", "version", "topic", "level", "kind", "tags", "prompt", "reference")
_LAST = ("accepted",)


def stated(item: AnyItem) -> Data:
    """Return what has to be written down of an item: all that is not left at its default."""
    return {"version": item.version} | item.model_dump(mode="json", exclude_defaults=True)


def new_text(data: Data) -> str:
    """Return an item as one ``[[items]]`` table.

    >>> print(new_text({"id": "a", "others": ["b"]}), end="")
    <BLANKLINE>
    [[items]]
    id = "a"
    others = ["b"]
    """
    document, items, table = tomlkit.document(), tomlkit.aot(), tomlkit.table()
    for key in sorted(data, key=_place):
        table.add(key, _value(data[key]))
    items.append(table)
    document.add("items", items)
    return "\n" + tomlkit.dumps(document)


def rewritten(text: str, item: AnyItem) -> str:
    """Return the item's piece of TOML with only those values changed that differ.

    What stands in the text and only repeats a default is left as it stands.
    """
    document = tomlkit.parse(text)
    whole = item.model_dump(mode="json")
    lean = item.model_dump(mode="json", exclude_defaults=True)
    _bring(document["items"][0], whole, lean)
    return tomlkit.dumps(document)


def head_text(data: Data) -> str:
    """Return the opening of a bank that is not written as tables of its own."""
    return tomlkit.dumps(data)


def _place(key: str) -> tuple[int, str]:
    """Return where a key stands: what says what it is first, accepted findings last."""
    if key in _FIRST:
        return _FIRST.index(key), ""
    return (len(_FIRST) + (key in _LAST), "" if key not in _LAST else key)


def _bring(table: Any, whole: Data, lean: Data) -> None:
    """Bring a table to what ``whole`` states; only what ``lean`` holds is added."""
    for key in list(table):
        if key not in whole:
            del table[key]
        elif _plain(table[key]) != whole[key]:
            _change(table, key, whole[key], lean.get(key))
    for key, value in lean.items():
        if key not in table:
            table[key] = _value(value)


def _change(table: Any, key: str, whole: Any, lean: Any) -> None:
    old = table[key]
    if lean is None:
        del table[key]
    elif isinstance(whole, dict) and isinstance(old, Table | InlineTable):
        _bring(old, whole, lean)
    elif _same_tables(old, whole):
        for one, part, lean_part in zip(old, whole, lean, strict=True):
            _bring(one, part, lean_part)
    else:
        table[key] = _value(lean)


def _same_tables(old: Any, whole: Any) -> bool:
    return (
        isinstance(whole, list)
        and len(old) == len(whole)
        and all(isinstance(one, dict) for one in (*old, *whole))
    )


def _plain(value: Any) -> Any:
    return value.unwrap() if hasattr(value, "unwrap") else value


def _value(value: Any) -> Any:
    if isinstance(value, str) and "\n" in value:
        return tomlkit.string(value, multiline=True)
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return _tables(value)
    if isinstance(value, dict):
        return _inline(value)
    return value


def _tables(values: list[Data]) -> Array:
    array = tomlkit.array()
    for one in values:
        array.append(_inline(one))
    return array.multiline(multiline=True)


def _inline(value: Data) -> InlineTable:
    table = tomlkit.inline_table()
    for key, one in value.items():
        table[key] = one
    return table
