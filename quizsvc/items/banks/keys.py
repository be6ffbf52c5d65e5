"""Keys that can't be marked: no right option, two of them, rules that go round in a circle.

These make an item unusable, so loading refuses them; the checks of style are in
`quizsvc.items.bank_check`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter

from quizsvc.items.banks.bank import Bank
from quizsvc.items.banks.fault import Fault
from quizsvc.items.banks.lines import Path
from quizsvc.items.banks.schema import (
    AnyItem,
    ChoiceItem,
    MatchItem,
    NumberItem,
    OrderItem,
    PointItem,
)
from quizsvc.items.misconception import all_misconceptions

Found = tuple[str, Path, str, str, str]  # check, path below the item, value, problem, remedy


def key_faults(bank: Bank) -> tuple[Fault, ...]:
    """Return what makes items of this bank unusable, in the order of the file."""
    found = [*_doubled_ids(bank)]
    for place, item in enumerate(bank.written.items):
        found += [
            item_fault(bank, place, one)
            for part in (_names, _kind_of_key)
            for one in part(bank, item)
        ]
    return tuple(sorted(found))


def item_fault(bank: Bank, place: int, found: Found) -> Fault:
    """Give a finding about the item at this place its file and line."""
    check, path, value, problem, remedy = found
    return Fault(
        file=bank.file,
        line=bank.line("items", place, *path),
        check=check,
        item=bank.written.items[place].id,
        field=field_name(path),
        problem=problem,
        remedy=remedy,
        value=value,
    )


def field_name(path: Path) -> str:
    """Return a path as a person would say it, counting from 1.

    >>> field_name(("options", 0, "text"))
    'option 1 text'
    """
    words: list[str] = []
    for part in path:
        if isinstance(part, int):
            name = words.pop() if words else ""
            words.append(f"{name.removesuffix('s')} {part + 1}".strip())
        else:
            words.append(part)
    return " ".join(words)


def same_text(text: str) -> str:
    """Return the text as a reader compares it: case, spacing and end marks do not count.

    >>> same_text("Turn  the Crank.") == same_text("turn the crank")
    True
    """
    return " ".join(text.casefold().split()).rstrip(".!?;:, ")


def _doubled_ids(bank: Bank) -> Iterator[Fault]:
    seen: dict[str, int] = {}
    for place, item in enumerate(bank.written.items):
        if item.id in seen:
            first = bank.line("items", seen[item.id])
            problem = f"the item of line {first} has the same id."
            remedy = "Give each item of a bank its own id."
            yield item_fault(bank, place, ("key-id", ("id",), item.id, problem, remedy))
        seen.setdefault(item.id, place)


def _names(bank: Bank, item: AnyItem) -> Iterator[Found]:
    for i, name in enumerate(item.cautions):
        if name not in bank.written.cautions:
            problem = "the bank's [cautions] has no such name."
            remedy = f"Use one of: {', '.join(bank.written.cautions) or 'none is written yet'}."
            yield "key-name", ("cautions", i), name, problem, remedy
    for path, name in _misconceptions(item):
        if name and name not in all_misconceptions():
            remedy = "Name one of quizsvc/items/misconceptions, or leave it out."
            yield "key-name", path, name, "there is no such misconception.", remedy


def _misconceptions(item: AnyItem) -> Iterator[tuple[Path, str]]:
    if isinstance(item, ChoiceItem):
        for i, option in enumerate(item.options):
            yield ("options", i, "misconception"), option.misconception
    if isinstance(item, NumberItem):
        for i, number in enumerate(item.expected):
            yield ("expected", i, "misconception"), number.misconception
    if isinstance(item, PointItem):
        for i, place in enumerate(item.places):
            yield ("places", i, "misconception"), place.misconception


def _kind_of_key(_bank: Bank, item: AnyItem) -> Iterator[Found]:
    match item:
        case ChoiceItem():
            yield from _choice(item)
        case NumberItem():
            yield from _number(item)
        case OrderItem():
            yield from _order(item)
        case MatchItem():
            yield from _match(item)
        case PointItem():
            yield from _point(item)


def _choice(item: ChoiceItem) -> Iterator[Found]:
    right = [i for i, option in enumerate(item.options) if option.correct]
    if not right:
        remedy = "Set correct = true on the right one."
        yield "key-none", ("options",), "", "no option is marked right.", remedy
    if item.kind == "one choice" and len(right) > 1:
        problem = f"{len(right)} options are marked right."
        remedy = 'Leave one right, or make it kind = "several choices".'
        yield "key-two", ("options", right[1], "correct"), "true", problem, remedy
    if item.kind == "several choices" and len(right) == len(item.options):
        remedy = "Add a plausible wrong option."
        yield "key-all", ("options",), "", "every option is right.", remedy
    yield from _doubles("options", "text", [option.text for option in item.options])


def _number(item: NumberItem) -> Iterator[Found]:
    answer = item.answer
    for i, wrong in enumerate(item.expected):
        if abs(wrong.value - answer.value) <= answer.tolerance:
            problem = f"this wrong number lies inside the tolerance of {answer.value:g}."
            remedy = "Take a smaller tolerance, or leave this number out."
            yield "key-two", ("expected", i, "value"), f"{wrong.value:g}", problem, remedy
    for i, j in _same([f"{wrong.value:g}" for wrong in item.expected]):
        remedy = "Keep one of them."
        yield "key-same", ("expected", j, "value"), "", f"equal to number {i + 1}.", remedy


def _order(item: OrderItem) -> Iterator[Found]:
    ids = [thing.id for thing in item.sequence]
    yield from _doubles("sequence", "text", [thing.text for thing in item.sequence])
    yield from _doubles("sequence", "id", ids)
    if not item.before:
        remedy = "Add [[items.before]] with first, later and why."
        yield "key-order", ("sequence",), "", "no rule says what comes before what.", remedy
    place = {name: i for i, name in enumerate(ids)}
    for i, rule in enumerate(item.before):
        for end, name in (("first", rule.first), ("later", rule.later)):
            if name not in place:
                remedy = f"Use one of: {', '.join(ids)}."
                yield "key-name", ("before", i, end), name, "no such thing in the list.", remedy
        if place.get(rule.first, -1) > place.get(rule.later, len(ids)):
            problem = f"the list itself has {rule.later} before {rule.first}."
            remedy = "Move one in the list, or turn the rule round."
            yield "key-order", ("before", i), rule.first, problem, remedy
    yield from _circle(item)
    ruled = {name for rule in item.before for name in (rule.first, rule.later)}
    for i, name in enumerate(ids):
        if item.before and name not in ruled:
            problem = "no rule speaks of it, so any place would be marked right."
            remedy = "Add a rule for it, or leave it out."
            yield "key-order", ("sequence", i), name, problem, remedy


def _circle(item: OrderItem) -> Iterator[Found]:
    graph: dict[str, set[str]] = {}
    for rule in item.before:
        graph.setdefault(rule.later, set()).add(rule.first)
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        circle = " → ".join(error.args[1])
        problem = "the rules go round in a circle, so that no order is right."
        yield "key-circle", ("before",), circle, problem, "Take one rule of the circle out."


def _match(item: MatchItem) -> Iterator[Found]:
    yield from _doubles("pairs", "left", [pair.left for pair in item.pairs])
    yield from _doubles("pairs", "right", [pair.right for pair in item.pairs])
    for i, j in _same([*(pair.right for pair in item.pairs), *item.others]):
        if j >= len(item.pairs):
            place = j - len(item.pairs)
            problem = f"the same as the partner of pair {i + 1}."
            remedy = "Change or remove one of them."
            yield "key-same", ("others", place), item.others[place], problem, remedy


def _point(item: PointItem) -> Iterator[Found]:
    if not any(place.correct for place in item.places):
        remedy = "Set correct = true on the right place."
        yield "key-none", ("places",), "", "no place is marked right.", remedy
    if not item.picture:
        remedy = "Name a picture of media/."
        yield "key-picture", ("picture",), "", "a place to point at needs a picture.", remedy
    for i, one in enumerate(item.places):
        for j, other in enumerate(item.places[:i]):
            apart = sum((a - b) ** 2 for a, b in zip(one.at, other.at, strict=True)) ** 0.5
            if one.correct != other.correct and apart < one.radius + other.radius:
                problem = f"it overlaps place {j + 1}, and one is right, the other wrong."
                remedy = "Make the circles smaller or move them apart."
                yield "key-two", ("places", i, "at"), one.name, problem, remedy
    yield from _doubles("places", "name", [one.name for one in item.places])


def _doubles(table: str, field: str, texts: list[str]) -> Iterator[Found]:
    for i, j in _same(texts):
        problem = f"the same as in {table.removesuffix('s')} {i + 1}."
        yield "key-same", (table, j, field), texts[j], problem, "Change or remove one of them."


def _same(texts: list[str]) -> Iterator[tuple[int, int]]:
    read = [same_text(text) for text in texts]
    for text, count in Counter(read).items():
        if count > 1:
            first, *others = [i for i, one in enumerate(read) if one == text]
            yield from ((first, other) for other in others)
