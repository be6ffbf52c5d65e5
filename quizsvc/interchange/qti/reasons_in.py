"""Labels of choices and the reasons that belong to them, whichever way feedback is written."""

from __future__ import annotations

from quizsvc.interchange.qti.names import (
    EXACT,
    OWN,
    Element,
    all_of,
    collapsed,
    first_of,
    tag_of,
    text_of,
)
from quizsvc.interchange.qti.report import Fate, shortened
from quizsvc.interchange.qti.source import Source

_FEEDBACK = frozenset({"qti-feedback-inline", "qti-feedback-block"})


def label_of(source: Source, choice: Element) -> str:
    """Return a choice's words, without the feedback that may stand inside it."""
    source.whole.add(choice)
    words = collapsed("".join(_words(choice)))
    for child in choice.iter():
        if child is not choice and tag_of(child) not in _FEEDBACK | {"p", "span", "div"}:
            if _inside_feedback(child, choice):
                continue
            source.tell(
                Fate.LOST,
                f"<{tag_of(child)}> in the choice {shortened(words)!r}.",
                "choices are plain words here.",
                "Put it into the prompt or the picture if it matters.",
            )
    exact = choice.get(EXACT)
    return exact if exact is not None and collapsed(exact) == words else words


def reason_for(source: Source, identifier: str, choice: Element | None = None) -> str:
    """Return the feedback shown for an answer, "" if there is none."""
    inline = [] if choice is None else [one for one in choice if tag_of(one) in _FEEDBACK]
    if inline:
        return " ".join(text_of(one) for one in inline).lstrip("—–- ")
    for modal in all_of(source.root, "qti-modal-feedback"):
        if modal.get("identifier") == identifier and modal.get("show-hide", "show") == "show":
            source.whole.add(modal)
            return _only_text(modal)
    return ""


def solution_line(source: Source, field: str, of: str) -> str:
    """Return the line of the solution that speaks of one thing."""
    for line in source.fields.get(field, []):
        if line.get(OWN + "of") == of:
            source.take(line)
            return text_of(line)
    return ""


def _words(found: Element) -> list[str]:
    parts = [found.text or ""]
    for child in found:
        if tag_of(child) not in _FEEDBACK:
            parts += _words(child)
        if tag_of(child) in {"p", "div"}:
            parts.append(" ")
        parts.append(child.tail or "")
    return parts


def _inside_feedback(child: Element, choice: Element) -> bool:
    above = child.getparent()
    while above is not None and above is not choice:
        if tag_of(above) in _FEEDBACK:
            return True
        above = above.getparent()
    return False


def _only_text(modal: Element) -> str:
    paragraph = first_of(modal, "p")
    whole = text_of(modal)
    if paragraph is not None and collapsed(text_of(paragraph)) == collapsed(whole):
        return text_of(paragraph)
    return whole
