"""Item parameters as assumed, as fitted before and as restated after a fit."""

from __future__ import annotations

from quizsvc.scoring.calibration import Calibration
from quizsvc.scoring.competence import ItemParameters
from quizsvc.scoring.refit import restated
from quizsvc.services.calibrating.answer_log import AnswerLog

SLOPES = (0.25, 4.0)  # kept within; beyond lies chance, not an item
DIFFICULTY = 4.0


def restated_items(items: list[str], fit: Calibration, log: AnswerLog) -> dict[str, ItemParameters]:
    found = {}
    for item, slope, difficulty in zip(items, fit.a, fit.b, strict=True):
        guessing = log.guessing[item]
        a, b = restated(float(slope), float(difficulty), guessing)
        found[item] = ItemParameters(
            min(SLOPES[1], max(SLOPES[0], a)), min(DIFFICULTY, max(-DIFFICULTY, b)), guessing
        )
    return found


def parameters_with(
    log: AnswerLog, fitted: dict[str, tuple[float, float]]
) -> dict[str, ItemParameters]:
    return log.assumed | {
        item: ItemParameters(*fitted[item], log.guessing[item])
        for item in log.assumed
        if item in fitted
    }
