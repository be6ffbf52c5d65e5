"""Numbers as people type them: decimal comma or point, spaces between thousands, a true minus."""

from __future__ import annotations

import re

from quizsvc.errors import InputError

LONGEST = 40  # characters
LARGEST = 1e12
_TYPED_ALIKE = str.maketrans(
    {
        "\u00a0": " ",  # no-break, thin and narrow spaces stand between thousands
        "\u2009": " ",
        "\u202f": " ",
        "\u2212": "-",  # true minus, en dash, figure dash
        "\u2013": "-",
        "\u2012": "-",
        "\u2019": "'",
    }
)
_ALSO_WRITTEN = {"°": ("degrees", "degree", "deg"), "pins": ("pin",), "teeth": ("tooth",)}
_PLAIN = re.compile(r"[+-]?(\d+[.,]?\d*|[.,]\d+)", re.ASCII)
_GROUPED = re.compile(r"[+-]?\d{1,3}(?P<by>[ '.,])\d{3}((?P=by)\d{3})*([.,]\d+)?", re.ASCII)
_COULD_BE_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}", re.ASCII)


def parse_number(text: str, *, field: str = "answer", unit: str = "") -> float:
    """Return the number a person typed; ``unit`` may stand behind it.

    >>> parse_number("12,5"), parse_number("−3"), parse_number("1 234,5")
    (12.5, -3.0, 1234.5)
    >>> parse_number("30°", unit="°")
    30.0

    Raises:
        InputError: nothing, words, another unit, infinity, or a number that can be read in
            two ways (``1,234``).
    """
    plain = _without_unit(_tidied(text, field), unit)
    if _COULD_BE_THOUSANDS.fullmatch(plain):
        raise InputError(
            "this can be read in two ways.",
            field=field,
            value=text,
            remedy=f"Write {plain.replace(',', '')} or {plain.replace(',', '.')}.",
        )
    number = _read(plain)
    if number is None or abs(number) > LARGEST:
        raise InputError(
            "this is not a number we can read.",
            field=field,
            value=text,
            remedy=f"Write digits{f', in {unit}' if unit else ''}, for example 12.5 or 12,5.",
        )
    return number + 0.0  # no minus zero


def _tidied(text: str, field: str) -> str:
    tidy = text[: LONGEST + 1].translate(_TYPED_ALIKE).strip()
    if not tidy:
        raise InputError(
            "nothing was put in.", field=field, value=text, remedy="Write a number, then send."
        )
    if len(text) > LONGEST:
        raise InputError(
            "this is longer than any number asked for.",
            field=field,
            value=text[:LONGEST] + "…",
            remedy=f"Write at most {LONGEST} characters.",
        )
    return tidy


def _without_unit(text: str, unit: str) -> str:
    for written in (unit, *_ALSO_WRITTEN.get(unit, ())):
        if written and text.casefold().endswith(written.casefold()):
            text = text[: -len(written)].rstrip()
            break
    return re.sub(r"^([+-]) +", r"\1", text)


def _read(plain: str) -> float | None:
    if _PLAIN.fullmatch(plain):
        return float(plain.replace(",", "."))
    grouped = _GROUPED.fullmatch(plain)
    if grouped is None:
        return None
    by, tail = grouped["by"], grouped[3] or ""
    if tail.startswith(by):  # 1.234.567 has no decimals, 1.234.5 is nonsense
        return None
    whole = plain.removesuffix(tail).replace(by, "")
    return float(whole + tail.replace(",", "."))
