"""What is wrong with a bank: where it stands, what was found, what to do."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.errors import InputError


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One finding. ``check`` names the rule, ``item`` the item's id (or its place)."""

    file: str
    line: int
    check: str
    item: str
    field: str
    problem: str
    remedy: str
    value: str = ""
    column: int = 0

    def __str__(self) -> str:
        column = f":{self.column}" if self.column else ""
        where = " ".join(filter(None, (self.item, self.field)))
        found = f" = {self.value!r}" if self.value else ""
        return (
            f"{self.file}:{self.line}{column}: {self.check}: {where}{found}: "
            f"{self.problem} {self.remedy}"
        )


def refusal(faults: tuple[Fault, ...]) -> InputError:
    """Return the error for a bank that can't be used, saying how many more faults there are."""
    first = faults[0]
    more = f" ({len(faults) - 1} more: `quizsvc bank check` lists them.)" if faults[1:] else ""
    column = f":{first.column}" if first.column else ""
    place = " ".join(filter(None, (first.item, first.field)))
    return InputError(
        first.problem,
        field=f"{first.file}:{first.line}{column}: {place}",
        value=first.value,
        remedy=first.remedy + more,
    )
