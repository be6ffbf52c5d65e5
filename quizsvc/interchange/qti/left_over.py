"""What stands in an item's document and was not taken, told so that nothing is lost in silence."""

from __future__ import annotations

from quizsvc.interchange.qti.names import (
    FEEDBACK,
    MARKDOWN,
    OWN,
    SCORE,
    XML_LANG,
    XSI,
    Element,
    all_of,
    collapsed,
    first_of,
    tag_of,
    text_of,
)
from quizsvc.interchange.qti.report import Fate, shortened
from quizsvc.interchange.qti.sameness import same
from quizsvc.interchange.qti.source import Source

_KNOWN = frozenset(
    {"identifier", "title", "cardinality", "base-type", "response-identifier", "view", "use"}
    | {"max-choices", "src", "alt", "width", "height", "shape", "coords", "hotspot-label"}
    | {"outcome-identifier", "show-hide", "time-dependent", "tool-name", "tool-version", "type"}
    | {"expected-length", "match-max", "max-associations", "normal-maximum", "data"}
    | {XML_LANG, f"{{{XSI}}}schemaLocation"}
)
_SILENT = {"adaptive": "false", "shuffle": "true", "fixed": "false", "match-min": "0"}
_NO_MARKUP = "an item here has no place for it."


def tell_left_over(source: Source, interaction: Element, rewritten: Element) -> None:
    """Tell what of the item is not in ``rewritten``, which is what we would write of it."""
    _rules(source, rewritten)
    source.single.update({source.root, source.body})
    _walk(source, source.root)
    if any(one in source.whole for one in interaction.iterancestors()):
        _walk(source, interaction)
    _attributes(source)


def _rules(source: Source, rewritten: Element) -> None:
    """Say where marking in the source is more than the key."""
    found = first_of(source.root, "qti-response-processing")
    ours = first_of(rewritten, "qti-response-processing")
    for outcome in all_of(source.root, "qti-outcome-declaration"):
        if outcome.get("identifier") in {SCORE, FEEDBACK} or _written(outcome, rewritten):
            source.whole.add(outcome)
    for mapping in all_of(source.root, "qti-mapping"):
        source.whole.add(mapping)
        what = f"scores for single answers: {shortened(_mapping(mapping))}."
        source.tell(Fate.LOST, what, "an item here is right or wrong.", "Part it if it matters.")
    if found is None:
        return
    source.whole.add(found)
    template = (found.get("template") or "").rpartition("/")[2].removesuffix(".xml")
    if (ours is not None and same(found, ours)) or template in {"match_correct", "map_response"}:
        return
    tags = sorted({tag_of(one).removeprefix("qti-") for one in found.iter() if one is not found})
    what = f"its own rules of marking ({shortened(template or ', '.join(tags))})."
    source.tell(Fate.CHANGED, what, "items here are marked by their key.", "Look at the key.")


def _written(outcome: Element, rewritten: Element) -> bool:
    return any(same(outcome, one) for one in all_of(rewritten, "qti-outcome-declaration"))


def _mapping(mapping: Element) -> str:
    entries = all_of(mapping, "qti-map-entry")
    return ", ".join(f"{one.get('map-key')} {one.get('mapped-value')}" for one in entries)


def _walk(source: Source, found: Element) -> None:
    if found in source.whole and not tag_of(found).endswith("-interaction"):
        return
    if found not in source.single and tag_of(found) != "qti-content-body":
        words = shortened(text_of(found) or found.get("identifier") or "", 100)
        source.tell(Fate.LOST, f"<{tag_of(found)}> {words!r}.", _NO_MARKUP, "Write it elsewhere.")
        return
    beside = collapsed(" ".join([found.text or "", *(child.tail or "" for child in found)]))
    if beside:
        source.tell(Fate.LOST, f"the words {shortened(beside)!r}.", _NO_MARKUP, "Write them anew.")
    for child in found:
        _walk(source, child)


def _attributes(source: Source) -> None:
    odd = dict.fromkeys(
        f"{str(name).rpartition('}')[2]}={shortened(str(value), 30)!r}"
        for one in source.root.iter()
        if tag_of(one) not in {"qti-outcome-declaration", "qti-map-entry"} and not _rule(one)
        for name, value in one.attrib.items()
        if name not in _KNOWN and name != MARKDOWN and not str(name).startswith(OWN)
        if _SILENT.get(str(name)) != value
    )
    if odd:
        what = f"attributes: {shortened(', '.join(odd), 300)}."
        source.tell(Fate.LOST, what, "they have no meaning here.", "Look at the item as shown.")


def _rule(found: Element) -> bool:
    """Return whether an element belongs to rules of marking, which are told as a whole."""
    tag = "qti-response-processing"
    return tag_of(found) == tag or any(tag_of(one) == tag for one in found.iterancestors())
