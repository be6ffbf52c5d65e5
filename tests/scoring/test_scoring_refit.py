"""Refitting the filter: losses, restated parameters, tuning that can be taken up again."""

from datetime import UTC, datetime, timedelta
from math import log
from random import Random

import numpy as np
import pytest

from quizsvc.scoring.competence import DEFAULTS, FilterSettings, ItemParameters, chance_right
from quizsvc.scoring.refit import (
    Step,
    Tuning,
    log_loss,
    response_matrix,
    restated,
    rungs,
    split,
    tune,
)

START = datetime(2026, 1, 1, tzinfo=UTC)
ITEMS = {f"i{n}": ItemParameters(b=(n - 3) / 2) for n in range(7)}


def histories(people=40, seed=1, spread=1.5):
    chance = Random(seed)
    found = []
    for _ in range(people):
        level = chance.gauss(0, spread)
        steps = []
        for n in range(14):
            item = f"i{chance.randrange(7)}"
            right = chance.random() < chance_right(level, ITEMS[item])
            steps.append(Step("marks", item, right, START + timedelta(days=n)))
        found.append(tuple(steps))
    return tuple(found)


def test_the_first_answer_of_an_unknown_person_is_foretold_like_a_coin():
    one = (Step("marks", "i3", True, START),)

    assert log_loss([one], ITEMS, DEFAULTS) == pytest.approx(log(2), abs=1e-9)


def test_wrong_difficulties_foretell_worse():
    mixed_up = {ref: ItemParameters(b=-one.b) for ref, one in ITEMS.items()}

    assert log_loss(histories(), ITEMS, DEFAULTS) < log_loss(histories(), mixed_up, DEFAULTS)


def test_tuning_never_ends_worse_than_it_began_and_goes_through_every_rung():
    told = []
    start = Tuning(DEFAULTS, log_loss(histories(), ITEMS, DEFAULTS), 0)

    done = tune(histories(), ITEMS, start, told.append)

    assert done.finished
    assert len(told) == rungs()
    assert done.loss <= start.loss
    assert [one.loss for one in told] == sorted((one.loss for one in told), reverse=True)


def test_tuning_taken_up_in_the_middle_ends_the_same():
    told = []
    start = Tuning(DEFAULTS, log_loss(histories(), ITEMS, DEFAULTS), 0)
    whole = tune(histories(), ITEMS, start, told.append)

    assert tune(histories(), ITEMS, told[8], told.append) == whole


def test_people_who_stand_still_are_not_believed_to_learn():
    people = histories(people=80, seed=3)
    start = Tuning(DEFAULTS, log_loss(people, ITEMS, DEFAULTS), 0)

    assert tune(people, ITEMS, start, lambda _: None).settings.learning < DEFAULTS.learning


@pytest.mark.parametrize(("a", "b"), [(1.0, 0.0), (0.7, 1.0), (1.6, -0.5)])
def test_restated_parameters_give_nearly_the_same_curve(a, b):
    theta = np.linspace(max(-1.0, b - 0.5), 2.5, 20)
    plain = 1 / (1 + np.exp(-a * (theta - b)))

    slope, difficulty = restated(a, b, 0.2)

    again = 0.2 + 0.8 / (1 + np.exp(-slope * (theta - difficulty)))
    assert np.abs(again - plain).max() < 0.06
    assert difficulty > b  # part of the right answers is now laid to guessing


def test_the_matrix_holds_first_answers_only():
    steps = (
        Step("t", "i0", False, START),
        Step("t", "i0", True, START + timedelta(days=1)),
        Step("t", "i2", True, START),
    )

    row = response_matrix([steps], ["i0", "i1", "i2"])[0]

    assert row[0] == 0
    assert np.isnan(row[1])
    assert row[2] == 1


def test_every_fifth_person_is_held_out():
    fitting, held = split({n: (Step("t", f"i{n % 7}", True, START),) for n in range(10)})

    assert (len(fitting), len(held)) == (8, 2)


def test_settings_are_a_value():
    assert FilterSettings() == DEFAULTS
