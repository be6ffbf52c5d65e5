"""What is wrong with the text of a sheet: places named as the writer of the file sees them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quizsvc.errors import InputError

Place = tuple[str | int, ...]  # the way to a value: ("drives", 0, "wheels", 2, "teeth")


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a sheet's text.

    ``value`` is None where nothing was found (TOML has no such value); ``line`` counts from 1, 0
    where it is not known.
    """

    field: str
    value: object
    message: str
    remedy: str = ""
    line: int = 0

    def __str__(self) -> str:
        where = f"line {self.line}: " if self.line else ""
        found = "" if self.value is None else f" = {shown_value(self.value)}"
        named = f"{self.field}{found}: " if self.field else ""
        return f"{where}{named}{self.message}{' ' if self.remedy else ''}{self.remedy}"


class SheetError(InputError):
    """A sheet that cannot be read; ``problems`` says all that is wrong, not just the first."""

    def __init__(self, problems: Sequence[Problem], *, source: str = "") -> None:
        first = problems[0]
        super().__init__(
            first.message, field=first.field, value=first.value, remedy=first.remedy or None
        )
        self.problems = tuple(problems)
        self.source = source

    def __str__(self) -> str:
        before = f"{self.source}: " if self.source else ""
        return "\n".join(f"{before}{problem}" for problem in self.problems)


def field_name(place: Place) -> str:
    """Return the place in the words of the file, counting list members from 1.

    >>> field_name(("drives", 0, "wheels", 2, "teeth"))
    'drives[1].wheels[3].teeth'
    """
    name = ""
    for part in place:
        if isinstance(part, int):
            name += f"[{part + 1}]"
        else:
            name += f".{part}" if name else part
    return name


def shown_value(value: object, *, width: int = 60) -> str:
    """Return the value in one short line."""
    text = repr(value).replace("\n", " ")
    return text if len(text) <= width else text[: width - 1] + "…"
