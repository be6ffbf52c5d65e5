"""Whether two elements say the same, however their files are indented."""

from __future__ import annotations

from quizsvc.interchange.qti.names import EXACT, XML_LANG, XSI, Element, collapsed

_SAYS_NOTHING = {f"{{{XSI}}}schemaLocation", XML_LANG, "title", "tool-version", EXACT}


def same(one: Element, other: Element) -> bool:
    """Compare names, attributes, words and children; spacing between words does not count."""
    return (
        one.tag == other.tag
        and len(one) == len(other)
        and collapsed(one.text or "") == collapsed(other.text or "")
        and _attributes(one) == _attributes(other)
        and all(
            same(a, b) and collapsed(a.tail or "") == collapsed(b.tail or "")
            for a, b in zip(one, other, strict=True)
        )
    )


def _attributes(one: Element) -> dict[str, str]:
    return {
        str(name): str(value) for name, value in one.attrib.items() if name not in _SAYS_NOTHING
    }
