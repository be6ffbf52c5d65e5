"""From a bank entry to the item put to a person: options shuffled by seed, nothing else changed."""

from __future__ import annotations

from quizsvc.items.assemble import number_text
from quizsvc.items.banks.bank import Entry
from quizsvc.items.banks.schema import (
    ChoiceItem,
    MatchItem,
    NumberItem,
    OrderItem,
    PointItem,
    WrittenPlace,
    WrittenThing,
)
from quizsvc.items.choosing import Draw
from quizsvc.items.model import Area, Asked, Item, Key, Kind, Option, Step


def bank_item(entry: Entry, seed: int | str) -> Item:
    """Return the entry as an item; the same entry, version and seed give the same for ever.

    ``sheet`` is empty and ``revision`` 0: a bank item rests on no engine sheet.
    """
    written = entry.written
    draw = Draw(entry.family, entry.version, seed)
    key, asked = _key_and_asked(entry)
    return Item(
        family=entry.family,
        version=entry.version,
        topic=written.topic,
        level=written.level,
        kind=Kind(written.kind),
        sheet="",
        revision=0,
        prompt=written.prompt.strip(),
        givens={},
        asked=asked,
        key=key,
        options=draw.shuffled(_options(entry)),
        steps=_steps(entry),
        figure_alt=_one_line(written.picture_alt),
        caution=entry.caution,
        reference=written.reference,
        places=draw.shuffled(_areas(written.places)) if isinstance(written, PointItem) else (),
        things=_things(written, draw) if isinstance(written, OrderItem) else (),
        left=tuple(p.left for p in written.pairs) if isinstance(written, MatchItem) else (),
        right=_partners(written, draw) if isinstance(written, MatchItem) else (),
        picture=written.picture,
        picture_alt=_one_line(written.picture_alt),
    )


def _key_and_asked(entry: Entry) -> tuple[Key, Asked]:
    match entry.written:
        case NumberItem(answer=answer):
            asked = Asked(answer.quantity, answer.unit, answer.decimals)
            return Key(value=answer.value, tolerance=answer.tolerance), asked
        case OrderItem() as order:
            text = {thing.id: thing.text for thing in order.sequence}
            before = tuple(
                (text[rule.first], text[rule.later], _one_line(rule.why)) for rule in order.before
            )
            return Key(sequence=tuple(text.values()), before=before), Asked("order", "")
        case MatchItem(pairs=pairs):
            return Key(pairs=tuple((p.left, p.right) for p in pairs)), Asked("pairs", "")
        case PointItem(places=places):
            right = tuple(place for place in places if place.correct)
            return Key(areas=_areas(right)), Asked("place", "")
        case ChoiceItem():
            return Key(), Asked("choice", "")


def _things(item: OrderItem, draw: Draw) -> tuple[str, ...]:
    """Return the things shuffled into an order that breaks a rule: doing nothing is no answer."""
    shuffled = draw.shuffled(item.sequence)
    while _is_right(item, shuffled):
        shuffled = draw.shuffled(item.sequence)
    return tuple(thing.text for thing in shuffled)


def _is_right(item: OrderItem, order: tuple[WrittenThing, ...]) -> bool:
    place = {thing.id: number for number, thing in enumerate(order)}
    return all(place[rule.first] < place[rule.later] for rule in item.before)


def _partners(item: MatchItem, draw: Draw) -> tuple[str, ...]:
    return draw.shuffled((*(pair.right for pair in item.pairs), *item.others))


def _areas(places: tuple[WrittenPlace, ...]) -> tuple[Area, ...]:
    return tuple(Area(place.name, place.at, place.radius) for place in places)


def _options(entry: Entry) -> tuple[Option, ...]:
    match entry.written:
        case ChoiceItem(options=options):
            return tuple(
                Option(o.text, o.text, o.correct, o.misconception, _one_line(o.rationale))
                for o in options
            )
        case NumberItem() as number:
            return _number_options(number)
        case PointItem(places=places):
            return tuple(
                Option(p.name, p.name, p.correct, p.misconception, _one_line(p.rationale))
                for p in places
            )
        case OrderItem() | MatchItem():
            return ()


def _number_options(item: NumberItem) -> tuple[Option, ...]:
    answer = item.answer
    right = Option(
        _shown(item, answer.value),
        answer.value,
        correct=True,
        rationale=_one_line(answer.rationale),
    )
    return (
        right,
        *(
            Option(
                _shown(item, wrong.value),
                wrong.value,
                correct=False,
                misconception=wrong.misconception,
                rationale=_one_line(wrong.rationale),
            )
            for wrong in item.expected
        ),
    )


def _shown(item: NumberItem, value: float) -> str:
    return number_text(value, item.answer.decimals, item.answer.unit)


def _steps(entry: Entry) -> tuple[Step, ...]:
    """Return the written steps, then the reasons that the key itself carries."""
    written = entry.written
    steps = [Step(step.text, step.value, step.unit) for step in written.steps]
    match written:
        case OrderItem(before=rules):
            reasons = [rule.why for rule in rules]
        case MatchItem(pairs=pairs):
            reasons = [pair.rationale for pair in pairs]
        case _:
            reasons = []
    steps += [Step(_one_line(reason)) for reason in dict.fromkeys(reasons) if reason.strip()]
    return tuple(steps)


def _one_line(text: str) -> str:
    return " ".join(text.split())
