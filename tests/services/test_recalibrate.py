"""Calibration of a log: resumable, judged on people held out, adopted only when it helps."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from answer_log import fill_log
from workshop import NOON

from quizsvc.errors import ConflictError
from quizsvc.services.calibrating import recalibrate
from quizsvc.services.filter_constants import settings_in
from quizsvc.store import calibrations, competence


class KilledError(Exception):
    pass


STILL = lambda *_: None  # noqa: E731 - nobody looks at the progress


def clock():
    return NOON + timedelta(days=1)


@pytest.fixture
def log(workshop):
    """A hundred people with true levels, twelve items with true difficulties."""
    return fill_log(workshop, people=100, items=12, seed=5)


def run(workshop, progress=STILL):
    return recalibrate.recalibrate(workshop.house, clock, progress)


def test_the_refit_foretells_people_held_out_better_and_is_adopted(workshop, log):
    found = run(workshop)

    assert found.adopted
    assert found.loss_after < found.loss_before
    assert found.items == 12
    with workshop.house.read() as connection:
        fitted = calibrations.items_fitted(connection)
        assert settings_in(connection) == found.settings
    fitted_b = [fitted[item][1] for item in log.items]
    assert np.corrcoef(fitted_b, log.difficulties)[0, 1] > 0.9


@pytest.mark.usefixtures("log")
def test_a_run_that_is_killed_goes_on_where_it_was(workshop):
    def kill_at(stage, at):
        def progress(name, done, _total):
            if name == stage and done == at:
                raise KilledError

        return progress

    with pytest.raises(KilledError):
        run(workshop, kill_at("Fitting items, round", 3))
    with pytest.raises(KilledError):
        run(workshop, kill_at("Tuning the filter", 7))
    with pytest.raises(KilledError):
        run(workshop, kill_at("Bringing competences up to date", 20))
    tuned = []
    whole = run(workshop, lambda name, *_: tuned.append(name))

    assert whole.resumed
    assert "Tuning the filter" not in tuned
    assert whole.adopted
    with workshop.house.read() as connection:
        assert calibrations.unfinished(connection) is None


@pytest.mark.usefixtures("log")
def test_a_killed_run_ends_with_what_an_unbroken_one_finds(workshop):
    def kill(name, done, _total):
        if name == "Tuning the filter" and done == 9:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run(workshop, kill)
    went_on = run(workshop)
    with workshop.house.write() as connection:
        calibrations.replace_items(connection, [])
        calibrations.forget_fits(connection)
    unbroken = run(workshop)

    assert went_on.settings == unbroken.settings
    assert went_on.loss_after == pytest.approx(unbroken.loss_after, abs=1e-4)


@pytest.mark.usefixtures("log")
def test_refitting_the_same_log_again_changes_nothing(workshop):
    first = run(workshop)
    second = run(workshop)

    assert first.adopted
    assert not second.adopted


def test_stored_competences_follow_the_new_constants(workshop, log):
    with workshop.house.read() as connection:
        before = competence.general_of(connection, log.people[0])
    run(workshop)

    with workshop.house.read() as connection:
        after = competence.general_of(connection, log.people[0])
    assert after.answers == before.answers
    assert replace(after, mean=0, variance=0) == replace(before, mean=0, variance=0)
    assert after.mean != before.mean


def test_too_few_people_are_told(workshop):
    fill_log(workshop, people=5, items=4, seed=1)

    with pytest.raises(ConflictError, match="25 people"):
        run(workshop)
