"""Between the fields of an item's form and the item's data as in TOML.

A field is named as a finding names it, with hyphens: "option 1 text" is ``option-1-text``. Rows
left empty are left out, and the rows after them move up.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from werkzeug.datastructures import MultiDict

from quizsvc.errors import InputError
from quizsvc.scoring.numbers import parse_number

Fields = MultiDict[str, str]
Data = dict[str, Any]
_PLAIN = ("id", "topic", "level", "prompt", "reference", "author", "caution", "picture")
_TEXTS = (*_PLAIN, "picture_alt")


@dataclass(frozen=True, slots=True)
class Rows:
    """One list of an item: the fields of each row, which of them are ticked, which numbers."""

    table: str
    row: str
    texts: tuple[str, ...]
    ticks: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()
    most: int = 12
    fewest: int = 1  # rows shown on an empty form


OPTIONS = Rows("options", "option", ("text", "rationale", "misconception"), ("correct",), (), 10, 4)
EXPECTED = Rows(
    "expected", "expected", ("rationale", "misconception"), (), ("value",), most=10, fewest=2
)
THINGS = Rows("sequence", "sequence", ("id", "text"), most=12, fewest=5)
RULES = Rows("before", "before", ("first", "later", "why"), most=20, fewest=4)
PAIRS = Rows("pairs", "pair", ("left", "right", "rationale"), most=10, fewest=4)
PLACES = Rows(
    "places",
    "place",
    ("name", "rationale", "misconception"),
    ("correct",),
    ("x", "y", "radius"),
    most=12,
    fewest=3,
)
STEPS = Rows("steps", "step", ("text", "unit"), (), ("value",), most=12, fewest=2)
ACCEPTED = Rows("accepted", "accepted", ("check", "because"), most=8, fewest=0)
OTHERS, MOST_OTHERS = "other", 6
BY_KIND: dict[str, tuple[Rows, ...]] = {
    "one choice": (OPTIONS,),
    "several choices": (OPTIONS,),
    "number": (EXPECTED,),
    "order": (THINGS, RULES),
    "match": (PAIRS,),
    "point on a figure": (PLACES,),
}
ANSWER_NUMBERS, ANSWER_TEXTS = ("value", "tolerance", "decimals"), ("unit", "rationale")


def data_in(fields: Fields, kind: str) -> Data:
    """Return the item that was typed in, as far as it can be understood; checks come later."""
    data: Data = {"kind": kind}
    data |= {name: fields.get(name, "").strip() for name in _TEXTS if fields.get(name, "").strip()}
    data["cautions"] = fields.getlist("cautions")
    data["tags"] = [tag for tag in re.split(r"[,\s]+", fields.get("tags", "")) if tag]
    for rows in (*BY_KIND[kind], STEPS, ACCEPTED):
        data[rows.table] = list(_rows_in(fields, rows))
    if kind == "number":
        data["answer"] = _answer_in(fields)
    if kind == "order":
        _name_things(data)
    if kind == "match":
        others = (fields.get(f"{OTHERS}-{n}", "").strip() for n in range(1, MOST_OTHERS + 1))
        data["others"] = [text for text in others if text]
    if kind == "point on a figure":
        data["places"] = [_placed(place) for place in data["places"]]
    data["accepted"] = [one for one in data["accepted"] if one.get("because")]
    return {name: value for name, value in data.items() if value not in ([], {})}


def fields_of(data: Data) -> Fields:
    """Return the fields that show an item on its form."""
    kind = data["kind"]
    found = [(name, str(data[name])) for name in _TEXTS if name in data]
    found += [("cautions", name) for name in data.get("cautions", ())]
    found.append(("tags", ", ".join(data.get("tags", ()))))
    for rows in (*BY_KIND[kind], STEPS, ACCEPTED):
        for number, row in enumerate(data.get(rows.table, ()), 1):
            found += _row_fields(rows, number, row, data)
    for name, value in data.get("answer", {}).items():
        found.append((f"answer-{name}", _written(value)))
    for number, text in enumerate(data.get("others", ()), 1):
        found.append((f"{OTHERS}-{number}", text))
    return MultiDict(found)


def rows_shown(fields: Fields, rows: Rows, more: int) -> range:
    """Return the numbers of the rows to show: those filled in, and some empty ones."""
    filled = sum(1 for _ in _numbers_in(fields, rows.row))
    return range(1, min(rows.most, max(rows.fewest, filled + more)) + 1)


def field_for(finding: str) -> str:
    """Return the name of the form's field that a finding speaks of.

    >>> field_for("option 1 text"), field_for("place 2 at")
    ('option-1-text', 'place-2-x')
    """
    name = finding.replace(" ", "-")
    if name.endswith("-at"):
        return f"{name.removesuffix('at')}x"
    return re.sub(r"^(caution|tag)-\d+$", r"\1s", name)


def _rows_in(fields: Fields, rows: Rows) -> Iterator[Data]:
    for number in _numbers_in(fields, rows.row):
        row: Data = {}
        for name in rows.texts:
            row[name] = fields.get(f"{rows.row}-{number}-{name}", "").strip()
        for name in rows.numbers:
            row[name] = _number(fields.get(f"{rows.row}-{number}-{name}", ""))
        row = {name: value for name, value in row.items() if value not in ("", None)}
        said = {name for name in row if name not in {"id", "misconception", "check"}}
        if said:
            ticked = {name: True for name in rows.ticks if f"{rows.row}-{number}-{name}" in fields}
            yield row | ticked | ({"row": number} if rows is THINGS else {})


def _numbers_in(fields: Fields, row: str) -> list[int]:
    found = {
        int(match[1])
        for name, value in fields.items()
        if value.strip() and (match := re.fullmatch(rf"{row}-(\d{{1,2}})-(?!id|check)\w+", name))
    }
    return sorted(found)


def _answer_in(fields: Fields) -> Data:
    answer: Data = {name: _number(fields.get(f"answer-{name}", "")) for name in ANSWER_NUMBERS}
    answer |= {name: fields.get(f"answer-{name}", "").strip() for name in ANSWER_TEXTS}
    answer["quantity"] = fields.get("answer-quantity", "") or "number"
    if isinstance(answer["decimals"], float):
        answer["decimals"] = int(answer["decimals"])
    return {name: value for name, value in answer.items() if value not in ("", None)}


def _name_things(data: Data) -> None:
    """Give things their ids, and let the rules speak of them by id instead of by row."""
    taken = {thing["id"] for thing in data["sequence"] if "id" in thing}
    by_row: dict[str, str] = {}
    for thing in data["sequence"]:
        number = thing.pop("row")
        if "id" not in thing:
            thing["id"] = _free_name(number, taken)
        taken.add(thing["id"])
        by_row[str(number)] = thing["id"]
    data["sequence"] = [{"id": one["id"], "text": one.get("text", "")} for one in data["sequence"]]
    for rule in data["before"]:
        for end in ("first", "later"):
            if rule.get(end):
                rule[end] = by_row.get(rule[end], rule[end])


def _free_name(number: int, taken: Iterable[str]) -> str:
    names = (f"step-{n}" for n in range(number, 1000))
    return next(name for name in names if name not in taken)


def _placed(place: Data) -> Data:
    at = [place.pop("x", None), place.pop("y", None)]
    return place | {"at": [0.0 if one is None else one for one in at]}


def _row_fields(rows: Rows, number: int, row: Data, data: Data) -> Iterator[tuple[str, str]]:
    values = dict(row)
    if rows is PLACES and "at" in values:
        values["x"], values["y"] = values.pop("at")
    if rows is RULES:
        order = [thing["id"] for thing in data.get("sequence", ())]
        for end in ("first", "later"):
            if values.get(end) in order:
                values[end] = order.index(values[end]) + 1
    for name, value in values.items():
        if name in rows.ticks:
            if value:
                yield f"{rows.row}-{number}-{name}", "1"
        else:
            yield f"{rows.row}-{number}-{name}", _written(value)


def _number(text: str) -> float | str | None:
    """Return the number typed, or the text as it is: the check says what is wrong with it."""
    if not text.strip():
        return None
    try:
        return parse_number(text)
    except InputError:
        return text.strip()


def _written(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def changed_names(fields: Mapping[str, str]) -> str:
    """Return what the author said they changed, on one line."""
    return " ".join(fields.get("said", "").split())[:400]
