"""The answers a calibration goes by, and which items have enough of them."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass

from quizsvc.errors import ConflictError
from quizsvc.items.model import Kind, Level
from quizsvc.scoring.competence import ItemParameters
from quizsvc.scoring.refit import History, Step
from quizsvc.scoring.standing import uncalibrated
from quizsvc.services.calibrating.rounds import Progress
from quizsvc.services.house import House
from quizsvc.services.replay import GUESSED
from quizsvc.store import calibrations

FEWEST_ANSWERS = 30  # of an item by different people, before it is calibrated
FEWEST_PEOPLE = 25


@dataclass
class AnswerLog:
    histories: dict[int, History]
    guessing: dict[str, float]
    assumed: dict[str, ItemParameters]  # before any calibration
    answers: int


def read_log(house: House, upto: int, progress: Progress) -> AnswerLog:
    steps: dict[int, list[Step]] = defaultdict(list)
    kinds: dict[str, Counter[str]] = defaultdict(Counter)
    levels: dict[str, Counter[str]] = defaultdict(Counter)
    answers = 0
    with house.read() as connection:
        for one in calibrations.log_upto(connection, upto):
            steps[one.person_id].append(Step(one.topic, one.item_ref, one.correct, one.answered_at))
            kinds[one.item_ref][one.kind] += 1
            levels[one.item_ref][one.level] += 1
            answers += 1
            if answers % 50_000 == 0:
                progress("Reading answers", answers, answers)
    progress("Reading answers", answers, answers)
    guessing = {item: _guessing(found) for item, found in kinds.items()}
    assumed = {
        item: uncalibrated(Level(found.most_common(1)[0][0]), guessing[item])
        for item, found in levels.items()
    }
    return AnswerLog({one: tuple(all_) for one, all_ in steps.items()}, guessing, assumed, answers)


def _guessing(kinds: Counter[str]) -> float:
    """Return the chance of guessing, averaged over the kinds an item was put as."""
    total = sum(kinds.values())
    return sum(GUESSED.get(Kind(kind), 0.0) * count for kind, count in kinds.items()) / total


def refuse_few(log: AnswerLog) -> None:
    if len(log.histories) < FEWEST_PEOPLE:
        raise ConflictError(
            f"a calibration needs the answers of at least {FEWEST_PEOPLE} people.",
            field="people",
            value=len(log.histories),
            remedy="Run it again when more have answered.",
        )


def items_to_fit(fitting: tuple[History, ...], log: AnswerLog) -> list[str]:
    """Return items that enough people answered, some right and some wrong."""
    right: Counter[str] = Counter()
    people: Counter[str] = Counter()
    for history in fitting:
        first: dict[str, bool] = {}
        for step in history:
            first.setdefault(step.item, step.correct)
        people.update(first.keys())
        right.update(item for item, correct in first.items() if correct)
    return [
        item
        for item in sorted(log.assumed)
        if people[item] >= FEWEST_ANSWERS and 0 < right[item] < people[item]
    ]
