"""XML from outside, read without document types, entities, network or bottomless nesting."""

from __future__ import annotations

from lxml import etree

from quizsvc.errors import InputError
from quizsvc.interchange.qti.names import Element

MOST_BYTES = 4_000_000
MOST_ELEMENTS = 60_000
DEEPEST = 60  # a table in a list in a prompt is at 12

_REFUSED = tuple(
    mark.encode(code)
    for mark in ("<!DOCTYPE", "<!ENTITY")
    for code in ("ascii", "utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be")
)


def parse_xml(content: bytes, file: str) -> Element:
    """Return the root of an XML document.

    Raises:
        InputError: no well-formed XML, a document type or entities, too large or too deep.
    """
    if len(content) > MOST_BYTES:
        raise _refusal(file, f"the file has more than {MOST_BYTES // 1_000_000} MB.", "Split it.")
    if any(mark in content for mark in _REFUSED):
        raise _document_type(file)
    root = _parsed(content, file)
    tree = root.getroottree()
    if tree.docinfo.internalDTD is not None:
        raise _document_type(file)
    _measure(root, file)
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


def _measure(root: Element, file: str) -> None:
    depth = count = 0
    for event, _ in etree.iterwalk(root, events=("start", "end")):
        count += event == "start"
        depth += 1 if event == "start" else -1
        if depth > DEEPEST:
            raise _too_deep(file)
        if count > MOST_ELEMENTS:
            raise _refusal(file, f"it has more than {MOST_ELEMENTS} elements.", "Split it.")


def _too_deep(file: str) -> InputError:
    problem = f"it is nested deeper than {DEEPEST} elements."
    return _refusal(file, problem, "Items need a fraction of that.")


def _document_type(file: str) -> InputError:
    problem = "it declares a document type or entities, which can hide others' files or grow."
    return _refusal(file, problem, "Remove the DOCTYPE; QTI 3.0 needs none.")


def _refusal(file: str, problem: str, remedy: str) -> InputError:
    return InputError(problem, field="XML file", value=file, remedy=remedy)
