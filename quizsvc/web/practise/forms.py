"""From the fields of an item's page to what was given; numbers are the positions shown."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping

from werkzeug.datastructures import MultiDict

from quizsvc.errors import InputError
from quizsvc.items.model import Kind
from quizsvc.services.shown import Choice, Given, OpenItem

Fields = MultiDict[str, str]


def given_in(item: OpenItem, fields: Fields) -> Given:
    """Return what was put in.

    Raises:
        InputError: something cannot be read, or a thing was left out or placed twice.
    """
    return _READERS[item.kind](item, fields)


def _choices(_item: OpenItem, fields: Fields) -> Given:
    return Given(choices=tuple(_position(text, "choice") for text in fields.getlist("choice")))


def _number(_item: OpenItem, fields: Fields) -> Given:
    return Given(number=fields.get("number", ""))


def _order(item: OpenItem, fields: Fields) -> Given:
    places = {thing.number: _chosen(fields, "place", thing) for thing in item.things}
    for place, count in Counter(places.values()).items():
        if count > 1:
            raise InputError(
                f"place {place} is given to {count} things.",
                field="order",
                value=place,
                remedy=f"Give each its own place from 1 to {len(places)}.",
            )
    return Given(order=tuple(sorted(places, key=places.__getitem__)))


def _match(item: OpenItem, fields: Fields) -> Given:
    return Given(
        pairs=tuple((thing.number, _chosen(fields, "partner", thing)) for thing in item.things)
    )


def _place(_item: OpenItem, fields: Fields) -> Given:
    chosen = fields.get("place", "")
    return Given(place=_position(chosen, "place") if chosen else None)


def _chosen(fields: Fields, name: str, thing: Choice) -> int:
    text = fields.get(f"{name}-{thing.number}", "")
    if not text:
        raise InputError(
            f"nothing was chosen for “{thing.text}”.",
            field=name,
            value=text,
            remedy="Choose one for each.",
        )
    return _position(text, name)


def _position(text: str, field: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 3:
        raise InputError(
            "that is none of the choices shown.",
            field=field,
            value=text,
            remedy="Choose one of those on the page.",
        )
    return int(text)


_READERS: Mapping[Kind, Callable[[OpenItem, Fields], Given]] = {
    Kind.ONE_CHOICE: _choices,
    Kind.SEVERAL_CHOICES: _choices,
    Kind.NUMBER: _number,
    Kind.ORDER: _order,
    Kind.MATCH: _match,
    Kind.POINT: _place,
    Kind.BENCH: _number,
}
