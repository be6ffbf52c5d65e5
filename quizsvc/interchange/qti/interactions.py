"""The part of an item that a person answers, and the key, as QTI declares and shows them.

Section names below are those of the QTI 3.0 information model: ResponseDeclaration,
ChoiceInteraction, TextEntryInteraction, OrderInteraction, MatchInteraction, HotspotInteraction.
"""

from __future__ import annotations

from quizsvc.interchange.qti.names import (
    FIELD,
    RESPONSE,
    Element,
    element,
    identifier_of,
    own,
    put_text,
)
from quizsvc.items.banks.schema import (
    AnyItem,
    ChoiceItem,
    MatchItem,
    NumberItem,
    OrderItem,
    PointItem,
    WrittenOption,
    WrittenPlace,
)

Size = tuple[int, int]  # width and height of a picture in pixels


def declaration(item: AnyItem) -> Element:
    """Return the response declaration with the key; of several right places, the first."""
    match item:
        case ChoiceItem(kind=kind):
            right = [_choice(i) for i, one in enumerate(item.options) if one.correct]
            cardinality = "single" if kind == "one choice" else "multiple"
            return _declared(cardinality, "identifier", right)
        case NumberItem(answer=answer):
            return _declared("single", "float", [repr(answer.value)])
        case OrderItem(sequence=things):
            return _declared("ordered", "identifier", [identifier_of(one.id) for one in things])
        case MatchItem(pairs=pairs):
            return _declared(
                "multiple", "directedPair", [f"L{i} R{i}" for i, _ in enumerate(pairs, 1)]
            )
        case PointItem():
            return _declared("single", "identifier", right_places(item)[:1])


def interaction(item: AnyItem, size: Size | None) -> Element:
    """Return the interaction; ``size`` is that of the item's picture, which hotspots lie on."""
    match item:
        case ChoiceItem():
            return _choices(item)
        case NumberItem():
            return _entry(item)
        case OrderItem():
            return _order(item)
        case MatchItem():
            return _match(item)
        case PointItem():
            return _hotspots(item, size or (0, 0))


def picture_element(item: AnyItem, size: Size | None) -> Element:
    """Return the item's picture; its folder lies beside the item's file."""
    made = element("img", src=f"pictures/{item.picture}", alt=item.picture_alt)
    if size is not None:
        made.set("width", str(size[0]))
        made.set("height", str(size[1]))
    return made


def right_places(item: PointItem) -> list[str]:
    return [place_id(i) for i, place in enumerate(item.places) if place.correct]


def place_id(place: int) -> str:
    return f"P{place + 1}"


def _choice(place: int) -> str:
    return f"C{place + 1}"


def _declared(cardinality: str, base_type: str, values: list[str]) -> Element:
    key = element("qti-correct-response", *(element("qti-value", text=one) for one in values))
    return element(
        "qti-response-declaration",
        *([key] if values else []),
        identifier=RESPONSE,
        cardinality=cardinality,
        base_type=base_type,
    )


def _choices(item: ChoiceItem) -> Element:
    return element(
        "qti-choice-interaction",
        *(_simple_choice(_choice(i), one) for i, one in enumerate(item.options)),
        response_identifier=RESPONSE,
        shuffle="true",
        max_choices=1 if item.kind == "one choice" else 0,
    )


def _simple_choice(identifier: str, option: WrittenOption) -> Element:
    made = element("qti-simple-choice", identifier=identifier, text=option.text)
    return own(made, misconception=option.misconception)


def _entry(item: NumberItem) -> Element:
    answer = item.answer
    field = element("qti-text-entry-interaction", response_identifier=RESPONSE, expected_length=12)
    own(field, decimals=str(answer.decimals), quantity=answer.quantity)
    paragraph = element("p", field)
    if answer.unit:
        field.tail = " "
        unit = element("span", text=answer.unit)
        unit.set(FIELD, "unit")
        paragraph.append(unit)
    return paragraph


def _order(item: OrderItem) -> Element:
    return element(
        "qti-order-interaction",
        *(
            element("qti-simple-choice", identifier=identifier_of(one.id), text=one.text)
            for one in item.sequence
        ),
        response_identifier=RESPONSE,
        shuffle="true",
    )


def _match(item: MatchItem) -> Element:
    left = [(f"L{i}", pair.left) for i, pair in enumerate(item.pairs, 1)]
    right = [(f"R{i}", pair.right) for i, pair in enumerate(item.pairs, 1)]
    others = [(f"X{i}", other) for i, other in enumerate(item.others, 1)]
    return element(
        "qti-match-interaction",
        _match_set(left),
        _match_set([*right, *others]),
        response_identifier=RESPONSE,
        shuffle="true",
        max_associations=len(item.pairs),
    )


def _match_set(things: list[tuple[str, str]]) -> Element:
    made = element("qti-simple-match-set")
    for identifier, text in things:
        one = element("qti-simple-associable-choice", identifier=identifier, match_max=1)
        put_text(one, text)
        made.append(one)
    return made


def _hotspots(item: PointItem, size: Size) -> Element:
    return element(
        "qti-hotspot-interaction",
        picture_element(item, size),
        *(_hotspot(place_id(i), place) for i, place in enumerate(item.places)),
        response_identifier=RESPONSE,
        max_choices=1,
    )


def _hotspot(identifier: str, place: WrittenPlace) -> Element:
    """Return a circle; QTI's coordinates are whole pixels, so exact ones stand beside them."""
    exact = (*place.at, place.radius)
    made = element(
        "qti-hotspot-choice",
        identifier=identifier,
        shape="circle",
        coords=",".join(str(max(0, round(one))) for one in exact),
        hotspot_label=place.name,
    )
    if any(one != round(one) for one in exact):
        own(made, circle=" ".join(repr(one) for one in exact))
    return own(made, misconception=place.misconception)
