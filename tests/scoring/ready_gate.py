"""People who stand still at a known level, looked at by the practice gate after every answer."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from quizsvc.scoring.competence import (
    DEFAULTS,
    FilterSettings,
    ItemParameters,
    after_answer,
    chance_right,
    newcomer,
)
from quizsvc.scoring.standing import level_at, of_level

ANSWERS = 40
LOOKS = (10, 20, 40)


@dataclass(frozen=True)
class Operating:
    """Shares of people the gate lets through: after so many answers, and ever within 40."""

    after: dict[int, float]
    ever: float


def operate(
    true_chance: float, people: int, seed: int, settings: FilterSettings = DEFAULTS
) -> Operating:
    random = Random(seed)
    level = level_at(true_chance)
    through, ever = dict.fromkeys(LOOKS, 0), 0
    for _ in range(people):
        ready = _walk(level, random, settings)
        ever += any(ready)
        for look in LOOKS:
            through[look] += ready[look - 1]
    return Operating({look: count / people for look, count in through.items()}, ever / people)


def _walk(level: float, random: Random, settings: FilterSettings) -> list[bool]:
    belief, ready = newcomer(settings), []
    for n in range(1, ANSWERS + 1):
        item = ItemParameters(b=random.gauss(0.0, 1.0), c=0.25)
        correct = random.random() < chance_right(level, item)
        belief = after_answer(belief, item, correct=correct, settings=settings)
        ready.append(of_level(belief.total, answers=n, days_idle=0.0).ready)
    return ready


if __name__ == "__main__":
    for chance in (0.5, 0.6, 0.65, 0.7, 0.75, 0.8, 0.9):
        one = operate(chance, 4000, seed=1)
        after = "  ".join(f"{one.after[look]:.0%}".rjust(5) for look in LOOKS)
        print(f"{chance:.0%}  {after}  {one.ever:.0%}")  # noqa: T201 - the table in the docstring
