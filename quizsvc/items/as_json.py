"""An item as one JSON object, with exactly the names that other programs may rely on."""

from __future__ import annotations

import json
from typing import Any

from quizsvc.items.model import Item, Kind, Option, Value

CHOSEN = frozenset({Kind.ONE_CHOICE, Kind.SEVERAL_CHOICES, Kind.POINT})


def item_json(item: Item) -> dict[str, Any]:
    """Return the item as plain data.

    ``key`` holds ``value`` and ``tolerance`` and, where something is chosen, ``option``: the
    place of the right one in ``options``, from 0 (a list of places where several are chosen).
    For order and match the value is the sequence or the pairs. Figures are not drawn unless
    the item leaves its alternative text to the drawing.
    """
    return {
        "family": item.family,
        "version": item.version,
        "topic": item.topic,
        "level": str(item.level),
        "kind": str(item.kind),
        "sheet": item.sheet,
        "revision": item.revision,
        "prompt": item.prompt,
        "givens": {
            name: {"value": given.value, "unit": given.unit} for name, given in item.givens.items()
        },
        "asked": {
            "quantity": item.asked.quantity,
            "unit": item.asked.unit,
            "decimals": item.asked.decimals,
        },
        "key": _key(item),
        "options": [_option(option) for option in item.options],
        "steps": [
            {"text": step.text, "value": step.value, "unit": step.unit} for step in item.steps
        ],
        "figure_alt": figure_alt(item),
        "caution": item.caution,
    }


def item_line(item: Item) -> str:
    """Return the item as one line of JSON; a NaN in it is a fault and raises ValueError."""
    return json.dumps(item_json(item), ensure_ascii=False, allow_nan=False)


def figure_alt(item: Item) -> str:
    """Return the alternative text of the item's figure, drawing it only where need be."""
    if item.figure_alt or item.figure is None:
        return item.figure_alt or item.picture_alt
    return item.figure().alt


def _key(item: Item) -> dict[str, Any]:
    key: dict[str, Any] = {"value": _key_value(item), "tolerance": item.key.tolerance}
    if item.kind in CHOSEN:
        places = [place for place, option in enumerate(item.options) if option.correct]
        key["option"] = places[0] if item.kind is Kind.ONE_CHOICE else places
    return key


def _key_value(item: Item) -> Value | list[tuple[str, str]] | list[Value] | None:
    if item.key.value is not None:
        return item.key.value
    if item.kind is Kind.ORDER:
        return item.key.sequence
    if item.kind is Kind.MATCH:
        return list(item.key.pairs)
    right = [option.value for option in item.options if option.correct]
    return right[0] if len(right) == 1 else right


def _option(option: Option) -> dict[str, Any]:
    return {
        "text": option.text,
        "value": option.value,
        "correct": option.correct,
        "misconception": option.misconception,
    }
