"""What the check of a sheet finds: how bad, where, what value, why, and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from quizsvc.sheets.problems import Place, field_name, shown_value


class Severity(StrEnum):
    ERROR = "error"  # the sheet cannot be right; questions drawn from it would mislead
    WARNING = "warning"  # unusual, or left out; a person should look at it


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that the check says of a sheet. ``field`` counts list members from 1."""

    severity: Severity
    field: str
    value: object
    message: str
    remedy: str

    def __str__(self) -> str:
        named = f"{self.field} = {shown_value(self.value)}"
        return f"{self.severity}: {named}: {self.message} {self.remedy}"


def error(place: Place, value: object, message: str, remedy: str) -> Finding:
    return Finding(Severity.ERROR, field_name(place), value, message, remedy)


def warning(place: Place, value: object, message: str, remedy: str) -> Finding:
    return Finding(Severity.WARNING, field_name(place), value, message, remedy)
