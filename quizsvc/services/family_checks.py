"""What a family is held to, tried live on one sheet over a few seeds.

The proofs over thousands of seeds and by a second way of computing are tests; here an
instructor sees that the same guarantees hold on the sheet before them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from quizsvc.items.as_json import figure_alt
from quizsvc.items.family import Family, draw_item
from quizsvc.items.model import Item, Kind
from quizsvc.scoring.marking import right_words
from quizsvc.sheets.schema import EngineSheet

TRIED = 20  # seeds


@dataclass(frozen=True, slots=True)
class Check:
    """One guarantee and how many of the items drawn keep it."""

    says: str
    kept: int
    of: int

    @property
    def holds(self) -> bool:
        return self.kept == self.of


def checks_of(family: Family, sheet: EngineSheet) -> tuple[Check, ...]:
    """Try the family's guarantees on items drawn from the sheet."""
    items = [draw_item(family, sheet, seed) for seed in range(1, TRIED + 1)]
    seen = {option.misconception for item in items for option in item.options}
    return (
        *(_check(says, keeps, items) for says, keeps in _GUARANTEES if _concerns(keeps, items)),
        Check(
            f"Misconceptions seen at work in these {TRIED} items, of those listed",
            len(seen & set(family.misconceptions)),
            len(family.misconceptions),
        ),
    )


def _check(says: str, keeps: Callable[[Item], bool | None], items: list[Item]) -> Check:
    verdicts = [verdict for item in items if (verdict := keeps(item)) is not None]
    return Check(says, sum(verdicts), len(verdicts))


def _concerns(keeps: Callable[[Item], bool | None], items: list[Item]) -> bool:
    return any(keeps(item) is not None for item in items)


def _one_right(item: Item) -> bool | None:
    if item.kind is not Kind.ONE_CHOICE:
        return None
    return sum(option.correct for option in item.options) == 1


def _no_two_alike(item: Item) -> bool | None:
    if not item.options:
        return None
    return len({option.text for option in item.options}) == len(item.options)


def _wrongs_stay_wrong(item: Item) -> bool | None:
    key = item.key.value
    if item.kind is not Kind.NUMBER or not isinstance(key, int | float):
        return None
    return all(
        abs(option.value - key) > item.key.tolerance
        for option in item.options
        if not option.correct and isinstance(option.value, int | float)
    )


def _each_wrong_has_its_idea(item: Item) -> bool | None:
    wrong = [option for option in item.options if not option.correct]
    return all(option.misconception for option in wrong) if wrong else None


def _worked(item: Item) -> bool:
    return bool(item.steps)


def _figure_keeps_the_key(item: Item) -> bool | None:
    if item.figure is None or item.kind is not Kind.NUMBER:
        return None
    return f"{right_words(item)}." not in figure_alt(item)


_GUARANTEES: tuple[tuple[str, Callable[[Item], bool | None]], ...] = (
    ("Exactly one option is right", _one_right),
    ("No two options agree as shown", _no_two_alike),
    ("No wrong number lies within the tolerance", _wrongs_stay_wrong),
    ("Every wrong answer names the idea behind it", _each_wrong_has_its_idea),
    ("The solution is worked step by step", _worked),
    ("The figure's words do not state the answer", _figure_keeps_the_key),
)
