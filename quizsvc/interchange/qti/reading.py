"""One QTI assessment item as an item of ours, as far as it can be; and what can't is told."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter, ValidationError

from quizsvc.errors import InputError
from quizsvc.interchange.qti.kinds_in import kind_data
from quizsvc.interchange.qti.left_over import tell_left_over
from quizsvc.interchange.qti.names import (
    MARKDOWN,
    OWN,
    QTI,
    Element,
    first_of,
    tag_of,
    text_of,
)
from quizsvc.interchange.qti.prose_in import prose_of
from quizsvc.interchange.qti.prose_out import prompt_element
from quizsvc.interchange.qti.report import Fate, shortened
from quizsvc.interchange.qti.sameness import same
from quizsvc.interchange.qti.source import Source, UnmappableError
from quizsvc.interchange.qti.writing import document, item_element
from quizsvc.items.banks.keys import field_name
from quizsvc.items.banks.schema import AnyItem

Data = dict[str, Any]
_ITEM: TypeAdapter[AnyItem] = TypeAdapter(AnyItem)
_FROM_FILLING = ("topic", "level", "reference")


def read_item(source: Source, item_id: str) -> AnyItem | None:
    """Return the item, or None where it can't come over; the source's notes say why."""
    try:
        interaction = _interaction(source)
        data = kind_data(source, interaction)
        data |= _common(source, item_id) | _cautions(source) | _shown(source, interaction)
        item = _validated(data)
    except UnmappableError as reason:
        source.notes.clear()  # what was lost on the way says nothing where all is left out
        source.tell(Fate.LEFT_OUT, reason.what, reason.why, reason.remedy)
        return None
    rewritten = item_element(source.head, item, source.pictures.size_of)
    if document(rewritten) != source.content and not same(rewritten, source.root):
        tell_left_over(source, interaction, rewritten)
    return item


def _interaction(source: Source) -> Element:
    if source.root.tag != f"{{{QTI}}}qti-assessment-item":
        what = f"its file is <{tag_of(source.root)}>, no assessment item of QTI 3.0."
        raise UnmappableError(what, "other versions are written otherwise.", "Export as QTI 3.0.")
    if first_of(source.root, "qti-template-processing") is not None:
        raise UnmappableError(
            "its numbers are drawn anew for each person.",
            "hand-written items here have fixed numbers.",
            "Write some of its cases as items of their own.",
        )
    found = [one for one in source.body.iter() if tag_of(one).endswith("-interaction")]
    if len(found) != 1:
        what = f"it asks {len(found)} things." if found else "it asks nothing."
        raise UnmappableError(what, "an item here asks one thing.", "Part it into items.")
    source.single.update(found[0].iterancestors())
    return found[0]


def _common(source: Source, item_id: str) -> Data:
    data: Data = {name: source.stated(name) for name in ("topic", "level", "reference")}
    empty = [name for name in _FROM_FILLING if not data[name]]
    data |= {name: getattr(source.filling, name) for name in empty}
    if empty:
        values = ", ".join(f"{name} {data[name]!s}" for name in empty)
        why = "QTI has no place for them, or the source does not use it."
        source.tell(Fate.FILLED, f"{values}.", why, "Say what is right for this item.")
    return data | {
        "id": item_id,
        "version": source.stated("version") or 1,
        "author": source.stated("author"),
        "tags": [text_of(one) for one in source.each("tag")],
        "accepted": [
            {"check": one.get(OWN + "check", ""), "because": text_of(one)}
            for one in source.each("accepted")
        ],
        "steps": [
            {
                "text": text_of(one),
                "value": one.get(OWN + "value"),
                "unit": one.get(OWN + "unit", ""),
            }
            for one in source.each("step")
        ],
    }


def _cautions(source: Source) -> Data:
    """Return named cautions and the item's own; names are learned from items too."""
    head, named = source.head, []
    own = source.stated("caution")
    first = source.stated("caution-first")
    head.caution_first = head.caution_first or first
    if first and first != head.caution_first:
        own = f"{first} {own}".strip()
    for one in source.each("caution-named"):
        name, text = one.get(OWN + "name", ""), text_of(one)
        if head.cautions.setdefault(name, text) == text:
            named.append(name)
        else:
            own = f"{text} {own}".strip()
            what = f"the caution {name!r} says something else here; its words were kept."
            source.tell(Fate.CHANGED, what, "the package has two of that name.", "Look at both.")
    return {"cautions": named, "caution": own}


