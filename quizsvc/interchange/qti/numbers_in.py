"""The key of a number: its value, and the tolerance found in the rules that mark it."""

from __future__ import annotations

from typing import Any

from quizsvc.interchange.qti.names import Element, all_of, first_of, tag_of
from quizsvc.interchange.qti.report import Fate, shortened
from quizsvc.interchange.qti.source import Source, UnmappableError

MOST_DECIMALS = 6


def number_key(source: Source, declared: Element) -> dict[str, Any]:
    """Return value, tolerance and decimals of a typed answer.

    Raises:
        UnmappableError: no correct response, or it is no number.
    """
    key = source.key(declared)
    value = _number(key[0]) if key else None
    if value is None:
        what = f"the right answer is {shortened(key[0])!r}." if key else "it has no key."
        why = "here a typed answer is a number with a correct response."
        raise UnmappableError(what, why, "Make it a choice, or ask for a number.")
    if declared.get("base-type") == "string":
        source.tell(
            Fate.CHANGED,
            "an answer compared letter by letter became a number.",
            "here typed answers are numbers.",
            "State a tolerance and a unit.",
        )
    tolerance = _tolerance(source, value)
    return {"value": value, "tolerance": tolerance, "decimals": _decimals(value)}


def _tolerance(source: Source, value: float) -> float:
    processing = first_of(source.root, "qti-response-processing")
    if processing is None:
        return 0.0
    for rule in (*all_of(processing, "qti-equal"), *all_of(processing, "qti-equal-rounded")):
        if first_of(rule, "qti-correct") is not None:
            return _of_rule(source, rule, value)
    return 0.0


def _of_rule(source: Source, rule: Element, value: float) -> float:
    if tag_of(rule) == "qti-equal-rounded":
        return _rounded(source, rule)
    mode = rule.get("tolerance-mode", "exact")
    bounds = [_number(word) for word in rule.get("tolerance", "").split()]
    if mode == "exact" or not bounds:
        return 0.0
    sizes = [one for one in bounds if one is not None and one >= 0]
    if len(sizes) < len(bounds) or mode not in {"absolute", "relative"}:
        _told(source, f"the tolerance {shortened(rule.get('tolerance', ''))!r} can't be read.")
        return 0.0
    if len(set(sizes)) > 1:
        _told(source, f"of the tolerances below and above ({sizes}) the smaller was taken.")
    if mode == "absolute":
        return min(sizes)
    _told(source, f"a tolerance of {min(sizes):g} % became an absolute one.")
    return abs(value) * min(sizes) / 100


def _rounded(source: Source, rule: Element) -> float:
    figures = _number(rule.get("figures", ""))
    if rule.get("rounding-mode") == "decimalPlaces" and figures is not None and 0 <= figures <= 12:
        _told(source, f"agreement when rounded to {figures:g} places became a tolerance.")
        return float(0.5 * 10.0**-figures)
    _told(source, "agreement in significant figures became an exact number.")
    return 0.0


def _told(source: Source, what: str) -> None:
    why = "here a number has one tolerance, in the unit of the answer."
    source.tell(Fate.CHANGED, what, why, "Look at the tolerance.")


def _number(word: str) -> float | None:
    try:
        value = float(word)
    except ValueError:
        return None
    return value if abs(value) < float("inf") else None


def _decimals(value: float) -> int:
    """Return the decimals that the value itself shows.

    >>> _decimals(7.389), _decimals(20.0)
    (3, 0)
    """
    if value == int(value):
        return 0
    return min(MOST_DECIMALS, len(f"{value:.{MOST_DECIMALS}f}".rstrip("0").partition(".")[2]))
