"""How hard items are for somebody just at the cut, so that forms can be made equally hard."""

from __future__ import annotations

import math
from collections.abc import Sequence

from quizsvc.errors import InputError
from quizsvc.scoring.competence import ItemParameters

_WIDEST = 12.0  # logits; beyond this every chance is 0 or 1 as far as anybody can tell


def chance_right(item: ItemParameters, ability: float) -> float:
    """Return the chance of a right answer, 0 to 1 (three-parameter logistic).

    >>> chance_right(ItemParameters(a=1.0, b=0.0, c=0.0), 0.0)
    0.5
    """
    return item.c + (1 - item.c) / (1 + math.exp(-item.a * (ability - item.b)))


def information(item: ItemParameters, ability: float) -> float:
    """Return the item's information at an ability.

    Source: Lord 1980, Applications of Item Response Theory; a²/4 at b without guessing.

    >>> information(ItemParameters(a=1.5, b=1.0, c=0.0), 1.0)
    0.5625
    """
    right = chance_right(item, ability)
    true_part = (right - item.c) / (1 - item.c)
    return item.a**2 * true_part**2 * (1 - right) / right


def ability_at_cut(items: Sequence[ItemParameters], share: float) -> float:
    """Return the ability whose expected share of right answers on ``items`` is ``share``.

    The cut of a panel, a share of its questions, becomes an ability by which questions that the
    panel never saw can be judged. By halving, to 1e-9 logits.

    Raises:
        InputError: no items, or a share that guessing alone reaches, or that nobody reaches.

    >>> abs(ability_at_cut([ItemParameters()], 0.5)) < 1e-6
    True
    """
    if not items:
        raise InputError("there is no question.", field="questions", value=0)

    def share_at(ability: float) -> float:
        return sum(chance_right(item, ability) for item in items) / len(items)

    low, high = -_WIDEST, _WIDEST
    if not share_at(low) < share < share_at(high):
        raise InputError(
            "a cut there says nothing: guessing alone reaches it, or nobody does.",
            field="cut",
            value=f"{share:.0%}",
            remedy="Let the judges look at their estimates again.",
        )
    while high - low > 1e-9:
        middle = (low + high) / 2
        low, high = (middle, high) if share_at(middle) < share else (low, middle)
    return (low + high) / 2
