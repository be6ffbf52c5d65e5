"""Refit item parameters and the filter's constants on the shop's own log.

The work is cut into stages; after each round what it goes on from is stored, so that a run that
was killed goes on where it was. Nothing is adopted that does not foretell the answers of people
held out better than what is in use.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any

import numpy as np
from sqlalchemy import Connection

from quizsvc.errors import ConflictError
from quizsvc.items.model import Kind, Level
from quizsvc.scoring.calibration import Calibration, calibrate_2pl
from quizsvc.scoring.competence import DEFAULTS, FilterSettings, ItemParameters
from quizsvc.scoring.refit import (
    History,
    Step,
    Tuning,
    log_loss,
    response_matrix,
    restated,
    rungs,
    split,
    tune,
)
from quizsvc.scoring.standing import uncalibrated
from quizsvc.services.filter_constants import settings_in, settings_text
from quizsvc.services.house import House
from quizsvc.services.replay import GUESSED, Counted, recompute, replay
from quizsvc.store import calibrations, competence
from quizsvc.store.calibrations import LoggedAnswer, StoredRun

FEWEST_ANSWERS = 30  # of an item by different people, before it is calibrated
FEWEST_PEOPLE = 25
TUNED_ON = 400  # people at most, for the filter's constants: more change the third decimal only
SLOPES = (0.25, 4.0)  # kept within; beyond lies chance, not an item
DIFFICULTY = 4.0
ROUNDS = 500
ADOPTED = "adopted"
PEOPLE_AT_ONCE = 10  # brought up to date in one transaction
Progress = Callable[[str, int, int], None]  # stage, done, of how many
Clock = Callable[[], datetime]


@dataclass(frozen=True, slots=True)
class Recalibrated:
    """What a run found; losses are mean log-loss over the answers of people held out."""

    people: int
    answers: int
    items: int  # calibrated
    items_left: int  # with too few answers
    rounds: int
    settled: bool
    loss_before: float
    loss_items: float  # with the new item parameters and the constants of before
    loss_after: float
    settings: FilterSettings
    adopted: bool
    resumed: bool

    @classmethod
    def read(cls, text: str) -> Recalibrated:
        data = json.loads(text)
        settings = FilterSettings(**data.pop("settings"))
        return cls(**(data | {"settings": settings, "resumed": True}))


@dataclass
class _Log:
    histories: dict[int, History]
    guessing: dict[str, float]
    assumed: dict[str, ItemParameters]  # before any calibration
    answers: int


@dataclass
class _State:
    """What a run goes on from."""

    a: list[float] = field(default_factory=list)
    b: list[float] = field(default_factory=list)
    rounds: int = 0
    settled: bool = False
    settings: dict[str, float] | None = None
    loss: float = 0.0
    tried: int = 0

    @classmethod
    def read(cls, text: str) -> _State:
        return cls(**json.loads(text))

    def text(self) -> str:
        return json.dumps(asdict(self))


def recalibrate(house: House, clock: Clock, progress: Progress) -> Recalibrated:
    """Refit on every answer there is, or finish the run that was begun and killed.

    Raises:
        ConflictError: there are too few people or answers to say anything.
    """
    with house.read() as connection:
        begun = calibrations.unfinished(connection)
    run = begun or _begin(house, clock)
    if run.stage == ADOPTED:
        return _finish(house, run, Recalibrated.read(run.state), clock, progress)
    log = _read_log(house, run.upto, progress)
    _refuse_few(log)
    fitting, held_out = split(log.histories)
    items = _items_to_fit(fitting, log)
    state = _State.read(run.state)
    fit = _fit_items(house, run, state, response_matrix(fitting, items), clock, progress)
    with house.read() as connection:
        used = settings_in(connection)
        fitted_before = calibrations.items_fitted(connection)
    before = _parameters(log, fitted_before)
    after = log.assumed | _restated(items, fit, log)
    tuned = _tune(house, run, state, fitting[:TUNED_ON], after, clock, progress)
    result = _judged(log, held_out, before, after, used, tuned, fit, len(items), begun is not None)
    _adopt(house, run, result, after, items, log, clock)
    return _finish(house, run, result, clock, progress)


def _finish(
    house: House, run: StoredRun, result: Recalibrated, clock: Clock, progress: Progress
) -> Recalibrated:
    if result.adopted:
        _bring_up_to_date(house, progress)
    with house.write() as connection:
        calibrations.end(connection, run.id, now=clock())
    return result


def _begin(house: House, clock: Clock) -> StoredRun:
    with house.write() as connection:
        now, upto = clock(), calibrations.newest_response(connection)
        run_id = calibrations.begin(connection, stage="items", upto=upto, now=now)
    return StoredRun(run_id, "items", upto, "{}", now)


def _read_log(house: House, upto: int, progress: Progress) -> _Log:
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
    return _Log({one: tuple(all_) for one, all_ in steps.items()}, guessing, assumed, answers)


def _guessing(kinds: Counter[str]) -> float:
    """Return the chance of guessing, averaged over the kinds an item was put as."""
    total = sum(kinds.values())
    return sum(GUESSED.get(Kind(kind), 0.0) * count for kind, count in kinds.items()) / total


def _refuse_few(log: _Log) -> None:
    if len(log.histories) < FEWEST_PEOPLE:
        raise ConflictError(
            f"a calibration needs the answers of at least {FEWEST_PEOPLE} people.",
            field="people",
            value=len(log.histories),
            remedy="Run it again when more have answered.",
        )


def _items_to_fit(fitting: tuple[History, ...], log: _Log) -> list[str]:
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


def _fit_items(
    house: House,
    run: StoredRun,
    state: _State,
    matrix: np.ndarray,
    clock: Clock,
    progress: Progress,
) -> Calibration:
    if not matrix.shape[1]:
        return Calibration(np.array([]), np.array([]), 0.0, 0, settled=True)
    start = None
    if state.a:
        start = Calibration(
            np.array(state.a), np.array(state.b), 0.0, state.rounds, settled=state.settled
        )
        if state.settled:
            return start

    def keep(fit: Calibration) -> None:
        state.a, state.b = fit.a.tolist(), fit.b.tolist()
        state.rounds, state.settled = fit.rounds, fit.settled
        _keep(house, run, "items", state, clock)
        progress("Fitting items, round", fit.rounds, 0)

    return calibrate_2pl(
        matrix[~np.isnan(matrix).all(axis=1)],
        tolerance=1e-3,
        max_rounds=ROUNDS,
        start=start,
        report=keep,
    )


def _keep(house: House, run: StoredRun, stage: str, state: _State, clock: Clock) -> None:
    with house.write() as connection:
        calibrations.keep_state(connection, run.id, stage=stage, state=state.text(), now=clock())


def _restated(items: list[str], fit: Calibration, log: _Log) -> dict[str, ItemParameters]:
    found = {}
    for item, slope, difficulty in zip(items, fit.a, fit.b, strict=True):
        guessing = log.guessing[item]
        a, b = restated(float(slope), float(difficulty), guessing)
        found[item] = ItemParameters(
            min(SLOPES[1], max(SLOPES[0], a)), min(DIFFICULTY, max(-DIFFICULTY, b)), guessing
        )
    return found


def _parameters(log: _Log, fitted: dict[str, tuple[float, float]]) -> dict[str, ItemParameters]:
    return log.assumed | {
        item: ItemParameters(*fitted[item], log.guessing[item])
        for item in log.assumed
        if item in fitted
    }


def _tune(
    house: House,
    run: StoredRun,
    state: _State,
    fitting: tuple[History, ...],
    items: dict[str, ItemParameters],
    clock: Clock,
    progress: Progress,
) -> FilterSettings:
    if state.settings is None:
        start = Tuning(DEFAULTS, log_loss(fitting, items, DEFAULTS), 0)
    else:
        start = Tuning(FilterSettings(**state.settings), state.loss, state.tried)

    def keep(tuning: Tuning) -> None:
        state.settings = asdict(tuning.settings)
        state.loss, state.tried = tuning.loss, tuning.done
        _keep(house, run, "constants", state, clock)
        progress("Tuning the filter", tuning.done, rungs())

    return tune(fitting, items, start, keep).settings


def _judged(
    log: _Log,
    held_out: tuple[History, ...],
    before: dict[str, ItemParameters],
    after: dict[str, ItemParameters],
    used: FilterSettings,
    tuned: FilterSettings,
    fit: Calibration,
    items: int,
    resumed: bool,  # noqa: FBT001 - told on, not acted on
) -> Recalibrated:
    loss_before = log_loss(held_out, before, used)
    loss_after = log_loss(held_out, after, tuned)
    return Recalibrated(
        people=len(log.histories),
        answers=log.answers,
        items=items,
        items_left=len(log.assumed) - items,
        rounds=fit.rounds,
        settled=fit.settled,
        loss_before=loss_before,
        loss_items=log_loss(held_out, after, used),
        loss_after=loss_after,
        settings=tuned,
        adopted=loss_after < loss_before,
        resumed=resumed,
    )


def _adopt(
    house: House,
    run: StoredRun,
    result: Recalibrated,
    after: dict[str, ItemParameters],
    items: list[str],
    log: _Log,
    clock: Clock,
) -> None:
    """Store what was found; it is used from now on only if it foretells better."""
    answers = Counter(step.item for history in log.histories.values() for step in history)
    with house.write() as connection:
        calibrations.add_fit(
            connection,
            settings=settings_text(result.settings),
            adopted=result.adopted,
            loss_before=result.loss_before,
            loss_after=result.loss_after,
            answers=result.answers,
            fitted_at=clock(),
        )
        if result.adopted:
            calibrations.replace_items(
                connection, [_row(item, after[item], answers[item], clock()) for item in items]
            )
        state = json.dumps(asdict(result))
        calibrations.keep_state(connection, run.id, stage=ADOPTED, state=state, now=clock())


def _row(item: str, fitted: ItemParameters, answers: int, now: datetime) -> dict[str, Any]:
    return {
        "item_ref": item,
        "slope": fitted.a,
        "difficulty": fitted.b,
        "answers": answers,
        "fitted_at": now,
    }


def _bring_up_to_date(house: House, progress: Progress) -> None:
    """Compute every stored competence anew, so that all are believed by the same constants."""
    with house.read() as connection:
        people = competence.people_known(connection)
        marked_again = calibrations.people_marked_again(connection)
    for start in range(0, len(people), PEOPLE_AT_ONCE):
        some = people[start : start + PEOPLE_AT_ONCE]
        with house.write() as connection:
            for person_id in some:
                if person_id not in marked_again:
                    _replay(connection, person_id)
        for person_id in some:
            if person_id in marked_again:
                recompute(house, person_id)
        progress("Bringing competences up to date", start + len(some), len(people))


def _replay(connection: Connection, person_id: int) -> None:
    """Replay a person's answers; guessing goes by the kind, without drawing every item again."""
    competence.lock_general(connection, person_id)
    fitted = calibrations.items_fitted(connection)
    answers = [
        Counted(one.topic, _item(one, fitted), one.correct, one.answered_at)
        for one in calibrations.log_of_person(connection, person_id)
    ]
    done = replay(answers, settings_in(connection))
    competence.replace_all(connection, person_id, done.general, tuple(done.topics.values()))


def _item(one: LoggedAnswer, fitted: dict[str, tuple[float, float]]) -> ItemParameters:
    guessing = GUESSED.get(Kind(one.kind), 0.0)
    if one.item_ref in fitted:
        return ItemParameters(*fitted[one.item_ref], guessing)
    return uncalibrated(Level(one.level), guessing)
