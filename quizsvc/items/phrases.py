"""Turns of phrase that prompts share: numbers, units, rounding, what somebody claims."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quizsvc.items.choosing import Draw
from quizsvc.items.misconception import find_misconception
from quizsvc.items.model import Asked, Step
from quizsvc.items.options import Redraw, Wrong, number_text
from quizsvc.sheets.drive_words import DriveKind, words_for

_ROUNDING = ("to the nearest whole number", "to one decimal place", "to two decimal places")
_WHO = ("A workmate says", "The note on the bench says", "An apprentice works out")
_COUNTS = (
    "none",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def answer_in(unit: str, decimals: int) -> str:
    """Say in which unit to answer and how to round.

    >>> answer_in("crank degrees", 0)
    'Answer in crank degrees, to the nearest whole number.'
    """
    return f"Answer in {unit}, {_ROUNDING[decimals]}."


def plain(value: float) -> str:
    """Return a number without needless decimals, with a true minus sign.

    >>> plain(180.0), plain(-2.5)
    ('180', '−2.5')
    """
    text = f"{value:.6g}"
    return "−" + text[1:] if text[0] == "-" else text


def convention_for(kind: DriveKind) -> str:
    """Say how pins or belt teeth are counted, in the words of wherever they are.

    >>> convention_for("belt")
    'do not count the tooth at the first mark, count the tooth at the second'
    """
    pin = words_for(kind).pin
    return f"do not count the {pin} at the first mark, count the {pin} at the second"


def degrees(value: float) -> str:
    return f"{plain(value)}°"


def listed(things: Sequence[object], last: str = "and") -> str:
    """Join things as one says them.

    >>> listed((1, 3, 4))
    '1, 3 and 4'
    """
    words = [str(thing) for thing in things]
    if len(words) == 1:
        return words[0]
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def count_word(count: int) -> str:
    return _COUNTS[count] if count < len(_COUNTS) else str(count)


def counted(count: int, one: str, many: str = "") -> str:
    """Return a count with its noun.

    >>> counted(1, "tooth", "teeth"), counted(3, "pin")
    ('1 tooth', '3 pins')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


@dataclass(frozen=True, slots=True)
class Claim:
    """What somebody in the story has come to, which may be right or wrong."""

    sentence: str
    keep: str  # misconception behind it; empty when the claim is right
    step: Step


def claim(
    draw: Draw, wrong: Sequence[Wrong], value: float, asked: Asked, tolerance: float = 0.0
) -> Claim:
    """Put a right or a wrong result into somebody's mouth; one in three is right."""
    who = draw.choice(_WHO)
    if draw.chance(1 / 3):
        said = number_text(value, asked.decimals, asked.unit)
        return Claim(f"{who} {said}.", "", Step("So what was said is right."))
    apart = max(tolerance, 10.0**-asked.decimals) * 1.5
    far = [
        one
        for one in wrong
        if isinstance(one.value, int | float) and abs(one.value - value) > apart
    ]
    if not far:
        raise Redraw
    chosen = draw.choice(far)
    said = number_text(float(chosen.value), asked.decimals, asked.unit)  # type: ignore[arg-type]
    but = find_misconception(chosen.misconception).but
    return Claim(f"{who} {said}.", chosen.misconception, Step(f"{said} is wrong: {but}"))
