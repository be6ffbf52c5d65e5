"""The root of every error this program raises on purpose: field, value, remedy."""

from __future__ import annotations


class QuizsvcError(Exception):
    """Something a person can put right.

    ``field`` names what is wrong, ``value`` is what was found there, ``remedy``
    says what to do. The web translates these into pages, the command line into
    one line on standard error; nobody sees a traceback.
    """

    def __init__(
        self,
        problem: str,
        *,
        field: str | None = None,
        value: object = None,
        remedy: str | None = None,
    ) -> None:
        super().__init__(problem)
        self.problem = problem
        self.field = field
        self.value = value
        self.remedy = remedy

    def __str__(self) -> str:
        where = f"{self.field} = {self.value!r}: " if self.field else ""
        what_to_do = f" {self.remedy}" if self.remedy else ""
        return f"{where}{self.problem}{what_to_do}"


class InputError(QuizsvcError, ValueError):
    """A value that cannot be right: out of range, of the wrong form, impossible together."""


class NotFoundError(QuizsvcError, LookupError):
    """A named thing does not exist, or not for this actor."""


class NotAllowedError(QuizsvcError, PermissionError):
    """The actor may not do this."""


class ConflictError(QuizsvcError):
    """The thing was changed meanwhile, or was already decided."""


class UnavailableError(QuizsvcError):
    """The work could not be stored or done just now; trying again later may help."""
