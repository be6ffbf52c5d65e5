"""Simple banks as CSV: items of one choice or several, one row each, for a spreadsheet.

The first row names the columns. `prompt`, `option 1`, `option 2` and a `right` column (the
numbers of the right options) suffice to read one in; the others may be left out. Numbers, orders,
matches and hotspots have more to say than a row holds: they are told and left out.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator
from typing import Any

from pydantic import TypeAdapter, ValidationError

from quizsvc.errors import InputError
from quizsvc.interchange.cells import cell_text, safe_cell
from quizsvc.interchange.qti.names import name_of
from quizsvc.interchange.qti.report import Fate, Filling, Imported, Note, shortened
from quizsvc.interchange.sound_bank import sound_bank
from quizsvc.items.banks.keys import field_name
from quizsvc.items.banks.schema import AnyItem, ChoiceItem, WrittenBank

Progress = Callable[[int, int], None]

MOST_BYTES = 32_000_000
MOST_ROWS = 20_000
MOST_OPTIONS = 10
PLAIN = ("id", "version", "topic", "level", "kind", "prompt", "reference", "author")
LAST = ("caution", "tags", "picture", "picture alt")
_KIND = {False: "one choice", True: "several choices"}
_ITEM: TypeAdapter[AnyItem] = TypeAdapter(AnyItem)


def export_csv(bank: WrittenBank) -> tuple[str, tuple[Note, ...]]:
    """Return the bank's choice items as CSV, and what of the bank a row can't hold."""
    rows: list[dict[str, str]] = []
    notes: list[Note] = []
    for item in bank.items:
        if isinstance(item, ChoiceItem):
            rows.append(_row(bank, item))
            notes += _not_held(item)
        else:
            why = f"an item of the kind {item.kind!r} does not fit into a row."
            notes.append(_note(Fate.LEFT_OUT, item.id, "the item.", why, "Export as QTI."))
    written = io.StringIO()
    most = max((sum(key.startswith("option ") for key in row) for row in rows), default=2)
    writer = csv.DictWriter(written, _columns(most), restval="")
    writer.writeheader()
    writer.writerows(rows)
    return written.getvalue(), tuple(notes)


def import_csv(
    content: bytes, filling: Filling | None = None, progress: Progress | None = None
) -> Imported:
    """Return the items of a CSV file as a bank, and row by row what could not come over.

    Raises:
        InputError: no UTF-8 text, no table with a header, or larger than the limits.
    """
    filling = filling or Filling()
    rows = _rows(_decoded(content))
    items: list[AnyItem] = []
    notes: list[Note] = []
    names: set[str] = set()
    for done, (line, row) in enumerate(rows, 1):
        item = _item(row, line, filling, names, notes)
        if item is not None:
            names.add(item.id)
            items.append(item)
        if progress is not None:
            progress(done, len(rows))
    if not items:
        return Imported(None, len(rows), notes=tuple(notes))
    bank, unsound = sound_bank(_written(items, filling))
    return Imported(bank, len(rows), notes=(*notes, *unsound))


def _columns(options: int) -> list[str]:
    numbered = [
        f"{name} {i}"
        for i in range(1, options + 1)
        for name in ("option", "rationale", "misconception")
    ]
    return [*PLAIN, "right", *numbered, *LAST]


def _row(bank: WrittenBank, item: ChoiceItem) -> dict[str, str]:
    named = [bank.cautions.get(name, "") for name in item.cautions]
    row = {name: str(getattr(item, name)) for name in PLAIN}
    row |= {
        "right": " ".join(str(i) for i, one in enumerate(item.options, 1) if one.correct),
        "caution": " ".join(text for text in [*named, item.caution] if text),
        "tags": " ".join(item.tags),
        "picture": item.picture,
        "picture alt": item.picture_alt,
    }
    for i, one in enumerate(item.options, 1):
        row |= {f"option {i}": one.text, f"rationale {i}": one.rationale}
        row[f"misconception {i}"] = one.misconception
    return {name: safe_cell(text) for name, text in row.items()}


def _not_held(item: ChoiceItem) -> Iterator[Note]:
    why = "a row has no place for it."
    if item.cautions:
        what = f"the named cautions {', '.join(item.cautions)} were written out."
        yield _note(Fate.CHANGED, item.id, what, "names belong to a bank.", "Export as QTI.")
    if item.steps:
        yield _note(Fate.LOST, item.id, f"{len(item.steps)} worked steps.", why, "Export as QTI.")
    if item.accepted:
        what = f"{len(item.accepted)} accepted findings."
        yield _note(Fate.LOST, item.id, what, why, "Export as QTI.")
    if item.picture:
        what = f"the picture {item.picture} is named, not included."
        yield _note(Fate.CHANGED, item.id, what, "CSV holds text.", "Take the picture along.")


def _decoded(content: bytes) -> str:
    if len(content) > MOST_BYTES:
        problem = f"the file has more than {MOST_BYTES // 10**6} MB."
        raise _refusal(f"{len(content) / 1e6:.0f} MB", problem, "Split it.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        problem = f"byte {error.start} is no UTF-8 text."
        raise _refusal("encoding", problem, "Save the table as CSV UTF-8.") from error
    if "\x00" in text:
        raise _refusal("NUL", "it holds NUL bytes.", "Save the table as CSV UTF-8.")
    return text


def _rows(text: str) -> list[tuple[int, dict[str, str]]]:
    """Return each row with its line in the file, its cells by the header's names."""
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        header = [" ".join(name.casefold().split()) for name in next(reader, [])]
        _check_header(header)
        rows = [(reader.line_num, _cells(header, row, reader.line_num)) for row in reader if row]
    except csv.Error as error:
        problem = f"line {reader.line_num} is no CSV: {error}."
        raise _refusal("table", problem, "Save the table as CSV again.") from error
    if len(rows) > MOST_ROWS:
        raise _refusal(f"{len(rows)} rows", f"more than {MOST_ROWS} rows.", "Split the table.")
    return [(line, row) for line, row in rows if any(row.values())]


