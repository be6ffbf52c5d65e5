"""A learner who exists only as numbers: true levels, wrong ideas held, and days of practice."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from random import Random

from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Item, Kind, Option
from quizsvc.items.topics import TOPICS
from quizsvc.scoring.competence import chance_right
from quizsvc.scoring.luck import guessing_chance
from quizsvc.scoring.marking import Answer
from quizsvc.scoring.standing import uncalibrated

DAYS = 91  # three months
GAIN = 0.05  # rise of the true level in a topic by each answer, in logits
IDEA_HELD = 0.35  # chance that a learner holds a given wrong idea
OPENS_AT_UTC, CLOSES_AT_UTC = 7, 19  # hours


@dataclass
class SimulatedLearner:
    """What is true of the learner; the program sees only the answers."""

    random: Random
    levels: dict[str, float]
    ideas: frozenset[str]
    answers_in: dict[str, int] = field(default_factory=dict)

    def answers(self, item: Item) -> Answer:
        """Answer by the model: right with the chance the level gives, else by a wrong idea."""
        parameters = uncalibrated(item.level, guessing_chance(item))
        practised = self.answers_in.get(item.topic, 0)
        level = self.levels[item.topic] + GAIN * practised
        self.answers_in[item.topic] = practised + 1
        if self.random.random() < chance_right(level, parameters):
            return right_answer(item)
        return self._wrong_answer(item)

    def _wrong_answer(self, item: Item) -> Answer:
        wrong = [number for number, option in enumerate(item.options) if not option.correct]
        held = [number for number in wrong if item.options[number].misconception in self.ideas]
        match item.kind:
            case Kind.ONE_CHOICE:
                return Answer(choices=(self.random.choice(held or wrong),))
            case Kind.SEVERAL_CHOICES:
                right = [n for n, option in enumerate(item.options) if option.correct]
                kept = right[1:] if len(right) > 1 else []
                extra = [self.random.choice(held or wrong)] if wrong else []
                return Answer(choices=tuple(sorted({*kept, *extra}) or (wrong or right)[:1]))
            case Kind.NUMBER | Kind.BENCH:
                return Answer(number=self._wrong_number(item, [item.options[n] for n in held]))
            case Kind.ORDER:
                return Answer(sequence=tuple(reversed(item.key.sequence)))
            case Kind.MATCH:
                return Answer(pairs=_turned(item.key.pairs))
            case Kind.POINT:
                right_names = {area.name for area in item.key.areas}
                others = [place for place in item.places if place.name not in right_names]
                return Answer(point=self.random.choice(others or list(item.places)).centre)

    def _wrong_number(self, item: Item, held: list[Option]) -> float:
        if held:
            return float(self.random.choice(held).value)  # type: ignore[arg-type]
        right = _first_number(item)
        slip = max(abs(right) * self.random.choice((0.1, 0.25, 0.5)), item.key.tolerance * 2 + 1)
        return round(right + self.random.choice((-1, 1)) * slip, item.asked.decimals)


def invent_learner(seed: int) -> SimulatedLearner:
    """Return a learner; the same seed gives the same for ever."""
    random = Random(seed)
    general = random.gauss(0.1, 0.7)
    return SimulatedLearner(
        random,
        levels={topic.id: general + random.gauss(0.0, 0.7) for topic in TOPICS},
        ideas=frozenset(idea for idea in all_misconceptions() if random.random() < IDEA_HELD),
    )


def right_answer(item: Item) -> Answer:
    """Return an answer that is right."""
    match item.kind:
        case Kind.ONE_CHOICE | Kind.SEVERAL_CHOICES:
            return Answer(
                choices=tuple(n for n, option in enumerate(item.options) if option.correct)
            )
        case Kind.NUMBER | Kind.BENCH:
            return Answer(number=_first_number(item))
        case Kind.ORDER:
            return Answer(sequence=item.key.sequence)
        case Kind.MATCH:
            return Answer(pairs=item.key.pairs)
        case Kind.POINT:
            return Answer(point=item.key.areas[0].centre)


def practice_times(learner: SimulatedLearner, answers: int, end: datetime) -> list[datetime]:
    """Return when the learner answers, in order: on some days of the last three months."""
    random = learner.random
    times: list[datetime] = []
    start = end - timedelta(days=DAYS)
    stops = random.choice((DAYS, DAYS, DAYS, DAYS - 35))  # one in four has not been seen lately
    while len(times) < answers:
        at = start + timedelta(days=random.randrange(stops))
        at = at.replace(
            hour=random.randrange(OPENS_AT_UTC, CLOSES_AT_UTC), minute=random.randrange(60)
        )
        for _ in range(min(random.randrange(4, 11), answers - len(times))):
            times.append(at)
            at += timedelta(seconds=random.randrange(25, 150))
    return sorted(time for time in times if time < end)


def _first_number(item: Item) -> float:
    value = item.key.value
    return float(value[0] if isinstance(value, tuple) else value)  # type: ignore[arg-type]


def _turned(pairs: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
    partners = [partner for _, partner in pairs]
    turned = partners[1:] + partners[:1]
    return tuple((thing, partner) for (thing, _), partner in zip(pairs, turned, strict=True))
