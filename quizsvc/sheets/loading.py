"""From a TOML file to an engine sheet, or to all that is wrong with the file."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from quizsvc.errors import InputError, NotFoundError
from quizsvc.sheets.lines import line_of
from quizsvc.sheets.problems import Place, Problem, SheetError, field_name
from quizsvc.sheets.references import reference_problems
from quizsvc.sheets.schema import EngineSheet

LARGEST_FILE_BYTES = 1_000_000  # a sheet of a large engine takes 15 kB
_ENGINES = Path("question_banks", "engines")
_REMEDIES = {
    "missing": "Add it.",
    "extra_forbidden": "Take it out or correct its spelling.",
    "finite_number": "Give a finite number.",
    "one_line": "Write it on one line.",
    "string_pattern_mismatch": "Use small letters, digits and hyphens.",
}


def load_sheet(source: Path | str) -> EngineSheet:
    """Return the sheet in a file (`Path`) or in a TOML text (`str`).

    Raises:
        SheetError: names every field that cannot be right, its value, the line where it
            stands and a remedy.
        NotFoundError: there is no such file.
    """
    if isinstance(source, Path):
        return parse_sheet(_read(source), source=source.name)
    return parse_sheet(source)


def parse_sheet(text: str, *, source: str = "") -> EngineSheet:
    """Return the sheet in a TOML text; ``source`` names it in errors."""
    sheet = _validated(_parsed(text, source), text, source)
    if found := reference_problems(sheet):
        placed = [replace(problem, line=line_of(text, place)) for place, problem in found]
        raise SheetError(placed, source=source)
    return sheet


def sheet_from(content: Mapping[str, Any]) -> EngineSheet:
    """Return the sheet that these values state, as read from a TOML text or a form.

    Raises:
        SheetError: names every field that cannot be right, its value and a remedy.
    """
    sheet = _validated(dict(content), "", "")
    if found := reference_problems(sheet):
        raise SheetError([problem for _, problem in found])
    return sheet


@cache
def shipped_sheets() -> Mapping[str, EngineSheet]:
    """Return the sheets that come with the program, by id."""
    sheets = [load_sheet(path) for path in sorted(engines_folder().glob("*.toml"))]
    return {sheet.id: sheet for sheet in sheets}


def engines_folder() -> Path:
    """Return the folder of the shipped sheets: beside the package, else in the working folder."""
    beside_package = Path(__file__).parents[2] / _ENGINES
    return beside_package if beside_package.is_dir() else _ENGINES


def find_sheet(name: str) -> EngineSheet:
    """Return the shipped sheet with this id, or the sheet in the file of this name.

    Raises:
        NotFoundError: neither exists.
        SheetError: the file holds no sheet.
    """
    if name in shipped_sheets():
        return shipped_sheets()[name]
    if name.endswith(".toml") or Path(name).is_file():
        return load_sheet(Path(name))
    raise NotFoundError(
        "there is no such engine sheet.",
        field="sheet",
        value=name,
        remedy=f"Use a TOML file or one of: {', '.join(shipped_sheets())}.",
    )


def sheet_hash(sheet: EngineSheet) -> str:
    """Return a hash of all that the sheet states; equal sheets have equal hashes."""
    return hashlib.sha256(sheet.model_dump_json().encode()).hexdigest()


def _read(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise InputError(
                f"the file is larger than {LARGEST_FILE_BYTES} bytes.",
                field="file",
                value=str(path),
                remedy="A sheet is far smaller; is this the right file?",
            )
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise NotFoundError(
            "there is no such file.", field="file", value=str(path), remedy="Check the path."
        ) from None
    except OSError as fault:
        raise InputError(
            f"the file cannot be read ({fault.strerror}).", field="file", value=str(path)
        ) from None
    except UnicodeDecodeError as fault:
        raise InputError(
            f"the file is not UTF-8 text (byte {fault.start}).",
            field="file",
            value=str(path),
            remedy="Save it as UTF-8.",
        ) from None


def _parsed(text: str, source: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        problem = Problem("", None, f"this is not TOML: {fault}.", "Correct the text there.")
        raise SheetError([problem], source=source) from None
    except RecursionError:
        problem = Problem("", None, "brackets are nested too deep.", "A sheet needs a few levels.")
        raise SheetError([problem], source=source) from None


def _validated(content: dict[str, Any], text: str, source: str) -> EngineSheet:
    try:
        return EngineSheet.model_validate(content)
    except ValidationError as fault:
        problems = [_problem(error, text) for error in fault.errors(include_url=False)]
        raise SheetError(problems, source=source) from None


def _problem(error: ErrorDetails, text: str) -> Problem:
    place: Place = error["loc"]
    missing = error["type"] == "missing"
    return Problem(
        field_name(place),
        None if missing else error["input"],
        f"{_lower_first(error['msg'])}.",
        _REMEDIES.get(error["type"], ""),
        line_of(text, place),
    )


def _lower_first(message: str) -> str:
    return message[:1].lower() + message[1:]
