"""Fit items and tune the filter round by round, keeping what the next round goes on from."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from datetime import datetime

import numpy as np

from quizsvc.scoring.calibration import Calibration, calibrate_2pl
from quizsvc.scoring.competence import DEFAULTS, FilterSettings, ItemParameters
from quizsvc.scoring.refit import History, Tuning, log_loss, rungs, tune
from quizsvc.services.house import House
from quizsvc.store import calibrations
from quizsvc.store.calibrations import StoredRun

ROUNDS = 500
Progress = Callable[[str, int, int], None]  # stage, done, of how many
Clock = Callable[[], datetime]


@dataclass
class RunState:
    """What a run goes on from."""

    a: list[float] = field(default_factory=list)
    b: list[float] = field(default_factory=list)
    rounds: int = 0
    settled: bool = False
    settings: dict[str, float] | None = None
    loss: float = 0.0
    tried: int = 0

    @classmethod
    def read(cls, text: str) -> RunState:
        return cls(**json.loads(text))

    def text(self) -> str:
        return json.dumps(asdict(self))


def fit_items(
    house: House,
    run: StoredRun,
    state: RunState,
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


def _keep(house: House, run: StoredRun, stage: str, state: RunState, clock: Clock) -> None:
    with house.write() as connection:
        calibrations.keep_state(connection, run.id, stage=stage, state=state.text(), now=clock())


def tune_constants(
    house: House,
    run: StoredRun,
    state: RunState,
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
