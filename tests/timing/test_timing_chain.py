"""Two sprockets and a chain against the same loop laid by other means."""

import math
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.chain import (
    CHAIN_SIZES,
    centre_distance_pitches,
    chain_length_pitches,
    drive_ratio,
    exact_drive_ratio,
    pitch_diameter_mm,
    speed_ripple,
    wrap_angles_deg,
)
from quizsvc.timing.path import DrivePath, PathWheel

TEETH = st.integers(9, 80)


@given(st.floats(1, 50), st.integers(3, 200))
def test_neighbouring_pins_on_the_pitch_circle_are_one_pitch_apart(pitch, teeth):
    radius = pitch_diameter_mm(pitch, teeth) / 2
    angle = math.tau / teeth

    chord = math.dist((radius, 0), (radius * math.cos(angle), radius * math.sin(angle)))

    assert chord == pytest.approx(pitch)


@pytest.mark.parametrize(
    ("size", "pitch", "roller", "width"),
    [("05B", 8, 5, 3), ("06B", 9.525, 6.35, 5.72), ("08B", 12.7, 8.51, 7.75)],
)
def test_standard_chain_sizes(size, pitch, roller, width):
    # ISO 606 (DIN 8187) tables.
    assert CHAIN_SIZES[size] == (pitch, roller, width)


def test_chains_of_inch_origin_have_pitches_of_three_and_four_eighths():
    assert CHAIN_SIZES["06B"].pitch_mm == pytest.approx(3 / 8 * 25.4)
    assert CHAIN_SIZES["08B"].pitch_mm == pytest.approx(4 / 8 * 25.4)


@settings(max_examples=80)
@given(TEETH, TEETH, st.floats(30, 120))
def test_the_trade_formula_for_length_agrees_with_the_exact_path(small, large, centre):
    assume(abs(large - small) < 0.8 * centre)
    path = DrivePath(
        (
            PathWheel(0, 0, pitch_diameter_mm(1, small) / 2),
            PathWheel(0, centre, pitch_diameter_mm(1, large) / 2),
        )
    )

    # Its next term is of the order (N−n)⁴/(C³·2·(2π)⁴·…): below 0.1 pitch here.
    assert chain_length_pitches(centre, small, large) == pytest.approx(path.pitches(1), abs=0.1)


@given(TEETH, TEETH, st.floats(30, 200))
def test_centre_distance_turns_chain_length_round(small, large, centre):
    length = chain_length_pitches(centre, small, large)

    assert centre_distance_pitches(length, small, large) == pytest.approx(centre)


@given(st.floats(4, 30), TEETH, TEETH, st.floats(1.01, 10))
def test_wraps_of_two_wheels_make_a_turn_and_the_larger_wraps_more(pitch, one, other, apart):
    centre = (pitch_diameter_mm(pitch, one) + pitch_diameter_mm(pitch, other)) / 2 * apart

    first, second = wrap_angles_deg(pitch, one, other, centre)

    assert first + second == pytest.approx(360)
    assert (first < second) == (one < other)


@given(st.floats(4, 30), TEETH, TEETH, st.floats(1.05, 10))
def test_wraps_agree_with_the_path_over_the_same_wheels(pitch, one, other, apart):
    radii = [pitch_diameter_mm(pitch, teeth) / 2 for teeth in (one, other)]
    path = DrivePath((PathWheel(0, 0, radii[0]), PathWheel(sum(radii) * apart, 0, radii[1])))

    wraps = wrap_angles_deg(pitch, one, other, sum(radii) * apart)

    assert wraps == pytest.approx([arc.wrap_deg for arc in path.arcs])


@given(st.integers(3, 200))
def test_ripple_is_what_the_chain_rises_and_falls_on_the_polygon(teeth):
    flat = math.cos(math.pi / teeth)  # distance of a polygon's side from its centre

    assert speed_ripple(teeth) == pytest.approx(1 - flat, abs=1e-12)


@given(st.lists(st.tuples(st.integers(8, 60), st.integers(8, 60)), max_size=4))
def test_stages_multiply_and_the_exact_ratio_has_no_rounding(stages):
    expected = Fraction(1)
    for driving, driven in stages:
        expected = expected * driven / driving

    assert exact_drive_ratio(stages) == expected
    assert drive_ratio(stages) == pytest.approx(float(expected))


def test_an_idler_between_changes_nothing():
    assert exact_drive_ratio([(18, 25), (25, 36)]) == exact_drive_ratio([(18, 36)]) == 2


@pytest.mark.parametrize(
    ("make", "field", "words"),
    [
        (lambda: wrap_angles_deg(8, 18, 36, 60), "centre_mm", "too small"),
        (lambda: chain_length_pitches(5, 18, 36), "centre_pitches", "too small"),
        (lambda: centre_distance_pitches(30, 18, 36), "length_pitches", "too short"),
        (lambda: centre_distance_pitches(5, 18, 36), "length_pitches", "too short"),
        (lambda: pitch_diameter_mm(8, 2), "teeth", "at least 3"),
        (lambda: pitch_diameter_mm(-8, 18), "pitch_mm", "more than 0"),
        (lambda: drive_ratio([(18,)]), "stages", "pair"),
        (lambda: drive_ratio([(18, 36.0)]), "stages", "whole"),
        (lambda: drive_ratio(18), "stages", "list"),
    ],
)
def test_what_no_chain_can_do_is_refused(make, field, words):
    with pytest.raises(InputError, match=words) as refused:
        make()

    assert refused.value.field == field
