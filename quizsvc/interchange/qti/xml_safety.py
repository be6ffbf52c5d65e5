"""XML from outside, read without document types, entities, network or bottomless nesting."""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from quizsvc.errors import InputError
from quizsvc.interchange.qti.names import Element

DEEPEST = 60  # a table in a list in a prompt is at 12

_REFUSED = tuple(
    mark.encode(code)
    for mark in ("<!DOCTYPE", "<!ENTITY")
    for code in ("ascii", "utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be")
)


@dataclass(frozen=True, slots=True)
class Limits:
    """How large a document may be."""

    most_bytes: int
    most_elements: int


OF_AN_ITEM = Limits(4_000_000, 60_000)
OF_A_LIST = Limits(40_000_000, 1_500_000)  # a manifest has some 30 elements for each item


def parse_xml(content: bytes, file: str, limits: Limits = OF_AN_ITEM) -> Element:
    """Return the root of an XML document.

    Raises:
        InputError: no well-formed XML, a document type or entities, too large or too deep.
    """
    if len(content) > limits.most_bytes:
        problem = f"the file has more than {limits.most_bytes // 10**6} MB."
        raise _refusal(file, problem, "Split it.")
    if any(mark in content for mark in _REFUSED):
        raise _document_type(file)
    root = _parsed(content, file)
    tree = root.getroottree()
    if tree.docinfo.internalDTD is not None:
        raise _document_type(file)
    _measure(root, file, limits)
    return root


def _parsed(content: bytes, file: str) -> Element:
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(content, parser)
    except (etree.XMLSyntaxError, LookupError, ValueError) as error:
        if "depth" in str(error):
            raise _too_deep(file) from error
        problem = f"it is no well-formed XML: {str(error)[:160]}."
        remedy = "Export it again; a cut-off file or a wrong encoding are common causes."
        raise _refusal(file, problem, remedy) from error
    if root is None:
        raise _refusal(file, "it holds no XML.", "Export it again.")
    return root


def _measure(root: Element, file: str, limits: Limits) -> None:
    depth = count = 0
    for event, _ in etree.iterwalk(root, events=("start", "end")):
        count += event == "start"
        depth += 1 if event == "start" else -1
        if depth > DEEPEST:
            raise _too_deep(file)
        if count > limits.most_elements:
            problem = f"it has more than {limits.most_elements} elements."
            raise _refusal(file, problem, "Split it.")


def _too_deep(file: str) -> InputError:
    problem = f"it is nested deeper than {DEEPEST} elements."
    return _refusal(file, problem, "Items need a fraction of that.")


def _document_type(file: str) -> InputError:
    problem = "it declares a document type or entities, which can hide others' files or grow."
    return _refusal(file, problem, "Remove the DOCTYPE; QTI 3.0 needs none.")


def _refusal(file: str, problem: str, remedy: str) -> InputError:
    return InputError(problem, field="XML file", value=file, remedy=remedy)
