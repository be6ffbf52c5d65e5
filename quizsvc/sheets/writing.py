"""From an engine sheet back to TOML; where there was a text before, its comments stay."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import tomlkit
from tomlkit.items import AoT, InlineTable, Table

from quizsvc.sheets.loading import parse_sheet
from quizsvc.sheets.schema import EngineSheet

Values = Mapping[str, Any]
# As at the head of every shipped sheet.
HEAD = "The maker's service information, local rules and licensed practice always come first."


def sheet_toml(sheet: EngineSheet) -> str:
    """Return the sheet as a new TOML text: what equals a default is left out."""
    document = tomlkit.document()
    document.add(tomlkit.comment(HEAD))
    document.add(tomlkit.nl())
    for key, value in _plain_first(_lean(sheet)):
        document.add(key, _item(value))
    return tomlkit.dumps(document)


def rewritten(text: str, sheet: EngineSheet) -> str:
    """Return the text changed so that it states the sheet; comments and order stay.

    A text that cannot be brought there (tables written in some unusual way) is written anew.
    """
    document = tomlkit.parse(text)
    _bring(document, _whole(sheet), _lean(sheet))
    changed = tomlkit.dumps(document)
    return changed if _states(changed, sheet) else sheet_toml(sheet)


def _states(text: str, sheet: EngineSheet) -> bool:
    try:
        return parse_sheet(text) == sheet
    except ValueError:
        return False


def _whole(sheet: EngineSheet) -> dict[str, Any]:
    return sheet.model_dump(mode="python", exclude_none=True)


def _lean(sheet: EngineSheet) -> dict[str, Any]:
    return sheet.model_dump(mode="python", exclude_none=True, exclude_defaults=True)


def _bring(table: Any, whole: Values, lean: Values) -> None:
    """Change a table until it states the values; ``lean`` leaves out what is a default."""
    for key in [key for key in table if key not in whole]:
        del table[key]
    for key, value in whole.items():
        if key in table:
            _change(table, key, value, lean.get(key, value))
        elif key in lean:
            table[key] = _item(lean[key])


def _change(table: Any, key: str, whole: Any, lean: Any) -> None:
    old = table[key]
    if isinstance(old, Table | InlineTable) and isinstance(whole, Mapping):
        _bring(old, whole, lean)
    elif isinstance(old, AoT) and _tables(whole):
        _bring_rows(old, whole, lean)
    elif _plain(old) != _plain(whole):
        table[key] = _item(lean)


def _bring_rows(rows: AoT, whole: list[Values], lean: list[Values]) -> None:
    """Bring rows one by one; a row is known again by its name, so that its comments stay."""
    if [_name(row) for row in rows] != [_name(row) for row in whole]:
        _arrange(rows, whole, lean)
    for row, values, needed in zip(rows, whole, lean, strict=True):
        _bring(row, values, needed)


def _arrange(rows: AoT, whole: list[Values], lean: list[Values]) -> None:
    known = {_name(row): row for row in rows}
    wanted = [known.pop(_name(values), None) for values in whole]
    while len(rows):
        del rows[0]
    for row, needed in zip(wanted, lean, strict=True):
        rows.append(row if row is not None else _item(needed))


def _name(row: Values) -> object:
    return row.get("id", row.get("number", row.get("kind")))


def _tables(value: Any) -> bool:
    return isinstance(value, list | tuple) and bool(value) and isinstance(value[0], Mapping)


def _plain_first(values: Values) -> Iterable[tuple[str, Any]]:
    """Order keys as TOML needs them: plain values before tables."""
    return sorted(values.items(), key=lambda pair: isinstance(pair[1], Mapping) or _tables(pair[1]))


def _item(value: Any) -> Any:
    if isinstance(value, Mapping):
        table = tomlkit.table()
        for key, inner in _plain_first(value):
            table.add(key, _item(inner))
        return table
    if _tables(value):
        rows = tomlkit.aot()
        for row in value:
            rows.append(_item(row))
        return rows
    return _plain(value)


def _plain(value: Any) -> Any:
    value = value.unwrap() if hasattr(value, "unwrap") else value
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return str(value) if isinstance(value, str) else value