def _check_header(header: list[str]) -> None:
    needed = {"prompt", "right", "option 1", "option 2"}
    missing = sorted(needed - {*header})
    if missing:
        problem = f"the first row does not name the columns {', '.join(missing)}."
        remedy = f"Name columns as in an export: {', '.join(_columns(2))}."
        raise _refusal(shortened(", ".join(header), 80), problem, remedy)
    twice = [name for name in header if name and header.count(name) > 1]
    if twice:
        raise _refusal(twice[0], "two columns have this name.", "Keep one of them.")


def _cells(header: list[str], row: list[str], line: int) -> dict[str, str]:
    if len(row) > len(header) and any(row[len(header) :]):
        problem = f"line {line} has more cells than the first row has names."
        raise _refusal(shortened(row[len(header)], 40), problem, "Quote cells that hold commas.")
    return {name: cell_text(cell) for name, cell in zip(header, row, strict=False) if name}


def _item(
    row: dict[str, str], line: int, filling: Filling, names: set[str], notes: list[Note]
) -> AnyItem | None:
    label = row.get("id") or f"line {line}"
    _tell_unknown(row, label, notes)
    try:
        item = _ITEM.validate_python(_data(row, line, filling, names, notes))
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False)[0]
        place = field_name(tuple(one for one in first["loc"] if one not in _KIND.values()))
        why = f"{first['msg'].removeprefix('Value error, ').rstrip('.')}."
        notes.append(_note(Fate.LEFT_OUT, label, f"its {place}:", why, "Mend it in the table."))
        return None
    if item.id in names:
        why = "an earlier row has this id."
        notes.append(_note(Fate.LEFT_OUT, label, "the item.", why, "Give it its own."))
        return None
    return item


def _data(
    row: dict[str, str], line: int, filling: Filling, names: set[str], notes: list[Note]
) -> dict[str, Any]:
    given = {name: row[name] for name in (*PLAIN, "caution", "picture") if row.get(name)}
    filled = {
        name: str(getattr(filling, name))
        for name in ("topic", "level", "reference")
        if name not in given
    }
    if filled:
        what = f"{', '.join(f'{name} {value}' for name, value in filled.items())}."
        label = row.get("id") or f"line {line}"
        why, remedy = "the table does not say.", "Say what is right for this item."
        notes.append(_note(Fate.FILLED, label, what, why, remedy))
    right = {int(one) for one in re.findall(r"\d{1,3}", row.get("right", ""))}
    shared = {
        "id": name_of(f"line-{line}", names),
        "kind": _KIND[len(right) > 1],
        "tags": row.get("tags", "").split(),
        "picture_alt": row.get("picture alt", ""),
        "options": _options(row, right),
    }
    return shared | filled | given


def _options(row: dict[str, str], right: set[int]) -> list[dict[str, Any]]:
    return [
        {
            "text": row[f"option {i}"],
            "correct": i in right,
            "rationale": row.get(f"rationale {i}", ""),
            "misconception": row.get(f"misconception {i}", ""),
        }
        for i in range(1, MOST_OPTIONS + 2)
        if row.get(f"option {i}")
    ]


def _tell_unknown(row: dict[str, str], label: str, notes: list[Note]) -> None:
    known = {*_columns(MOST_OPTIONS + 1)}
    for name in sorted(row.keys() - known):
        if row[name]:
            what = f"the column {shortened(name, 40)!r}: {shortened(row[name], 60)!r}."
            remedy = f"Use one of: {', '.join(_columns(2))}."
            notes.append(_note(Fate.LOST, label, what, "no column of ours has this name.", remedy))


def _written(items: list[AnyItem], filling: Filling) -> WrittenBank:
    bank_id = filling.bank_id or "imported"
    return WrittenBank(
        schema_version=1,
        id=bank_id,
        title=bank_id.replace("-", " ").capitalize(),
        author=filling.author,
        items=tuple(items),
    )


def _note(fate: Fate, item: str, what: str, why: str, remedy: str) -> Note:
    return Note(fate, shortened(item, 80), what, why, remedy)


def _refusal(value: str, problem: str, remedy: str) -> InputError:
    return InputError(problem, field="CSV file", value=value, remedy=remedy)
