"""What the core takes for a number: finite, of the right kind, inside its bounds."""

from __future__ import annotations

import math
from collections.abc import Iterable
from numbers import Integral, Real
from typing import NoReturn

from quizsvc.errors import InputError


def number(
    name: str,
    value: object,
    *,
    above: float | None = None,
    at_least: float | None = None,
    below: float | None = None,
    at_most: float | None = None,
) -> float:
    """Return ``value`` as a float, or raise InputError naming it and what is wrong.

    >>> number("stroke_mm", 86, above=0)
    86.0
    >>> number("stroke_mm", float("nan"))
    Traceback (most recent call last):
    quizsvc.errors.InputError: stroke_mm = nan: is not a finite number. Give a plain number.
    """
    if type(value) is float:  # the usual case, without the slow look at the number tower
        found = value
    elif isinstance(value, bool) or not isinstance(value, Real):
        refuse(name, value, "is not a number.", "Give a plain number.")
    else:
        found = float(value)
    if not math.isfinite(found):
        refuse(name, value, "is not a finite number.", "Give a plain number.")
    if above is not None and found <= above:
        refuse(name, value, f"must be more than {above:g}.")
    if at_least is not None and found < at_least:
        refuse(name, value, f"must be at least {at_least:g}.")
    if below is not None and found >= below:
        refuse(name, value, f"must be less than {below:g}.")
    if at_most is not None and found > at_most:
        refuse(name, value, f"must be at most {at_most:g}.")
    return found


def whole(name: str, value: object, *, at_least: int, at_most: int | None = None) -> int:
    """Return ``value`` as an int, or raise InputError naming it and what is wrong.

    >>> whole("teeth", 36, at_least=3)
    36
    """
    if isinstance(value, bool) or not isinstance(value, Integral):
        refuse(name, value, "is not a whole number.", "Give a whole number without decimals.")
    found = int(value)
    if found < at_least:
        refuse(name, value, f"must be at least {at_least}.")
    if at_most is not None and found > at_most:
        refuse(name, value, f"must be at most {at_most}.")
    return found


def sequence(name: str, value: object) -> tuple[object, ...]:
    """Return ``value`` as a tuple, or raise InputError if it cannot be gone through."""
    if isinstance(value, str) or not isinstance(value, Iterable):
        refuse(name, value, "is not a list.", "Give the values one after another in a list.")
    return tuple(value)


def refuse(name: str, value: object, problem: str, remedy: str | None = None) -> NoReturn:
    """Raise InputError for ``name``."""
    raise InputError(problem, field=name, value=value, remedy=remedy)


def turn_deg(angle_deg: float, full_deg: float = 360.0) -> float:
    """Bring an angle into [0, full), with rounding dust just below full taken as 0.

    >>> turn_deg(-90), turn_deg(750.0, 720), turn_deg(-1e-13)
    (270.0, 30.0, 0.0)
    """
    inside = angle_deg % full_deg
    return 0.0 if full_deg - inside < 1e-9 else inside
