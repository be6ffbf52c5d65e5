"""Refit item parameters and the filter's constants on the shop's own log.

The work is cut into stages; after each round what it goes on from is stored, so that a run that
was killed goes on where it was. Nothing is adopted that does not foretell the answers of people
held out better than what is in use.
"""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from quizsvc.scoring.calibration import Calibration
from quizsvc.scoring.competence import FilterSettings, ItemParameters
from quizsvc.scoring.refit import History, log_loss, response_matrix, split
from quizsvc.services.calibrating.answer_log import AnswerLog, items_to_fit, read_log, refuse_few
from quizsvc.services.calibrating.item_parameters import parameters_with, restated_items
from quizsvc.services.calibrating.replaying import bring_up_to_date
from quizsvc.services.calibrating.rounds import Clock, Progress, RunState, fit_items, tune_constants
from quizsvc.services.filter_constants import settings_in, settings_text
from quizsvc.services.house import House
from quizsvc.store import calibrations
from quizsvc.store.calibrations import StoredRun

TUNED_ON = 400  # people at most, for the filter's constants: more change the third decimal only
ADOPTED = "adopted"


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
    log = read_log(house, run.upto, progress)
    refuse_few(log)
    fitting, held_out = split(log.histories)
    items = items_to_fit(fitting, log)
    state = RunState.read(run.state)
    fit = fit_items(house, run, state, response_matrix(fitting, items), clock, progress)
    with house.read() as connection:
        used = settings_in(connection)
        fitted_before = calibrations.items_fitted(connection)
    before = parameters_with(log, fitted_before)
    after = log.assumed | restated_items(items, fit, log)
    tuned = tune_constants(house, run, state, fitting[:TUNED_ON], after, clock, progress)
    result = _judged(log, held_out, before, after, used, tuned, fit, len(items), begun is not None)
    _adopt(house, run, result, after, items, log, clock)
    return _finish(house, run, result, clock, progress)


def _finish(
    house: House, run: StoredRun, result: Recalibrated, clock: Clock, progress: Progress
) -> Recalibrated:
    if result.adopted:
        bring_up_to_date(house, progress)
    with house.write() as connection:
        calibrations.end(connection, run.id, now=clock())
    return result


def _begin(house: House, clock: Clock) -> StoredRun:
    with house.write() as connection:
        now, upto = clock(), calibrations.newest_response(connection)
        run_id = calibrations.begin(connection, stage="items", upto=upto, now=now)
    return StoredRun(run_id, "items", upto, "{}", now)


def _judged(
    log: AnswerLog,
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
    log: AnswerLog,
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
