"""An item's document while it is read: what was taken from it, and what there is to tell."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from quizsvc.interchange.qti.names import (
    FIELD,
    RESPONSE,
    Element,
    all_of,
    element,
    first_of,
    text_of,
)
from quizsvc.interchange.qti.pictures import Pictures
from quizsvc.interchange.qti.report import Fate, Filling, Note, shortened


class UnmappableError(Exception):
    """An item can't come over: what stands in the way, why, and what to do."""

    def __init__(self, what: str, why: str, remedy: str) -> None:
        super().__init__(what)
        self.what, self.why, self.remedy = what, why, remedy


@dataclass(slots=True)
class Head:
    """What a package says to all its items."""

    id: str = ""
    title: str = ""
    author: str = ""
    about: str = ""
    caution_first: str = ""
    cautions: dict[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class Source:
    """One item's document; readers take elements from it, and what is left is told."""

    file: str
    content: bytes
    root: Element
    head: Head
    filling: Filling
    pictures: Pictures
    notes: list[Note] = field(default_factory=list)
    whole: set[Element] = field(default_factory=set)  # taken with all that is in them
    single: set[Element] = field(default_factory=set)  # taken, their children looked at
    fields: dict[str, list[Element]] = field(default_factory=lambda: defaultdict(list))

    def __post_init__(self) -> None:
        for found in self.root.iter():
            name = found.get(FIELD)
            if name:
                self.fields[name].append(found)

    @property
    def identifier(self) -> str:
        return str(self.root.get("identifier") or self.file)

    @property
    def body(self) -> Element:
        found = first_of(self.root, "qti-item-body")
        return element("qti-item-body") if found is None else found

    def declaration(self, interaction: Element) -> Element:
        """Return the declaration of the response that an interaction gives."""
        wanted = interaction.get("response-identifier", RESPONSE)
        for found in all_of(self.root, "qti-response-declaration"):
            if found.get("identifier") == wanted:
                self.single.add(found)
                return found
        raise UnmappableError(
            f"the response {shortened(wanted)!r} is not declared.",
            "without its declaration there is no key.",
            "Declare it in the source.",
        )

    def key(self, declaration: Element) -> list[str]:
        """Return the values of the correct response, as far as there is one."""
        correct = first_of(declaration, "qti-correct-response")
        if correct is None:
            return []
        self.whole.add(correct)
        return [text_of(one) for one in all_of(correct, "qti-value")]

    def stated(self, name: str) -> str:
        """Return a field that stands once, "" where it does not stand."""
        found = self.fields.get(name, [])
        if not found:
            return ""
        self.take(found[0])
        return text_of(found[0])

    def each(self, name: str) -> Iterable[Element]:
        """Return the fields of this name, in the order of the file."""
        found = self.fields.get(name, [])
        for one in found:
            self.take(one)
        return found

    def take(self, found: Element) -> None:
        """Note an element as taken whole, and that what holds it was looked into."""
        self.whole.add(found)
        self.single.update(found.iterancestors())

    def tell(self, fate: Fate, what: str, why: str, remedy: str) -> None:
        self.notes.append(Note(fate, shortened(self.identifier, 80), what, why, remedy))
