"""How an item is put to a person, and what a person's answer means in the item's own terms."""

from __future__ import annotations

import json
from collections.abc import Sequence

from quizsvc.errors import InputError
from quizsvc.items.as_json import figure_alt
from quizsvc.items.choosing import Draw
from quizsvc.items.model import Item, Kind, Option
from quizsvc.items.topics import find_topic
from quizsvc.scoring.marking import Answer
from quizsvc.scoring.numbers import parse_number
from quizsvc.services.shown import Choice, Given, OpenItem, Place
from quizsvc.store.offers import StoredOffer


def open_item(offer: StoredOffer, item: Item, *, sheet_title: str, answered: bool) -> OpenItem:
    """Return the item as put to the person: no key, seed, misconception or prediction."""
    return put_item(
        item,
        token=offer.token,
        seed=offer.seed,
        why=offer.why,
        sheet_title=sheet_title,
        answered=answered,
    )


def put_item(
    item: Item, *, token: str, seed: int, why: str = "", sheet_title: str = "", answered: bool
) -> OpenItem:
    """Return an item as put to somebody; without an offer, for its author to look at."""
    return OpenItem(
        token=token,
        kind=item.kind,
        level=item.level,
        prompt=item.prompt,
        options=_numbered([option.text for option in _choices(item)]),
        things=_numbered(things_of(item, seed)),
        partners=_numbered(partners_of(item, seed)),
        places=tuple(
            Place(number, place.name, *place.centre, place.radius)
            for number, place in enumerate(item.places, 1)
        ),
        unit=item.asked.unit if item.kind in _TYPED else "",
        decimals=item.asked.decimals if item.kind in _TYPED else 0,
        caution=item.caution,
        topic_id=item.topic,
        topic_title=find_topic(item.topic).title,
        sheet_id=item.sheet,
        sheet_title=sheet_title,
        has_figure=item.figure is not None,
        figure_alt=figure_alt(item) if item.figure is not None else "",
        picture=item.picture,
        picture_alt=item.picture_alt,
        why=why,
        answered=answered,
        bench=item.bench,
    )


def answer_of(item: Item, seed: int, given: Given) -> Answer:
    """Return what was given in the item's own terms.

    Raises:
        InputError: a number that was not shown, or text that is no number.
    """
    match item.kind:
        case Kind.ONE_CHOICE | Kind.SEVERAL_CHOICES:
            indices = [_index(number, item.options, "choice") for number in given.choices]
            return Answer(choices=tuple(sorted(set(indices))))
        case Kind.NUMBER | Kind.BENCH:
            return Answer(number=parse_number(given.number, unit=item.asked.unit))
        case Kind.ORDER:
            things = things_of(item, seed)
            return Answer(sequence=tuple(things[_index(n, things, "order")] for n in given.order))
        case Kind.MATCH:
            return Answer(pairs=_pairs(item, seed, given))
        case Kind.POINT:
            if given.place is not None:
                return Answer(point=item.places[_index(given.place, item.places, "place")].centre)
            return Answer(point=given.point)


def answer_text(answer: Answer) -> str:
    """Return an answer as the JSON that is stored: only what was given."""
    fields = {
        "choices": answer.choices,
        "number": answer.number,
        "sequence": answer.sequence,
        "pairs": answer.pairs,
        "point": answer.point,
    }
    return json.dumps(
        {name: value for name, value in fields.items() if value not in ((), None)},
        ensure_ascii=False,
    )


def stored_answer(text: str) -> Answer:
    """Return the answer that was stored as this JSON."""
    data = json.loads(text)
    return Answer(
        choices=tuple(data.get("choices", ())),
        number=data.get("number"),
        sequence=tuple(data.get("sequence", ())),
        pairs=tuple((thing, partner) for thing, partner in data.get("pairs", ())),
        point=tuple(data["point"]) if "point" in data else None,
    )


def things_of(item: Item, seed: int) -> tuple[str, ...]:
    """Return what is put in order or given partners, in the order shown."""
    if item.kind is Kind.MATCH:
        return item.left or tuple(thing for thing, _ in item.key.pairs)
    return item.things or _shuffled_apart(item.key.sequence, seed)


def partners_of(item: Item, seed: int) -> tuple[str, ...]:
    if item.kind is not Kind.MATCH:
        return ()
    return item.right or Draw("partners", seed).shuffled([p for _, p in item.key.pairs])


def _shuffled_apart(sequence: tuple[str, ...], seed: int) -> tuple[str, ...]:
    """Shuffle, never into the right order by chance."""
    draw = Draw("things", seed)
    shuffled = draw.shuffled(sequence)
    while shuffled == sequence and len(set(sequence)) > 1:
        shuffled = draw.shuffled(sequence)
    return shuffled


def _choices(item: Item) -> tuple[Option, ...]:
    return item.options if item.kind in {Kind.ONE_CHOICE, Kind.SEVERAL_CHOICES} else ()


def _pairs(item: Item, seed: int, given: Given) -> tuple[tuple[str, str], ...]:
    things, partners = things_of(item, seed), partners_of(item, seed)
    return tuple(
        (things[_index(thing, things, "match")], partners[_index(partner, partners, "match")])
        for thing, partner in given.pairs
    )


def _numbered(texts: Sequence[str]) -> tuple[Choice, ...]:
    return tuple(Choice(number, text) for number, text in enumerate(texts, 1))


def _index(number: int, things: Sequence[object], field: str) -> int:
    if not 1 <= number <= len(things):
        raise InputError(
            "that is none of the choices shown.",
            field=field,
            value=number,
            remedy="Choose one of those on the page.",
        )
    return number - 1


_TYPED = {Kind.NUMBER, Kind.BENCH}
