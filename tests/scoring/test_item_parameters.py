"""How hard an item is taken to be, before and after its calibration."""

from __future__ import annotations

from quizsvc.items.model import Level
from quizsvc.scoring.competence import ItemParameters
from quizsvc.scoring.standing import item_parameters, uncalibrated


def test_a_calibrated_item_is_as_hard_as_its_answers_say():
    assert item_parameters((1.5, -0.25), Level.APPLY, 0.2) == ItemParameters(1.5, -0.25, 0.2)


def test_an_item_never_calibrated_is_as_hard_as_its_level_lets_expect():
    assert item_parameters(None, Level.APPLY, 0.2) == uncalibrated(Level.APPLY, 0.2)
