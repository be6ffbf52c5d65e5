"""How an answer is marked, as QTI's response processing.

Where nothing but the key counts and nothing is said afterwards, the standard's own template does
(`match_correct`). Else explicit rules: a number is equal within its absolute tolerance; an order
is right if every rule of what comes before what holds, found by the place at which each thing was
put. Information model: ResponseProcessing, Equal, Index, Member.
"""

from __future__ import annotations

from collections.abc import Iterator

from quizsvc.interchange.qti.feedback import has_solution, reasons
from quizsvc.interchange.qti.interactions import right_places
from quizsvc.interchange.qti.names import (
    FEEDBACK,
    RESPONSE,
    RIGHT,
    SCORE,
    SOLUTION,
    TEMPLATES,
    Element,
    element,
    identifier_of,
)
from quizsvc.items.banks.schema import AnyItem, ChoiceItem, NumberItem, OrderItem, PointItem


def outcomes(item: AnyItem) -> Iterator[Element]:
    """Return the outcome declarations: the score, what is to be said, places in an order."""
    zero = element("qti-default-value", element("qti-value", text="0"))
    yield element(
        "qti-outcome-declaration",
        zero,
        identifier=SCORE,
        cardinality="single",
        base_type="float",
        normal_maximum="1",
    )
    if reasons(item):
        several = item.kind in {"several choices", "order"}
        yield _outcome(FEEDBACK, "multiple" if several else "single", "identifier")
    if has_solution(item):
        yield _outcome(SOLUTION, "single", "identifier")
    if isinstance(item, OrderItem):
        for name in _ruled(item):
            yield _outcome(_place(name), "single", "integer")


def response_processing(item: AnyItem) -> Element:
    """Return the rules by which the item is marked and reasons are chosen."""
    match item:
        case NumberItem():
            rules = _number(item)
        case OrderItem(before=before) if before:
            rules = _order(item)
        case PointItem() if len(right_places(item)) > 1:
            rules = [_if(_one_of(right_places(item)), _score()), *_said(item)]
        case _:
            said = _said(item)
            rules = [_if(_is_key(), _score()), *said] if said or has_solution(item) else []
    if not rules:
        return element("qti-response-processing", template=f"{TEMPLATES}match_correct.xml")
    shown = [_set(SOLUTION, _base("identifier", SOLUTION))] if has_solution(item) else []
    return element("qti-response-processing", *rules, *shown)


def _said(item: AnyItem) -> list[Element]:
    """Return the rule that names what was answered as what is to be said."""
    if isinstance(item, ChoiceItem | PointItem) and reasons(item):
        return [_set(FEEDBACK, _variable(RESPONSE))]
    return []


def _number(item: NumberItem) -> list[Element]:
    given = dict(reasons(item))
    right = [_set(FEEDBACK, _base("identifier", RIGHT))] if RIGHT in given else []
    key = element("qti-correct", identifier=RESPONSE)
    branches = [element("qti-response-if", _equal(item.answer.tolerance, key), _score(), *right)]
    near = max(item.answer.tolerance, 0.5 * 10.0**-item.answer.decimals)
    for i, wrong in enumerate(item.expected, 1):
        if f"E{i}" in given:
            same = _equal(near, _base("float", repr(wrong.value)))
            said = _set(FEEDBACK, _base("identifier", f"E{i}"))
            branches.append(element("qti-response-else-if", same, said))
    return [element("qti-response-condition", *branches)]


def _equal(tolerance: float, value: Element) -> Element:
    made = element("qti-equal", _variable(RESPONSE), value)
    made.set("tolerance-mode", "absolute" if tolerance else "exact")
    if tolerance:
        made.set("tolerance", repr(tolerance))
    return made


def _order(item: OrderItem) -> list[Element]:
    count = len(item.sequence)
    found = [_find(name, place) for name in _ruled(item) for place in range(1, count + 1)]
    kept = [
        element("qti-lt", _variable(_place(rule.first)), _variable(_place(rule.later)))
        for rule in item.before
    ]
    return [*found, _if(element("qti-and", *kept), _score()), *_broken(item)]


def _find(name: str, place: int) -> Element:
    """Return the rule that notes a thing's place if it was put there."""
    there = element("qti-index", _variable(RESPONSE), n=place)
    is_it = element("qti-match", there, _base("identifier", identifier_of(name)))
    return _if(is_it, _set(_place(name), _base("integer", str(place))))


def _broken(item: OrderItem) -> Iterator[Element]:
    given = dict(reasons(item))
    for i, rule in enumerate(item.before, 1):
        if f"R{i}" in given:
            broken = element("qti-gt", _variable(_place(rule.first)), _variable(_place(rule.later)))
            added = element("qti-multiple", _variable(FEEDBACK), _base("identifier", f"R{i}"))
            yield _if(broken, _set(FEEDBACK, added))


def _ruled(item: OrderItem) -> tuple[str, ...]:
    """Return the things that rules speak of, each once."""
    return tuple(dict.fromkeys(name for rule in item.before for name in (rule.first, rule.later)))


def _place(name: str) -> str:
    return f"PLACE_{name}"


def _is_key() -> Element:
    return element("qti-match", _variable(RESPONSE), element("qti-correct", identifier=RESPONSE))


def _one_of(identifiers: list[str]) -> Element:
    right = element("qti-multiple", *(_base("identifier", one) for one in identifiers))
    return element("qti-member", _variable(RESPONSE), right)


def _if(condition: Element, *then: Element) -> Element:
    return element("qti-response-condition", element("qti-response-if", condition, *then))


def _score() -> Element:
    return _set(SCORE, _base("float", "1"))


def _set(outcome: str, value: Element) -> Element:
    return element("qti-set-outcome-value", value, identifier=outcome)


def _variable(name: str) -> Element:
    return element("qti-variable", identifier=name)


def _base(base_type: str, value: str) -> Element:
    return element("qti-base-value", base_type=base_type, text=value)


def _outcome(identifier: str, cardinality: str, base_type: str) -> Element:
    return element(
        "qti-outcome-declaration",
        identifier=identifier,
        cardinality=cardinality,
        base_type=base_type,
    )
