"""Belts and pulleys against hulls (shapely), a drawn string and the path over two wheels."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from shapely.geometry import Point as Dot

from quizsvc.errors import InputError
from quizsvc.timing.belt import (
    capstan_ratio,
    open_belt_length_mm,
    pulley_speed_rpm,
    setting_for_age,
    small_pulley_wrap_deg,
    span_frequency_hz,
    span_tension_n,
)
from quizsvc.timing.path import DrivePath, PathWheel

DIAMETERS = st.floats(30, 400)


def test_an_open_belt_of_105_and_393_mm():
    # Second method: hull of two discs of 40,000 corners.
    hull = (
        Dot(0, 0).buffer(52.5, quad_segs=10_000).union(Dot(697, 0).buffer(196.5, quad_segs=10_000))
    ).convex_hull

    assert open_belt_length_mm(105, 393, 697) == pytest.approx(2206.114, abs=0.0005)
    assert open_belt_length_mm(105, 393, 697) == pytest.approx(hull.length, abs=1e-4)
    assert small_pulley_wrap_deg(105, 393, 697) == pytest.approx(156.154, abs=0.0005)


@given(DIAMETERS, DIAMETERS, st.floats(1.01, 5))
def test_belt_length_and_wrap_agree_with_the_path_over_two_wheels(small, large, apart):
    centre = apart * (small + large) / 2
    path = DrivePath((PathWheel(0, 0, small / 2), PathWheel(centre, 0, large / 2)))

    assert open_belt_length_mm(small, large, centre) == pytest.approx(path.length_mm)
    assert small_pulley_wrap_deg(small, large, centre) == pytest.approx(path.arcs[0].wrap_deg)


@given(st.floats(50, 2000), st.floats(0.02, 0.5), st.floats(0.05, 0.6))
def test_tension_and_note_turn_each_other_round(tension, mass, span):
    note = span_frequency_hz(tension, mass, span)

    assert span_tension_n(note, mass, span) == pytest.approx(tension)


def test_the_note_is_that_of_a_string_whose_wave_runs_there_and_back():
    tension, mass, span = 624, 0.11, 0.17
    speed = math.sqrt(tension / mass)

    assert span_frequency_hz(tension, mass, span) == pytest.approx(1 / (2 * span / speed))


@given(st.floats(0.05, 0.8), st.floats(30, 720))
def test_the_capstan_ratio_solves_the_balance_of_a_piece_of_belt(friction, wrap):
    # Second method: dT/dθ = μT integrated numerically.
    solved = solve_ivp(
        lambda _, t: friction * t, (0, math.radians(wrap)), [1.0], rtol=1e-10, atol=1e-12
    )

    assert capstan_ratio(friction, wrap) == pytest.approx(solved.y[0][-1], rel=1e-7)


@given(st.floats(500, 7000), DIAMETERS, DIAMETERS)
def test_both_rims_run_at_the_speed_of_the_belt(rpm, driver, driven):
    turned = pulley_speed_rpm(rpm, driver, driven)

    assert turned * driven == pytest.approx(rpm * driver)
    assert (turned > rpm) == (driven < driver) or driven == pytest.approx(driver)


def test_a_belt_counts_as_used_after_ten_minutes():
    # Common practice, no source.
    ages = [setting_for_age(minutes, new=600, used=400) for minutes in (0, 9.9, 10, 5000)]

    assert ages == [600, 600, 400, 400]


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: open_belt_length_mm(100, 300, 200), "centre_mm"),
        (lambda: small_pulley_wrap_deg(0, 300, 500), "small_mm"),
        (lambda: pulley_speed_rpm(1000, 100, 0), "driven_mm"),
        (lambda: span_tension_n(100, 0, 0.2), "mass_kg_m"),
        (lambda: span_frequency_hz(-1, 0.1, 0.2), "tension_n"),
        (lambda: capstan_ratio(-0.1, 180), "friction"),
        (lambda: capstan_ratio(2, 1e6), "wrap_deg"),
        (lambda: setting_for_age(-1, new=1, used=2), "minutes_run"),
    ],
)
def test_a_belt_that_cannot_be_is_refused_by_name(make, field):
    with pytest.raises(InputError) as refused:
        make()

    assert refused.value.field == field
