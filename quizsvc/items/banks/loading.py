"""From the text of a bank file to a `Bank`, or to what is wrong with it, line by line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from quizsvc.errors import InputError
from quizsvc.items.banks.bank import Bank, bank_of
from quizsvc.items.banks.fault import Fault, refusal
from quizsvc.items.banks.keys import field_name, key_faults
from quizsvc.items.banks.lines import Path as TomlPath
from quizsvc.items.banks.lines import line_numbers, line_of
from quizsvc.items.banks.schema import WrittenBank
from quizsvc.items.model import Kind

LARGEST_BYTES = 32 * 1024 * 1024  # ten thousand long items are about 15 MB
SHIPPED = Path(__file__).resolve().parents[3] / "question_banks"
MEDIA = SHIPPED.parent / "media"

_KINDS = frozenset(kind.value for kind in Kind)
_REMEDIES = {
    "missing": "Add it.",
    "extra_forbidden": "Remove it, or mend its spelling or its place.",
    "union_tag_not_found": f"Add one of: {', '.join(sorted(_KINDS - {Kind.BENCH}))}.",
    "union_tag_invalid": f"Use one of: {', '.join(sorted(_KINDS - {Kind.BENCH}))}.",
    "string_pattern_mismatch": "Use small letters, digits and hyphens, as in the shipped banks.",
}


def load_bank(path: Path) -> Bank:
    """Return the bank of a file, ready for use.

    Raises:
        InputError: naming file, line, field, value and remedy of the first fault.
    """
    bank, faults = read_bank(file_text(path), str(path))
    if bank is None or faults:
        raise refusal(faults)
    return bank


def load_banks(folder: Path) -> dict[str, Bank]:
    """Return every bank of a folder (not of folders in it) by id.

    Raises:
        InputError: a bank can't be used, or two have the same id.
    """
    banks: dict[str, Bank] = {}
    for path in sorted(folder.glob("*.toml")):
        bank = load_bank(path)
        if bank.id in banks:
            raise InputError(
                f"{banks[bank.id].file} is a bank of the same id.",
                field=f"{path}:{bank.line('id')}: id",
                value=bank.id,
                remedy="Give each bank its own id.",
            )
        banks[bank.id] = bank
    return banks


@cache
def shipped_banks() -> dict[str, Bank]:
    """Return the banks that come with the program."""
    return load_banks(SHIPPED)


def file_text(path: Path) -> str:
    """Return the text of a bank file.

    Raises:
        InputError: there is no such file, it is too large or no UTF-8 text.
    """
    try:
        if path.stat().st_size > LARGEST_BYTES:
            remedy = "Split the bank into several files."
            raise InputError(
                f"the file is larger than {LARGEST_BYTES // 1024**2} MB.",
                field="bank file",
                value=str(path),
                remedy=remedy,
            )
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise InputError(
            f"byte {error.start} is no UTF-8 text.",
            field="bank file",
            value=str(path),
            remedy="Save the file as UTF-8.",
        ) from error
    except OSError as error:
        raise InputError(
            f"it can't be read: {error.strerror}.",
            field="bank file",
            value=str(path),
            remedy="Name a TOML file or a folder of them.",
        ) from error


def read_bank(text: str, file: str = "bank.toml") -> tuple[Bank | None, tuple[Fault, ...]]:
    """Return the bank (None where its form is wrong) and every fault that makes it unusable."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        return None, (_syntax_fault(str(error), text, file),)
    except RecursionError:
        return None, (_too_deep(file),)
    lines = line_numbers(text)
    try:
        written = WrittenBank.model_validate(data, strict=False)
    except ValidationError as error:
        details = _own_errors(error.errors(include_url=False, include_context=False))
        faults = (_form_fault(one, data, file, lines) for one in details)
        return None, tuple(sorted(faults))
    bank = bank_of(written, file, lines)
    return bank, key_faults(bank)


def _syntax_fault(message: str, text: str, file: str) -> Fault:
    place = re.search(r"\(at line (\d+), column (\d+)\)", message)
    line, column = (int(place[1]), int(place[2])) if place else (text.count("\n") + 1, 0)
    return Fault(
        file=file,
        line=line,
        column=column,
        check="syntax",
        item="",
        field="TOML",
        problem=f"the file is no valid TOML: {message.partition(' (at')[0].lower()}.",
        remedy="Mend the text there; an open quotation mark further up is a common cause.",
    )


def _too_deep(file: str) -> Fault:
    return Fault(
        file=file,
        line=1,
        check="syntax",
        item="",
        field="TOML",
        problem="brackets are nested too deep.",
        remedy="A bank needs no more than three levels.",
    )


def _own_errors(details: list[ErrorDetails]) -> list[ErrorDetails]:
    """Leave out "too short" where it only says that what stands in the list is faulty."""
    return [
        one
        for one in details
        if one["type"] != "too_short"
        or not any(
            other["loc"][: len(one["loc"])] == one["loc"] and other is not one for other in details
        )
    ]


def _form_fault(
    error: ErrorDetails, data: dict[str, Any], file: str, lines: Mapping[TomlPath, int]
) -> Fault:
    path = tuple(part for part in error["loc"] if part not in _KINDS)
    whole_items = error["type"].startswith("union_tag")
    named = (*path, "kind") if whole_items else path
    item = named[:2] if len(named) > 2 and named[0] == "items" else ()
    return Fault(
        file=file,
        line=line_of(lines, named),
        check="form",
        item=_item_name(item, data),
        field=field_name(named[len(item) :]),
        problem=_sentence(error["msg"]) if not whole_items else "the kind is not known.",
        remedy=_REMEDIES.get(error["type"], "Change it."),
        value=_found(error, named, data),
    )


def _item_name(path: TomlPath, data: dict[str, Any]) -> str:
    if not path:
        return ""
    item = data["items"][path[1]]
    return str(item.get("id", field_name(path))) if isinstance(item, dict) else field_name(path)


def _found(error: ErrorDetails, path: TomlPath, data: dict[str, Any]) -> str:
    if error["type"] == "missing":
        return ""
    value: Any = data
    for part in path:
        try:
            value = value[part]
        except (KeyError, IndexError, TypeError):
            return ""
    return "" if isinstance(value, list | dict) else str(value)[:80]


def _sentence(message: str) -> str:
    words = message.removeprefix("Value error, ")
    return f"{words[:1].lower()}{words[1:].rstrip('.')}."
