"""From the fields of an item's page to what was given; numbers are the positions shown.

The names of the fields alone tell the kind of answer, so that the way of an answer need not draw
the item just to read the form; whether the answer fits the item, the service knows.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable

from werkzeug.datastructures import MultiDict

from quizsvc.errors import InputError
from quizsvc.items.model import BenchStart
from quizsvc.services.shown import Given
from quizsvc.web.whole_numbers import whole_or_none

Fields = MultiDict[str, str]


def given_in(fields: Fields, bench: Callable[[], BenchStart | None] = lambda: None) -> Given:
    """Return what was put in; ``bench`` gives the start of a bench item, asked only if needed.

    Raises:
        InputError: something cannot be read, or a line was left out or a place given twice.
    """
    return Given(
        choices=tuple(_position(text, "choice") for text in fields.getlist("choice")),
        number=_refitted(fields["ahead"], bench())
        if "ahead" in fields
        else fields.get("number", ""),
        order=_order(_lines(fields, "place")),
        pairs=tuple(sorted(_lines(fields, "partner").items())),
        place=_position(fields["place"], "place") if fields.get("place") else None,
    )


def page_in(fields: Fields) -> int:
    """Return the page asked for; the first unless stated."""
    text = fields.get("page", "1")
    page = whole_or_none(text)
    if page is None:
        raise InputError(
            "there is no such page.", field="page", value=text, remedy="Pages count from 1."
        )
    return page


def _lines(fields: Fields, name: str) -> dict[int, int]:
    """Return what was chosen on each line: fields ``place-1``, ``place-2`` and so on."""
    lines = {}
    for field, text in fields.items():
        found = re.fullmatch(rf"{name}-(\d{{1,3}})", field, re.ASCII)
        if found:
            lines[int(found[1])] = _chosen(text, name, found[1])
    return lines


def _refitted(ahead: str, start: BenchStart | None) -> str:
    """Return the teeth a chain is off after its camshaft was turned ahead by some teeth."""
    if start is None or not re.fullmatch(r"-?\d", ahead, re.ASCII):
        raise InputError(
            "it is not said how far the camshaft is turned.",
            field="ahead",
            value=ahead,
            remedy="Choose a number of teeth, or “not at all”.",
        )
    return str(start.teeth_off - int(ahead))  # off counts teeth late


def _order(places: dict[int, int]) -> tuple[int, ...]:
    """Return the lines by the places given to them, the first place first."""
    taken = Counter(places.values())
    for place in places.values():
        if taken[place] > 1 or not 1 <= place <= len(places):
            raise InputError(
                f"place {place} cannot be given to {taken[place]} of {len(places)} lines.",
                field="order",
                value=place,
                remedy=f"Give each its own place from 1 to {len(places)}.",
            )
    return tuple(sorted(places, key=places.__getitem__))


def _chosen(text: str, name: str, line: str) -> int:
    if not text:
        raise InputError(
            f"nothing is chosen on line {line} yet.",
            field=name,
            value=text,
            remedy="Choose one on each line.",
        )
    return _position(text, name)


def _position(text: str, field: str) -> int:
    # Pages send positions as they are; nobody types one.
    position = None if text != text.strip() else whole_or_none(text, most=999)
    if position is None:
        raise InputError(
            "that is none of the choices shown.",
            field=field,
            value=text,
            remedy="Choose one of those on the page.",
        )
    return position