def _shown(source: Source, interaction: Element) -> Data:
    """Return the prompt and the picture."""
    markdown = _prompt(source, interaction)
    inside = [one for one in interaction.iter() if tag_of(one) in {"img", "object"}]
    beside = [one for one in source.body.iter(f"{{{QTI}}}img") if one not in set(inside)]
    found = [*inside, *beside] if tag_of(interaction) == "qti-hotspot-interaction" else beside
    data: Data = {"prompt": markdown, "picture_alt": source.stated("picture-alt")}
    if not found:
        return data
    name = _picture(source, found[0], interaction)
    for further in found[1:]:
        what = f"the further picture {shortened(further.get('src', ''))!r}."
        source.tell(Fate.LOST, what, "an item here has one picture.", "Join them into one.")
    alt = found[0].get("alt", "") or text_of(found[0])
    return data | {"picture": name, "picture_alt": alt} if name else data


def _picture(source: Source, found: Element, interaction: Element) -> str:
    source.take(found)
    reference = found.get("src") or found.get("data") or ""
    try:
        return source.pictures.take(source.file, reference)
    except InputError as error:
        what = f"the picture {shortened(reference)!r}."
        if tag_of(interaction) == "qti-hotspot-interaction":
            raise UnmappableError(what, error.problem, error.remedy or "") from error
        source.tell(Fate.LOST, what, error.problem, error.remedy or "")
        return ""


def _prompt(source: Source, interaction: Element) -> str:
    """Return our own Markdown where the prose still says the same, else the prose as Markdown."""
    for stated in source.fields.get("prompt", []):
        markdown = stated.get(MARKDOWN)
        if markdown is not None and same(prompt_element(markdown), stated):
            source.take(stated)
            return markdown
    parts = _prose_parts(source, interaction)
    prose = prose_of(parts, interaction)
    source.whole.update(one for one in parts if one is not interaction)
    for one in prose.dropped:
        what = f"<{tag_of(one)}>: its words {shortened(text_of(one), 60)!r} stay, no more."
        source.tell(Fate.CHANGED, what, "prompts here are plain prose.", "Make a picture of it.")
    if prose.plainly:
        what = f"{', '.join(sorted(prose.plainly))} became plain words."
        source.tell(Fate.CHANGED, what, "prompts keep emphasis, lists and tables.", "Look at it.")
    return prose.markdown


def _prose_parts(source: Source, interaction: Element) -> list[Element]:
    stated = source.fields.get("prompt", [])
    if stated:
        return stated[:1]
    parts: list[Element] = []
    for one in source.body:
        if tag_of(one) != "qti-rubric-block":
            parts.append(one)
        elif "candidate" in one.get("view", "") and not _ours(source, one):
            source.single.add(one)
            parts += list(one)
    prompts = [one for one in interaction if tag_of(one) == "qti-prompt"]
    source.whole.update(prompts)
    return parts


def _ours(source: Source, rubric: Element) -> bool:
    return any(rubric in one.iterancestors() for found in source.fields.values() for one in found)


def _validated(data: Data) -> AnyItem:
    try:
        return _ITEM.validate_python(data)
    except ValidationError as error:
        first, *others = error.errors(include_url=False, include_context=False)
        kind = {"one choice", "several choices", "number", "order", "match", "point on a figure"}
        place = field_name(tuple(part for part in first["loc"] if part not in kind))
        more = f" ({len(others)} more)" if others else ""
        why = f"{first['msg'].removeprefix('Value error, ').rstrip('.')}.{more}"
        value = (
            ""
            if isinstance(first["input"], dict | list)
            else f" {shortened(str(first['input']))!r}"
        )
        raise UnmappableError(f"its {place}{value}:", why, "Mend it in the source.") from error
