"""A prompt's Markdown as elements of QTI, with the Markdown itself beside them."""

from __future__ import annotations

from functools import lru_cache

from lxml import html

from quizsvc.interchange.qti.names import FIELD, MARKDOWN, Element, element
from quizsvc.items.markdown import render_prompt


def prompt_element(markdown: str) -> Element:
    """Return the prompt as a division of the item's body."""
    made = element("div")
    made.set(FIELD, "prompt")
    made.set(MARKDOWN, markdown)
    fill_with_prose(made, markdown)
    return made


def fill_with_prose(made: Element, markdown: str) -> None:
    """Put rendered Markdown into an element."""
    for part in html.fragments_fromstring(_rendered(markdown)):
        if isinstance(part, str):
            made.text = (made.text or "") + part
        else:
            made.append(_in_qti(part))


@lru_cache(maxsize=8)
def _rendered(markdown: str) -> str:
    """Render once what is read, and then written again to be compared."""
    return render_prompt(markdown)


def _in_qti(part: Element) -> Element:
    made = element(str(part.tag))
    made.text, made.tail = part.text, part.tail
    made.extend(_in_qti(child) for child in part)
    return made
