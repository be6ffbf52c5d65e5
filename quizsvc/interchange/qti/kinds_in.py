"""From an interaction of QTI to what our item of that kind states, or why it can't be."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

from quizsvc.interchange.qti.names import (
    OWN,
    RIGHT,
    Element,
    all_of,
    first_of,
    name_of,
    tag_of,
    text_of,
)
from quizsvc.interchange.qti.numbers_in import number_key
from quizsvc.interchange.qti.reasons_in import label_of, reason_for, solution_line
from quizsvc.interchange.qti.report import Fate, shortened
from quizsvc.interchange.qti.source import Source, UnmappableError

Data = dict[str, Any]


def kind_data(source: Source, interaction: Element) -> Data:
    """Return what the interaction states; ``kind`` is among it.

    Raises:
        UnmappableError: no kind of ours asks this.
    """
    reader = _READERS.get(tag_of(interaction))
    if reader is None:
        name = tag_of(interaction).removeprefix("qti-").removesuffix("-interaction")
        raise UnmappableError(
            f"its interaction is of the kind {name!r}.",
            "no kind of item here asks in this way.",
            "Write the question anew as a choice, a number, an order, a match or a hotspot.",
        )
    source.single.add(interaction)
    return reader(source, interaction)


def _choice(source: Source, interaction: Element) -> Data:
    declared = source.declaration(interaction)
    right = set(source.key(declared) or _mapped(source, declared))
    options = list(all_of(interaction, "qti-simple-choice"))
    _require_key(bool(right & {one.get("identifier") for one in options}))
    several = declared.get("cardinality") == "multiple"
    return {
        "kind": "several choices" if several else "one choice",
        "options": [
            {
                "text": label_of(source, one),
                "correct": one.get("identifier") in right,
                "rationale": reason_for(source, one.get("identifier", ""), one),
                "misconception": one.get(OWN + "misconception", ""),
            }
            for one in options
        ],
    }


def _mapped(source: Source, declared: Element) -> list[str]:
    """Return what a mapping gives credit for, where no key is stated."""
    found = [one for one in all_of(declared, "qti-map-entry") if _credit(one) > 0]
    if found:
        source.tell(
            Fate.CHANGED,
            "the key was taken from the mapping of answers to scores.",
            "no correct response is declared.",
            "Look at which options are marked right.",
        )
    return [str(one.get("map-key")) for one in found]


def _credit(entry: Element) -> float:
    try:
        return float(entry.get("mapped-value", "0"))
    except ValueError:
        return 0.0


def _number(source: Source, interaction: Element) -> Data:
    answer = number_key(source, source.declaration(interaction))
    unit = source.stated("unit")
    expected = [
        {
            "value": one.get(OWN + "value", ""),
            "rationale": reason_for(source, one.get(OWN + "of", "")),
            "misconception": one.get(OWN + "misconception", ""),
        }
        for one in source.each("expected")
    ]
    quantity = interaction.get(OWN + "quantity", "number")
    more = {"unit": unit, "quantity": quantity, "rationale": reason_for(source, RIGHT)}
    decimals = interaction.get(OWN + "decimals")
    if decimals is not None:
        answer["decimals"] = decimals
    return {"kind": "number", "answer": answer | more, "expected": expected}


def _order(source: Source, interaction: Element) -> Data:
    key = source.key(source.declaration(interaction))
    texts = {
        str(one.get("identifier")): label_of(source, one)
        for one in all_of(interaction, "qti-simple-choice")
    }
    _require_key(bool(key))
    if sorted(key) != sorted(texts):
        raise UnmappableError(
            "only some of its things have a place in the key.",
            "here every thing is put in order.",
            "Leave the others out, or make it a choice.",
        )
    names: dict[str, str] = {}
    for identifier in key:
        names[identifier] = name_of(identifier, set(names.values()))
    sequence = [{"id": names[one], "text": texts[one]} for one in key]
    return {"kind": "order", "sequence": sequence, "before": _rules(source, list(names.values()))}


def _rules(source: Source, names: list[str]) -> list[Data]:
    stated = [
        {
            "first": one.get(OWN + "first", ""),
            "later": one.get(OWN + "later", ""),
            "why": reason_for(source, one.get(OWN + "of", "")),
        }
        for one in source.each("before")
    ]
    if stated:
        return stated
    source.tell(
        Fate.CHANGED,
        "its one order became rules: each thing before the next.",
        "the source states one order only, not why.",
        "Take out rules that need not hold, and say why the others do.",
    )
    return [{"first": a, "later": b} for a, b in pairwise(names)]


def _match(source: Source, interaction: Element) -> Data:
    key = [pair.split() for pair in source.key(source.declaration(interaction))]
    sets = list(all_of(interaction, "qti-simple-match-set"))
    _require_key(bool(key) and len(sets) == 2 and all(len(pair) == 2 for pair in key))
    source.single.update(sets)
    left, right = (_things(source, one) for one in sets)
    partners = dict(key)
    if len(partners) < len(key) or partners.keys() != left.keys():
        raise UnmappableError(
            "some things have no partner, or several.",
            "here every thing on the left has just one partner.",
            "Leave out what has none, and part what has several.",
        )
    _require_key(set(partners.values()) <= right.keys())
    pairs = [
        {
            "left": text,
            "right": right[partners[one]],
            "rationale": solution_line(source, "pair", one),
        }
        for one, text in left.items()
    ]
    others = [text for one, text in right.items() if one not in partners.values()]
    return {"kind": "match", "pairs": pairs, "others": others}


def _things(source: Source, match_set: Element) -> dict[str, str]:
    return {
        str(one.get("identifier")): label_of(source, one)
        for one in all_of(match_set, "qti-simple-associable-choice")
    }


def _point(source: Source, interaction: Element) -> Data:
    right = _right_places(source, interaction)
    places = list(all_of(interaction, "qti-hotspot-choice"))
    _require_key(bool(right & {one.get("identifier") for one in places}))
    return {
        "kind": "point on a figure",
        "places": [
            _place(source, one) | {"correct": one.get("identifier") in right} for one in places
        ],
    }


def _right_places(source: Source, interaction: Element) -> set[str]:
    """Return the key; more right places than one stand in the rule that gives the score."""
    declared = source.declaration(interaction)
    right = set(source.key(declared) or _mapped(source, declared))
    processing = first_of(source.root, "qti-response-processing")
    member = first_of(processing, "qti-member") if processing is not None else None
    if member is not None:
        right |= {text_of(one) for one in all_of(member, "qti-base-value")}
    return right


def _place(source: Source, found: Element) -> Data:
    source.whole.add(found)
    identifier = str(found.get("identifier"))
    circle = found.get(OWN + "circle")
    x, y, radius = _circle(source, found) if circle is None else _numbers(circle.split())
    return {
        "name": found.get("hotspot-label") or identifier,
        "at": (x, y),
        "radius": radius,
        "rationale": reason_for(source, identifier, found),
        "misconception": found.get(OWN + "misconception", ""),
    }


def _circle(source: Source, found: Element) -> tuple[float, ...]:
    shape = found.get("shape", "")
    numbers = found.get("coords", "").split(",")
    if shape == "circle":
        return _numbers(numbers)
    if shape == "rect" and len(numbers) == 4:
        left, top, reach, bottom = _numbers(numbers, 4)
        source.tell(
            Fate.CHANGED,
            f"the rectangle {found.get('identifier')!r} became the circle inside it.",
            "places here are circles.",
            "Look at the circle on the picture.",
        )
        return (left + reach) / 2, (top + bottom) / 2, min(reach - left, bottom - top) / 2
    raise UnmappableError(
        f"a hotspot has the shape {shape!r}.",
        "places here are circles.",
        "Draw it as a circle in the source.",
    )


def _numbers(words: list[str], count: int = 3) -> tuple[float, ...]:
    try:
        found = tuple(float(word) for word in words)
    except ValueError:
        found = ()
    if len(found) != count:
        raise UnmappableError(
            f"the coordinates {shortened(' '.join(words))!r} can't be read.",
            "a circle needs x, y and its radius in pixels.",
            "Mend them in the source.",
        )
    return found


def _require_key(there: bool) -> None:  # noqa: FBT001 - reads as a sentence where it is called
    if not there:
        raise UnmappableError(
            "it has no key.",
            "no correct response that names its parts is declared.",
            "Declare the correct response in the source.",
        )


_READERS: dict[str, Callable[[Source, Element], Data]] = {
    "qti-choice-interaction": _choice,
    "qti-text-entry-interaction": _number,
    "qti-order-interaction": _order,
    "qti-match-interaction": _match,
    "qti-hotspot-interaction": _point,
}
