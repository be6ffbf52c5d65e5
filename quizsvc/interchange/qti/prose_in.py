"""Prose of a foreign item as the Markdown that our prompts are written in."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from quizsvc.interchange.qti.names import Element, collapsed, tag_of

_BLOCKS = frozenset({"p", "div", "section", "article", "header", "footer", "qti-content-body"})
_TITLES = frozenset({"h1", "h2", "h3", "h4", "h5", "h6"})
_MARKS = {"em": "*", "i": "*", "strong": "**", "b": "**", "code": "`"}
_PLAIN = frozenset({"span", "qti-prompt", "a", "u", "small", "sub", "sup", "abbr", "q", "cite"})
_SPECIAL = re.compile(r"([\\`*_\[\]<>|&#])")
_LINE_START = re.compile(r"^(\s*)([-+=]|\d+[.)])(?=\s)")
GAP = "…"  # where a person types; our number field stands below the prompt


@dataclass(slots=True)
class Prose:
    """Markdown, and what of the prose could not be said in it."""

    markdown: str = ""
    plainly: set[str] = field(default_factory=set)  # kept as words, without what the element says
    dropped: list[Element] = field(default_factory=list)


def prose_of(found: list[Element], answered: Element | None = None) -> Prose:
    """Return elements as Markdown; ``answered`` is the interaction among or inside them."""
    prose = Prose()
    blocks = [text for one in found for text in _blocks(one, prose, answered)]
    prose.markdown = "\n\n".join(block for block in blocks if block.strip())
    return prose


def _blocks(found: Element, prose: Prose, answered: Element | None) -> list[str]:
    tag = tag_of(found)
    if found is answered:
        return [GAP] if tag == "qti-text-entry-interaction" else _of_prompt(found, prose)
    if tag in _BLOCKS or tag == "qti-prompt":
        return _mixed(found, prose, answered)
    if tag in _TITLES:
        prose.plainly.add(tag)
        return [f"**{_inline(found, prose, answered)}**"]
    if tag in {"ul", "ol"}:
        return [_list(found, prose, answered)]
    if tag == "table":
        return [_table(found, prose, answered)]
    return [_one_inline(found, prose, answered)]


def _of_prompt(interaction: Element, prose: Prose) -> list[str]:
    return [
        text
        for one in interaction
        if tag_of(one) == "qti-prompt"
        for text in _mixed(one, prose, None)
    ]


def _mixed(found: Element, prose: Prose, answered: Element | None) -> list[str]:
    """Return the blocks of an element that may hold both running words and blocks."""
    blocks, running = [], [_escaped(found.text)]
    for child in found:
        if _is_block(child, answered):
            blocks += [_paragraph(running), *_blocks(child, prose, answered)]
            running = []
        else:
            running.append(_one_inline(child, prose, answered))
        running.append(_escaped(child.tail))
    return [*blocks, _paragraph(running)]


def _is_block(child: Element, answered: Element | None) -> bool:
    tag = tag_of(child)
    holds = answered is not None and tag != "qti-text-entry-interaction" and child is answered
    return holds or tag in _BLOCKS | _TITLES | {"ul", "ol", "table"}


def _paragraph(running: list[str]) -> str:
    lines = "".join(running).split("\\\n")
    return "\\\n".join(_LINE_START.sub(r"\1\\\2", collapsed(line)) for line in lines).strip()


def _inline(found: Element, prose: Prose, answered: Element | None) -> str:
    parts = [_escaped(found.text)]
    for child in found:
        parts += [_one_inline(child, prose, answered), _escaped(child.tail)]
    return "".join(parts)


def _one_inline(found: Element, prose: Prose, answered: Element | None) -> str:
    tag = tag_of(found)
    if found is answered:
        return GAP
    if tag == "br":
        return "\\\n"
    if tag == "img":
        return ""  # pictures are looked for in the whole body
    if tag in _MARKS:
        return _marked(_MARKS[tag], found, prose, answered)
    words = _inline(found, prose, answered)
    if tag not in _PLAIN | _BLOCKS | {"li", "td", "th"}:
        prose.dropped.append(found)
    elif tag in _PLAIN - {"span", "qti-prompt"}:
        prose.plainly.add(tag)
    return words


def _marked(mark: str, found: Element, prose: Prose, answered: Element | None) -> str:
    if mark == "`" and len(found) == 0 and "`" not in (found.text or ""):
        return f"`{collapsed(found.text or '')}`"
    words = collapsed(_inline(found, prose, answered))
    return f"{mark}{words}{mark}" if words else ""


def _list(found: Element, prose: Prose, answered: Element | None) -> str:
    numbered = tag_of(found) == "ol"
    lines = [_inline_of_item(one, prose, answered) for one in found]
    return "\n".join(
        f"{place}. {line}" if numbered else f"- {line}" for place, line in enumerate(lines, 1)
    )


def _inline_of_item(found: Element, prose: Prose, answered: Element | None) -> str:
    return _LINE_START.sub(r"\1\\\2", collapsed(_inline(found, prose, answered)))


def _table(found: Element, prose: Prose, answered: Element | None) -> str:
    rows = [
        [collapsed(_inline(cell, prose, answered)) for cell in row if tag_of(cell) in {"td", "th"}]
        for row in found.iter()
        if tag_of(row) == "tr"
    ]
    if not rows:
        return ""
    width = max(len(row) for row in rows)
    lines = ["| " + " | ".join(row + [""] * (width - len(row))) + " |" for row in rows]
    return "\n".join([lines[0], "|" + "---|" * width, *lines[1:]])


def _escaped(text: str | None) -> str:
    return _SPECIAL.sub(r"\\\1", re.sub(r"\s+", " ", text or ""))
