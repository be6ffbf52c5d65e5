"""What a package holds: the files of its manifest, its test's order and what it says to all."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from pathlib import PurePosixPath

from quizsvc.errors import InputError
from quizsvc.interchange.qti.archive import inside
from quizsvc.interchange.qti.manifest import ITEM_TYPE, MANIFEST, TEST_TYPE
from quizsvc.interchange.qti.names import FIELD, OWN, Element, collapsed, tag_of, text_of
from quizsvc.interchange.qti.report import Fate, Note, shortened
from quizsvc.interchange.qti.source import Head
from quizsvc.interchange.qti.xml_safety import OF_A_LIST, parse_xml

_HEAD_FIELDS = {
    "bank-title": "title",
    "bank-author": "author",
    "bank-about": "about",
    "bank-caution-first": "caution_first",
}
_STRUCTURE = frozenset(
    {"qti-assessment-test", "qti-test-part", "qti-assessment-section", "qti-assessment-item-ref"}
)


@dataclass(slots=True)
class Listing:
    """The items of a package in order, what it says to all of them, and what to tell."""

    head: Head = field(default_factory=Head)
    items: list[str] = field(default_factory=list)  # paths
    identifiers: dict[str, str] = field(default_factory=dict)  # by the id an item gets here
    listed: set[str] = field(default_factory=set)  # every path the manifest names
    notes: list[Note] = field(default_factory=list)

    def tell(self, fate: Fate, what: str, why: str, remedy: str) -> None:
        self.notes.append(Note(fate, "", what, why, remedy))


def read_listing(files: dict[str, bytes]) -> Listing:
    """Return what the package holds.

    Raises:
        InputError: no manifest, an identifier twice, a path out of the package, no item.
    """
    if MANIFEST not in files:
        raise InputError(
            "the package has no manifest.",
            field="package",
            value=MANIFEST,
            remedy="Pack the files so that it lies at the top of the archive.",
        )
    root = parse_xml(files[MANIFEST], MANIFEST, OF_A_LIST)
    listing = Listing()
    resources = [one for one in root.iter() if tag_of(one) == "resource"]
    _require_single(resources)
    tests = _sorted_by_type(listing, resources)
    listing.head.id = root.get("identifier", "")
    listing.head.title = _title(root)
    for path in tests:
        _read_test(listing, files, path)
    return listing


def _require_single(resources: list[Element]) -> None:
    counted = Counter(one.get("identifier") for one in resources)
    twice = [name for name, count in counted.items() if count > 1]
    if twice:
        raise InputError(
            "two resources of the manifest have this identifier.",
            field="identifier",
            value=twice[0],
            remedy="Give each its own.",
        )


def _sorted_by_type(listing: Listing, resources: list[Element]) -> list[str]:
    """Note the items and every file named; return the tests."""
    tests: list[str] = []
    for one in resources:
        path = inside("", one.get("href", ""))
        listing.listed.update(
            inside("", part.get("href", "")) for part in one if tag_of(part) == "file"
        )
        listing.listed.add(path)
        kind = one.get("type", "")
        if kind == ITEM_TYPE:
            listing.items.append(path)
        elif kind == TEST_TYPE:
            tests.append(path)
        elif kind.startswith("imsqti"):
            what = f"the resource {shortened(one.get('identifier', ''))!r} of type {kind!r}."
            listing.tell(Fate.LEFT_OUT, what, "it is no item or test of QTI 3.0.", "Look at it.")
    return tests


def _title(manifest: Element) -> str:
    for one in manifest:
        if tag_of(one) == "metadata":
            titles = [text_of(part) for part in one.iter() if tag_of(part) == "title"]
            return titles[0] if titles else ""
    return ""


def _read_test(listing: Listing, files: dict[str, bytes], path: str) -> None:
    if path not in files:
        listing.tell(Fate.LEFT_OUT, f"the test {path!r}.", "its file is missing.", "Add it.")
        return
    root = parse_xml(files[path], path, OF_A_LIST)
    if tag_of(root) != "qti-assessment-test":
        listing.tell(Fate.LEFT_OUT, f"the test {path!r}.", "it is no test of QTI 3.0.", "Look.")
        return
    listing.head.id = root.get("identifier") or listing.head.id
    listing.head.title = root.get("title") or listing.head.title
    _head_of(listing.head, root)
    folder = str(PurePosixPath(path).parent)
    named = [
        inside(folder, one.get("href", ""))
        for one in root.iter()
        if tag_of(one) == "qti-assessment-item-ref"
    ]
    order = {one: place for place, one in enumerate(named)}
    listing.items.sort(key=lambda one: order.get(one, len(order)))
    for one in sorted(order.keys() - set(listing.items)):
        what = f"the item {shortened(one)!r} of the test."
        listing.tell(Fate.LEFT_OUT, what, "the manifest does not list it.", "List it there.")
    _structure(listing, root, path)


def _head_of(head: Head, root: Element) -> None:
    for one in root.iter():
        name = one.get(FIELD, "")
        if name in _HEAD_FIELDS:
            setattr(head, _HEAD_FIELDS[name], text_of(one))
        elif name == "bank-caution":
            head.cautions[one.get(OWN + "name", "")] = text_of(one)


def _structure(listing: Listing, root: Element, path: str) -> None:
    """Tell what a test holds beyond a row of items."""
    sections = sum(tag_of(one) == "qti-assessment-section" for one in root.iter())
    if sections > 1:
        what = f"{sections} sections of {path!r} became one row of items."
        listing.tell(Fate.CHANGED, what, "a bank has no sections.", "Use tags or tests for them.")
    _other_parts(listing, root)


def _other_parts(listing: Listing, found: Element) -> None:
    for one in found:
        if one.get(FIELD):
            continue
        ours = tag_of(one) == "qti-rubric-block" and any(part.get(FIELD) for part in one.iter())
        if tag_of(one) in _STRUCTURE or ours or tag_of(one) == "qti-content-body":
            _other_parts(listing, one)
        else:
            words = collapsed(
                text_of(one) or " ".join(f"{k!s}={v!s}" for k, v in one.attrib.items())
            )
            what = f"<{tag_of(one)}> of the test: {shortened(words, 100)!r}."
            listing.tell(Fate.LOST, what, "a bank says nothing of it.", "Set it in the test here.")
