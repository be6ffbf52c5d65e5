"""Marking: from an item and an answer to right or wrong, credit, and the idea behind it.

Credit is for reports. Competence and tests count an answer as right only when all of it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations
from typing import cast

from quizsvc.figures.scene import Point
from quizsvc.items.assemble import number_text
from quizsvc.items.model import Item, Kind, Option
from quizsvc.scoring.whole_answer import Answer, require_whole

__all__ = ["Answer", "Marked", "ideas_of", "mark", "right_words"]

FLOAT_SLACK = 1e-9  # so that 0.1 + 0.2 counts as 0.3
CYCLE_DEG = 720.0


@dataclass(frozen=True, slots=True)
class Marked:
    """What an answer is worth. ``misconception`` is an id, or empty when none is recognised.

    ``ideas`` are the misconceptions that a wrong answer to this item could have shown.
    """

    correct: bool
    credit: float  # 0 to 1
    misconception: str
    rationale: str
    given_words: str
    right_words: str
    ideas: tuple[str, ...] = ()


def mark(item: Item, given: Answer) -> Marked:
    """Mark an answer.

    Raises:
        InputError: the answer is empty or cannot be one to this item; names what and why.
    """
    require_whole(item, given)
    return replace(_marked(item, given), ideas=ideas_of(item))


def ideas_of(item: Item) -> tuple[str, ...]:
    """Return the misconceptions that a wrong answer to the item could show, each once."""
    return tuple(
        dict.fromkeys(
            option.misconception
            for option in item.options
            if option.misconception and not option.correct
        )
    )


def _marked(item: Item, given: Answer) -> Marked:
    match item.kind:
        case Kind.ONE_CHOICE:
            return _mark_one_choice(item, given)
        case Kind.SEVERAL_CHOICES:
            return _mark_several_choices(item, given)
        case Kind.NUMBER | Kind.BENCH:
            return _mark_number(item, given)
        case Kind.ORDER:
            return _mark_order(item, given)
        case Kind.MATCH:
            return _mark_match(item, given)
        case Kind.POINT:
            return _mark_point(item, given)


def right_words(item: Item) -> str:
    """Return the right answer in words, as shown once the answer is in."""
    match item.kind:
        case Kind.ONE_CHOICE | Kind.SEVERAL_CHOICES:
            return "; ".join(option.text for option in item.options if option.correct)
        case Kind.NUMBER | Kind.BENCH:
            return " or ".join(_number_words(item, value) for value in _right_numbers(item))
        case Kind.ORDER:
            return ", then ".join(item.key.sequence)
        case Kind.MATCH:
            return "; ".join(f"{thing}: {partner}" for thing, partner in item.key.pairs)
        case Kind.POINT:
            return " or ".join(area.name for area in item.key.areas)


def _mark_one_choice(item: Item, given: Answer) -> Marked:
    (option,) = _chosen(item, given)
    return Marked(
        option.correct,
        float(option.correct),
        option.misconception,
        option.rationale,
        option.text,
        right_words(item),
    )


def _mark_several_choices(item: Item, given: Answer) -> Marked:
    chosen = _chosen(item, given)
    wrong = [option for option in chosen if not option.correct]
    right = [option for option in item.options if option.correct]
    missed = [option for option in right if option not in chosen]
    hits = len(right) - len(missed)
    blamed = wrong or missed
    return Marked(
        correct=not blamed,
        credit=max(0.0, (hits - len(wrong)) / len(right)),
        misconception=next((o.misconception for o in wrong if o.misconception), ""),
        rationale=" ".join(o.rationale for o in blamed if o.rationale),
        given_words="; ".join(option.text for option in chosen),
        right_words=right_words(item),
    )


def _mark_number(item: Item, given: Answer) -> Marked:
    number = cast("float", given.number)  # whole, as looked at before
    off = min(_distance(item, number, value) for value in _right_numbers(item))
    correct = off <= item.key.tolerance + FLOAT_SLACK
    idea = None if correct else _predicted(item, number)
    because = next((option.rationale for option in item.options if option.correct), "")
    return Marked(
        correct,
        float(correct),
        idea.misconception if idea else "",
        idea.rationale if idea else because if correct else "",
        _number_words(item, number),
        right_words(item),
    )


def _mark_order(item: Item, given: Answer) -> Marked:
    place = {thing: number for number, thing in enumerate(given.sequence)}
    rules = item.key.before or tuple(
        (first, later, "") for first, later in combinations(item.key.sequence, 2)
    )
    broken = [rule for rule in rules if place[rule[0]] > place[rule[1]]]
    idea = _foreseen(item, given.sequence) if broken else None
    said = [idea.rationale] if idea and idea.rationale else []
    said += map(_broken_rule, broken if item.key.before else broken[:1])
    return Marked(
        correct=not broken,
        # Half of the rules are kept by chance, so half broken earns nothing.
        credit=max(0.0, 1.0 - 2.0 * len(broken) / len(rules)),
        misconception=idea.misconception if idea else "",
        rationale=" ".join(said),
        given_words=", then ".join(given.sequence),
        right_words=right_words(item),
    )


def _broken_rule(rule: tuple[str, str, str]) -> str:
    first, later, why = rule
    said = f"“{first}” comes before “{later}”"
    return f"{said}: {why}" if why else f"{said}."


def _mark_match(item: Item, given: Answer) -> Marked:
    right = dict(item.key.pairs)
    chosen = dict(given.pairs)
    wrong = [thing for thing in right if chosen[thing] != right[thing]]
    left = item.left or tuple(right)
    idea = _foreseen(item, tuple(chosen[thing] for thing in left)) if wrong else None
    return Marked(
        correct=not wrong,
        credit=1.0 - len(wrong) / len(right),
        misconception=idea.misconception if idea else "",
        rationale=idea.rationale if idea else "",
        given_words="; ".join(f"{thing}: {chosen[thing]}" for thing in left),
        right_words=right_words(item),
    )


def _foreseen(item: Item, given: tuple[str, ...]) -> Option | None:
    """Return the wrong idea that leads to exactly this order or match."""
    return next((o for o in item.options if not o.correct and o.value == given), None)


def _mark_point(item: Item, given: Answer) -> Marked:
    at = cast("Point", given.point)  # whole, as looked at before
    correct = any(math.dist(at, area.centre) <= area.radius for area in item.key.areas)
    named = next(
        (place.name for place in item.places if math.dist(at, place.centre) <= place.radius), ""
    )
    option = next((o for o in item.options if named and o.value == named), None)
    return Marked(
        correct,
        float(correct),
        misconception=option.misconception if option and not correct else "",
        rationale=option.rationale if option else "",
        given_words=named or f"a place at ({at[0]:.0f}, {at[1]:.0f})",
        right_words=right_words(item),
    )


def _chosen(item: Item, given: Answer) -> list[Option]:
    return [item.options[number] for number in sorted(set(given.choices))]


def _right_numbers(item: Item) -> tuple[float, ...]:
    value = item.key.value
    values = value if isinstance(value, tuple) else (value,)
    numbers = tuple(float(v) for v in values if isinstance(v, int | float))
    if not numbers:
        raise TypeError(f"{item.family}: a number item needs a number as its key")
    return numbers


def _distance(item: Item, given: float, right: float) -> float:
    off = abs(given - right)
    if item.kind is Kind.BENCH and item.asked.unit == "°":  # the crank comes round again
        off %= CYCLE_DEG
        return min(off, CYCLE_DEG - off)
    return off


def _predicted(item: Item, given: float) -> Option | None:
    """Return the misconception whose computed value is the one given, the closest if several."""
    within = max(item.key.tolerance, 0.5 * 10.0**-item.asked.decimals) + FLOAT_SLACK
    near = [
        (_distance(item, given, float(option.value)), number)
        for number, option in enumerate(item.options)
        if not option.correct and isinstance(option.value, int | float)
    ]
    near = [pair for pair in near if pair[0] <= within]
    return item.options[min(near)[1]] if near else None


def _number_words(item: Item, value: float) -> str:
    decimals = item.asked.decimals
    while decimals < 6 and abs(round(value, decimals) - value) > FLOAT_SLACK:
        decimals += 1  # show what was typed, not what it rounds to
    return number_text(value, decimals, item.asked.unit)
