"""One written item as a QTI assessment item; nothing of it is left behind."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from typing import Protocol

from lxml import etree

from quizsvc.errors import InputError
from quizsvc.interchange.qti.feedback import feedback_elements
from quizsvc.interchange.qti.interactions import (
    Size,
    declaration,
    interaction,
    picture_element,
)
from quizsvc.interchange.qti.names import (
    FIELD,
    QTI,
    SCHEMA_PLACE,
    XML_LANG,
    XSI,
    Element,
    element,
    identifier_of,
    own,
)
from quizsvc.interchange.qti.prose_out import prompt_element
from quizsvc.interchange.qti.scoring_rules import outcomes, response_processing
from quizsvc.items.banks.schema import AnyItem, NumberItem, OrderItem, PointItem
from quizsvc.items.markdown import plain_words

SizeOf = Callable[[str], Size | None]  # a picture's size by its name; None if it is not there


class Shared(Protocol):
    """What a bank says to all its items."""

    @property
    def caution_first(self) -> str: ...
    @property
    def cautions(self) -> Mapping[str, str]: ...


_UNWRITABLE = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def item_element(bank: Shared, item: AnyItem, size_of: SizeOf) -> Element:
    """Return an item as the root of its own document.

    Raises:
        InputError: a text holds a control character, which XML can't carry.
    """
    try:
        return _root(bank, item, size_of(item.picture) if item.picture else None)
    except ValueError as error:
        raise _unwritable(item) from error


def document(root: Element) -> bytes:
    """Return an element as a file."""
    etree.cleanup_namespaces(root)
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)


def schema_location(root: Element, namespace: str, file: str) -> None:
    root.set(f"{{{XSI}}}schemaLocation", f"{namespace} {SCHEMA_PLACE}{file}")


def rubric(view: str, lines: list[Element]) -> Element:
    """Return a block of text for some of those concerned (information model: RubricBlock)."""
    return element(
        "qti-rubric-block", element("qti-content-body", *lines), view=view, use="instructions"
    )


def stated(field: str, text: str, **values: str) -> Element:
    """Return one statement as a paragraph that says which field it is."""
    made = element("p", text=text)
    made.set(FIELD, field)
    return own(made, **values)


def _root(bank: Shared, item: AnyItem, size: Size | None) -> Element:
    root = element(
        "qti-assessment-item",
        declaration(item),
        *outcomes(item),
        _body(bank, item, size),
        response_processing(item),
        *feedback_elements(item),
        identifier=identifier_of(item.id),
        title=(plain_words(item.prompt) or item.id)[:120],
        adaptive="false",
        time_dependent="false",
        tool_name="quizsvc",
        tool_version="1",
    )
    root.set(XML_LANG, "en")
    schema_location(root, QTI, "imsqti_asiv3p0_v1p0.xsd")
    return root


def _body(bank: Shared, item: AnyItem, size: Size | None) -> Element:
    body = element("qti-item-body", rubric("author", list(_for_authors(item))))
    cautions = list(_cautions(bank, item))
    if cautions:
        body.append(rubric("candidate", cautions))
    body.append(prompt_element(item.prompt))
    if item.picture and not isinstance(item, PointItem):
        body.append(element("div", picture_element(item, size)))
    body.append(interaction(item, size))
    return body


def _for_authors(item: AnyItem) -> Iterator[Element]:
    yield stated("topic", item.topic)
    yield stated("level", str(item.level))
    yield stated("version", str(item.version))
    yield stated("reference", item.reference)
    if item.author:
        yield stated("author", item.author)
    if item.picture_alt and not item.picture:
        yield stated("picture-alt", item.picture_alt)
    yield from (stated("tag", tag) for tag in item.tags)
    yield from (stated("accepted", one.because, check=one.check) for one in item.accepted)
    if isinstance(item, NumberItem):
        for i, wrong in enumerate(item.expected, 1):
            words = f"E{i}: {wrong.value!r}"
            made = stated("expected", words, of=f"E{i}", value=repr(wrong.value))
            yield own(made, misconception=wrong.misconception)
    if isinstance(item, OrderItem):
        for i, rule in enumerate(item.before, 1):
            words = f"R{i}: {rule.first} before {rule.later}"
            yield stated("before", words, of=f"R{i}", first=rule.first, later=rule.later)


def _cautions(bank: Shared, item: AnyItem) -> Iterator[Element]:
    """Return what a person is warned of, opened by the bank's first sentence."""
    if not item.cautions and not item.caution.strip():
        if item.caution:
            yield stated("caution", item.caution)
        return
    if bank.caution_first:
        yield stated("caution-first", bank.caution_first)
    for name in item.cautions:
        yield stated("caution-named", bank.cautions.get(name, ""), name=name)
    if item.caution:
        yield stated("caution", item.caution)


def _unwritable(item: AnyItem) -> InputError:
    leaves = list(_texts(item.model_dump(mode="json"), ""))
    field, text = next(((f, t) for f, t in leaves if _UNWRITABLE.search(t)), ("item", item.id))
    return InputError(
        "it holds a control character, which XML can't carry.",
        field=f"{item.id} {field}",
        value=text[:80],
        remedy="Type that text anew.",
    )


def _texts(value: object, field: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, dict):
        for name, one in value.items():
            yield from _texts(one, f"{field} {name}".strip())
    elif isinstance(value, list):
        for place, one in enumerate(value, 1):
            yield from _texts(one, f"{field} {place}")
    elif isinstance(value, str):
        yield field, value
