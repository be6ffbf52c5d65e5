"""Wear, tensioner travel and the retard that follows, against paths laid again."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.chain import pitch_diameter_mm
from quizsvc.timing.path import DrivePath, PathWheel
from quizsvc.timing.tensioner import Plunger, moved_wheel, travel_for_growth_mm
from quizsvc.timing.wear import (
    elongation_for_retard_percent,
    elongation_limit_percent,
    elongation_percent,
    loop_growth_mm,
    wear_retard_deg,
)

R18, R36 = pitch_diameter_mm(8, 18) / 2, pitch_diameter_mm(8, 36) / 2


def drive(shoe_x=-70.0):
    """Crank, a shoe on the slack strand from outside, and a cam above."""
    return DrivePath(
        (PathWheel(0, 0, R18), PathWheel(shoe_x, 160, 40, back=True), PathWheel(0, 330, R36))
    )


def test_retard_of_half_a_percent_on_a_strand_of_330_mm():
    # Second method, in steps: 1.65 mm at the rim of a 36-tooth wheel, then cam to crank.
    rim = math.pi * pitch_diameter_mm(8, 36)
    cam_deg = 330 * 0.005 / rim * 360

    assert wear_retard_deg(330, 0.5, 8, 36) == pytest.approx(4.12, abs=0.005)
    assert wear_retard_deg(330, 0.5, 8, 36) == pytest.approx(2 * cam_deg)


@given(st.floats(50, 900), st.floats(0.01, 3), st.floats(5, 13), st.integers(20, 60))
def test_the_elongation_for_a_retard_gives_that_retard(strand, percent, pitch, teeth):
    retard = wear_retard_deg(strand, percent, pitch, teeth)

    assert retard > 0
    assert elongation_for_retard_percent(strand, retard, pitch, teeth) == pytest.approx(percent)


@given(st.floats(-0.5, 4), st.integers(10, 200), st.floats(5, 13))
def test_elongation_is_read_back_from_a_measured_stretch(percent, pitches, pitch):
    measured = pitches * pitch * (1 + percent / 100)

    assert elongation_percent(measured, pitches, pitch) == pytest.approx(percent, abs=1e-9)
    assert loop_growth_mm(pitches, pitch, percent) == pytest.approx(
        measured - pitches * pitch, abs=1e-9
    )


@given(st.integers(9, 200))
def test_the_limit_is_never_above_three_percent_and_falls_with_the_teeth(teeth):
    limit = elongation_limit_percent(teeth)

    assert limit == 3 if teeth <= 67 else limit == pytest.approx(200 / teeth)
    assert limit <= 3
    assert elongation_limit_percent(teeth + 1) <= limit


@settings(max_examples=25)
@given(st.floats(0, 12))
def test_the_tensioner_takes_up_just_what_the_loop_has_grown(growth):
    path = drive()

    travel = travel_for_growth_mm(path, 1, 90, growth, 60)

    assert moved_wheel(path, 1, 90, travel).length_mm - path.length_mm == pytest.approx(
        growth, abs=1e-6
    )
    # A shoe pressed into a strand takes up less than two mm of loop per mm of travel.
    assert travel >= growth / 2 - 1e-9


def test_travel_is_no_elongation():
    # 127 pitches of 8 mm, half a percent longer: 5.08 mm of loop, far more of plunger travel.
    growth = loop_growth_mm(127, 8, 0.5)

    assert growth == pytest.approx(5.08)
    assert travel_for_growth_mm(drive(), 1, 90, growth, 60) > 1.5 * growth


def test_growth_past_the_tensioner_is_refused():
    with pytest.raises(InputError, match="more than the tensioner takes up") as refused:
        travel_for_growth_mm(drive(), 1, 90, 40, 10)

    assert refused.value.field == "growth_mm"


@given(st.floats(0, 10), st.floats(1, 10), st.floats(0, 10), st.floats(0, 1))
def test_a_plunger_shows_its_groove_from_its_place_on(new, until_groove, beyond, part):
    plunger = Plunger(new, new + until_groove, new + until_groove + beyond)
    now = part * plunger.longest_mm

    assert plunger.groove_seen(now) == (now >= plunger.groove_at_mm)
    assert plunger.travel_mm(now) == pytest.approx(now - new)
    assert plunger.left_mm(now) + now == pytest.approx(plunger.longest_mm)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Plunger(6, 5, 20), "groove_at_mm"),
        (lambda: Plunger(6, 14, 13), "longest_mm"),
        (lambda: Plunger(-1, 14, 20), "extension_new_mm"),
        (lambda: Plunger(6, 14, 20).travel_mm(21), "extension_now_mm"),
        (lambda: Plunger(6, 14, 20).groove_seen(math.nan), "extension_now_mm"),
        (lambda: elongation_percent(100, 0, 8), "pitches"),
        (lambda: elongation_percent(0, 10, 8), "measured_mm"),
        (lambda: elongation_limit_percent(0), "largest_teeth"),
        (lambda: wear_retard_deg(-330, 0.5, 8, 36), "strand_mm"),
        (lambda: loop_growth_mm(120.5, 8, 1), "pins"),
        (lambda: moved_wheel(drive(), 5, 0, 1), "wheel_index"),
        (lambda: travel_for_growth_mm(drive(), 1, 90, -1, 10), "growth_mm"),
    ],
)
def test_wear_that_cannot_be_is_refused_by_name(make, field):
    with pytest.raises(InputError) as refused:
        make()

    assert refused.value.field == field
