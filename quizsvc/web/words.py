"""How numbers, times and sentences are written on a page."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime
from functools import lru_cache

from markupsafe import Markup, escape

from quizsvc.items.markdown import plain_words, render_prompt
from quizsvc.items.model import Step
from quizsvc.items.topics import find_topic
from quizsvc.services.shown import HistoryEntry, Outcome

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
UNITS_WITHOUT_GAP = {"", "°", "%"}
UNIT_ENDINGS = {
    "kg_m": "kg/m",
    "lbf_ft": "lbf·ft",
    "m_s": "m/s",
    "mm": "mm",
    "cc": "cc",
    "deg": "°",
    "nm": "N·m",
    "n": "N",
    "hz": "Hz",
    "rpm": "rpm",
    "ms": "ms",
    "percent": "%",
    "m": "m",
}
MINUS = "\N{MINUS SIGN}"
_NUMBER = re.compile(rf"[-{MINUS}]?\d+(?:\.(\d+))?")
_SENTENCE_END = re.compile(r"(?<=[.?!]) (?=[A-Z“])")
_TO_DO = re.compile(r"(Put|Match|Point|Find|Name|Choose|Turn|Say)\b|On the bench, ")
_FIRING_ORDER = re.compile(r"\d+(?:-\d+){2,}")


def letter(number: int) -> str:
    """Return the letter of a position counted from 1."""
    return LETTERS[number - 1]


def percent(share: float) -> str:
    return f"{round(100 * share)}\N{NO-BREAK SPACE}%"


def moment(when: datetime) -> str:
    return f"{when.day} {when:%B %Y}, {when:%H:%M} UTC"


def sentence(words: str) -> str:
    """Return the words with a capital to begin with; errors are worded to follow a colon."""
    return words[:1].upper() + words[1:]


@lru_cache(maxsize=2000)
def prompt(text: str) -> Markup:
    """Return a prompt, written in a small subset of Markdown, as HTML, its question marked."""
    return _unbroken(_question_marked(render_prompt(text)))


def unbroken(words: str) -> Markup:
    """Return the words as HTML in which no line ends within a firing order."""
    return _unbroken(str(escape(words)))


def plain(text: str) -> str:
    """Return a prompt without markup, on one line."""
    return plain_words(text)


def _question_marked(safe: str) -> str:
    """Mark what is asked, so that it stands out from the situation told before it.

    The last paragraph from its last question on, or from the sentence that says what to do.
    """
    before, opening, last = safe.rstrip().rpartition("<p>")
    if not opening or not last.endswith("</p>"):
        return safe
    sentences = _SENTENCE_END.split(last.removesuffix("</p>"))
    asks = [n for n, one in enumerate(sentences) if "?" in one or _TO_DO.match(one)]
    if not asks:
        return safe
    start = asks[-1]
    told, asked = " ".join(sentences[:start]), " ".join(sentences[start:])
    return f'{before}<p>{told} <span class="asked">{asked}</span></p>'


def _unbroken(safe: str) -> Markup:
    return Markup(_FIRING_ORDER.sub(r'<span class="unbroken">\g<0></span>', safe))  # noqa: S704


def reasons(words: str) -> list[str]:
    """Return the rules an order broke one by one; each begins with a quoted thing."""
    return re.split(r"(?<=[.!?]) (?=“)", words) if words else []


def parts(words: str) -> list[str]:
    """Return an answer of several parts as its parts: "a, then b" and "a: b; c: d"."""
    return re.split(r", then |; ", words)


def verdict_word(answer: Outcome | HistoryEntry) -> str:
    """Return what an answer counts as, in a word or two."""
    if answer.first is not None and not answer.first.counts:
        return "Not counted"
    return "Right" if answer.correct else "Not right"


def step_value(step: Step) -> str:
    """Return the number of a worked step with its unit, or nothing if its text states it."""
    if step.value is None or _states(step.text, step.value):
        return ""
    gap = "" if step.unit in UNITS_WITHOUT_GAP else "\N{NO-BREAK SPACE}"
    return f"{_plain(step.value)}{gap}{step.unit}"


def _states(text: str, value: object) -> bool:
    """Return whether the text gives the value, to the decimals it gives it with."""
    if isinstance(value, tuple):
        return "-".join(map(str, value)) in text
    if isinstance(value, str):
        return value in text
    for found in _NUMBER.finditer(text):
        # Which way it points the text says in words: "one pin too few", "20° late".
        number = abs(float(found[0].replace(MINUS, "-")))
        if abs(number - abs(float(str(value)))) <= 0.5000001 * 10.0 ** -len(found[1] or ""):
            return True
    return False


def _plain(value: object) -> str:
    """Return a value as people write it: about four figures, a true minus, no stray zeros."""
    if isinstance(value, tuple):
        return ", ".join(_plain(part) for part in value)
    if isinstance(value, float):
        whole = len(str(int(abs(value))))
        return f"{round(value, max(0, 4 - whole)):.12g}".replace("-", MINUS)
    return str(value).replace("-", MINUS) if isinstance(value, int) else str(value)


def choices(things: Iterable[object], value: str = "", words: str = "") -> list[tuple[object, ...]]:
    """Return things to choose from as (value, words) pairs: themselves, or two attributes."""
    if not value:
        return [(thing, thing) for thing in things]
    return [(getattr(thing, value), getattr(thing, words)) for thing in things]


def topic_title(topic_id: str) -> str:
    """Return the title of a topic by its id."""
    return find_topic(topic_id).title


def quantity(name: str) -> str:
    """Return the name of a quantity in words, its unit in brackets: ``drop_mm`` as "drop (mm)".

    Names that are already words stay as they are.
    """
    if " " in name:
        return name.replace("_", " ")
    for ending, unit in UNIT_ENDINGS.items():
        if name.endswith(f"_{ending}"):
            return f"{name.removesuffix(f'_{ending}').replace('_', ' ')} ({unit})"
    return name.replace("_", " ")


def figures(value: float) -> str:
    """Return a computed value with about four figures."""
    return _plain(float(value))


def slug(name: str) -> str:
    """Return the id of the element for a place of a sheet.

    >>> slug("drives[1].wheels[3].teeth")
    'drives-1-wheels-3-teeth'
    """
    return re.sub(r"[^a-z0-9_]+", "-", name).strip("-")
