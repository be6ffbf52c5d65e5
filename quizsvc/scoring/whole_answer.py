"""Answers in an item's own terms, and whether they are whole: without a look at what is right.

While a test goes on it is told whether an answer is whole. Nothing here may depend on the key, or
the time it takes would tell.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures.scene import Point
from quizsvc.items.model import Item, Kind


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer in the item's own terms.

    ``choices`` are indices into ``item.options``, from 0. ``number`` is in the item's unit.
    ``sequence`` and ``pairs`` use the texts of the key. ``point`` is in scene units.
    """

    choices: tuple[int, ...] = ()
    number: float | None = None
    sequence: tuple[str, ...] = ()
    pairs: tuple[tuple[str, str], ...] = ()
    point: Point | None = None


def require_whole(item: Item, given: Answer) -> None:
    """Refuse an answer that is not whole, or can't be one to this item.

    Raises:
        InputError: names what and why.
    """
    match item.kind:
        case Kind.ONE_CHOICE | Kind.SEVERAL_CHOICES:
            _require_options(item, given)
        case Kind.NUMBER | Kind.BENCH:
            _require_number(given)
        case Kind.ORDER:
            _require_each_placed(item, given)
        case Kind.MATCH:
            _require_partners(item, given)
        case Kind.POINT:
            _require_place(given)


def _require_options(item: Item, given: Answer) -> None:
    if not given.choices:
        raise InputError(
            "nothing was chosen.", field="choice", value="", remedy="Choose, then send."
        )
    if not all(0 <= number < len(item.options) for number in given.choices):
        raise InputError(
            "there is no such option.",
            field="choice",
            value=max(given.choices) + 1,
            remedy="Choose one of those shown.",
        )
    if item.kind is Kind.ONE_CHOICE and len(set(given.choices)) > 1:
        raise InputError(
            "only one can be chosen here.",
            field="choice",
            value=len(set(given.choices)),
            remedy="Choose the one that fits best.",
        )


def _require_number(given: Answer) -> None:
    if given.number is None or not math.isfinite(given.number):
        raise InputError(
            "nothing was put in.", field="answer", value="", remedy="Write a number, then send."
        )


def _require_each_placed(item: Item, given: Answer) -> None:
    if sorted(given.sequence) != sorted(item.key.sequence):
        raise InputError(
            "each thing must be placed once.",
            field="order",
            value=len(set(given.sequence)),
            remedy=f"Place all {len(item.key.sequence)}, each once.",
        )


def _require_partners(item: Item, given: Answer) -> None:
    things = sorted(thing for thing, _ in item.key.pairs)
    partners = set(item.right) or {partner for _, partner in item.key.pairs}
    if sorted(thing for thing, _ in given.pairs) != things or not all(
        partner in partners for _, partner in given.pairs
    ):
        raise InputError(
            "each thing needs one partner.",
            field="match",
            value=len(given.pairs),
            remedy=f"Give all {len(things)} a partner.",
        )


def _require_place(given: Answer) -> None:
    if given.point is None or not all(map(math.isfinite, given.point)):
        raise InputError(
            "no place was chosen.",
            field="place",
            value="",
            remedy="Choose a place on the figure.",
        )
