"""Names of QTI 3.0 and of what this program adds to it, and elements made by them.

Source: 1EdTech Question and Test Interoperability 3.0, Assessment, Section and Item Information
Model (2022) and its Best Practices and Implementation Guide. What QTI has no place for stands in
``data-quizsvc-*`` attributes of body elements, which the guide allows, or as text in a rubric
block for authors.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterator
from typing import Any

from lxml import etree

QTI = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
SCHEMA_PLACE = "https://purl.imsglobal.org/spec/qti/v3p0/schema/xsd/"
TEMPLATES = "https://purl.imsglobal.org/spec/qti/v3p0/rptemplates/"
XSI = "http://www.w3.org/2001/XMLSchema-instance"
XML_LANG = "{http://www.w3.org/XML/1998/namespace}lang"

OWN = "data-quizsvc-"
FIELD = OWN + "field"
EXACT = OWN + "exact"
MARKDOWN = OWN + "markdown"

RESPONSE, SCORE, FEEDBACK, SOLUTION = "RESPONSE", "SCORE", "FEEDBACK", "SOLUTION"
RIGHT = "RIGHT"  # the feedback beside a right number

_NAMESPACES: dict[Any, str] = {None: QTI}  # without a prefix

Element = etree._Element  # noqa: SLF001 - lxml gives its element class no public name


def element(tag: str, *children: Element, text: str = "", **attributes: object) -> Element:
    """Return an element of QTI; ``base_type=…`` writes the attribute ``base-type``."""
    made = etree.Element(f"{{{QTI}}}{tag}", nsmap=_NAMESPACES)
    for name, value in attributes.items():
        made.set(name.rstrip("_").replace("_", "-"), str(value))
    if text:
        put_text(made, text)
    made.extend(children)
    return made


def own(made: Element, **values: str) -> Element:
    """Write down what QTI has no place for; empty values are left out."""
    for name, value in values.items():
        if value:
            made.set(OWN + name.rstrip("_").replace("_", "-"), value)
    return made


def put_text(made: Element, text: str) -> None:
    """Write a text so that it comes back to the letter, however its file is indented."""
    made.text = collapsed(text)
    if made.text != text:
        made.set(EXACT, text)


def text_of(found: Element) -> str:
    """Return the element's words; with its spacing and line ends where `put_text` kept them."""
    words = collapsed("".join(map(str, found.itertext())))
    exact = found.get(EXACT)
    return exact if exact is not None and collapsed(exact) == words else words


def collapsed(text: str) -> str:
    r"""Return the text with each run of white space as one space.

    >>> collapsed("  two\n words ")
    'two words'
    """
    return " ".join(text.split())


def tag_of(found: Element) -> str:
    """Return the element's name without its namespace."""
    return str(found.tag).rpartition("}")[2]


def all_of(root: Element, tag: str) -> Iterator[Element]:
    return root.iter(f"{{{QTI}}}{tag}")


def first_of(root: Element, tag: str) -> Element | None:
    return next(all_of(root, tag), None)


def identifier_of(name: str) -> str:
    """Return a name as a QTI identifier, which can't begin with a digit.

    >>> identifier_of("belt-wet"), identifier_of("3-bolts")
    ('belt-wet', '_3-bolts')
    """
    return f"_{name}" if name[:1].isdigit() else name


def name_of(identifier: str, taken: Container[str] = ()) -> str:
    """Return an identifier as a name of ours that is not taken yet.

    >>> name_of("_3-bolts"), name_of("Item A.1"), name_of("x", {"x"}), name_of("!")
    ('3-bolts', 'item-a-1', 'x-2', 'item')
    """
    plain = re.sub(r"[^a-z0-9]+", "-", identifier.casefold()).strip("-")[:60].strip("-") or "item"
    if re.fullmatch(r"_?[a-z0-9][a-z0-9-]{0,59}", identifier):
        plain = identifier.removeprefix("_")
    name, number = plain, 2
    while name in taken:
        name, number = f"{plain[:55]}-{number}", number + 1
    return name
