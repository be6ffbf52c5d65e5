"""Tone wheels against a list of teeth written out, times, and correlation."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.sensors import (
    ToneWheel,
    correlation_error_deg,
    degrees_to_ms,
    ms_to_degrees,
    teeth_of_error,
)

WHEELS = st.builds(
    ToneWheel,
    st.integers(8, 60),
    st.integers(0, 3),
    st.floats(-360, 360),
    st.sampled_from([1.0, 0.5]),
)


def test_one_degree_at_3000_rpm():
    # Second method: 3000 turns of 360° in 60 s.
    assert degrees_to_ms(1, 3000) * 1000 == pytest.approx(55.56, abs=0.005)
    assert degrees_to_ms(1, 3000) == pytest.approx(60_000 / (3000 * 360))


@given(st.floats(-720, 720), st.floats(100, 9000))
def test_time_and_angle_turn_each_other_round(deg, rpm):
    assert ms_to_degrees(degrees_to_ms(deg, rpm), rpm) == pytest.approx(deg, abs=1e-9)


@given(WHEELS)
def test_steps_and_gap_make_a_full_turn(wheel):
    assert (wheel.teeth - 1) * wheel.step_deg + wheel.gap_deg == pytest.approx(360)
    assert wheel.step_crank_deg == pytest.approx(wheel.step_deg / wheel.turns_per_crank_turn)


@given(WHEELS)
def test_each_tooth_is_named_at_its_own_edge_and_raises_the_signal(wheel):
    for tooth in range(1, wheel.teeth + 1):
        edge = wheel.edge_deg(tooth)
        assert wheel.tooth_at(edge) == tooth
        assert wheel.level(edge) == 1
        assert wheel.level(edge + 0.75 * wheel.step_crank_deg) == 0
        assert wheel.tooth_at(edge + 0.75 * wheel.step_crank_deg) == tooth


@settings(max_examples=40)
@given(WHEELS, st.floats(0, 720))
def test_the_signal_is_that_of_the_teeth_written_out_one_by_one(wheel, crank_deg):
    # Second method: every tooth as an interval on the wheel.
    turned = (crank_deg - wheel.first_edge_deg) * wheel.turns_per_crank_turn % 360
    edges = [i * 360 / wheel.places for i in range(wheel.places - wheel.missing)]
    near = [abs(turned - e - part * 360 / wheel.places) for e in edges for part in (0, 0.5, 1)]
    if min([*near, turned, 360 - turned]) < 1e-6:
        return  # at an edge itself rounding decides
    passed = [e for e in edges if e <= turned]

    assert wheel.tooth_at(crank_deg) == len(passed)
    assert wheel.level(crank_deg) == int(turned - passed[-1] < 180 / wheel.places)


def test_the_trace_of_a_60_less_2_wheel_has_58_pulses_and_one_long_pause():
    wheel = ToneWheel(60, 2, first_edge_deg=114)

    trace = [wheel.level(114 + i / 10) for i in range(3600)]

    rises = [i for i in range(3600) if trace[i] and not trace[i - 1]]
    apart = [(b - a) / 10 for a, b in zip(rises, [*rises[1:], rises[0] + 3600], strict=True)]
    assert len(rises) == 58
    assert sorted(set(apart)) == [6, 18]
    assert apart.count(18) == 1


@given(st.floats(0, 719.9), st.floats(-350, 350))
def test_a_cam_edge_that_comes_late_has_a_positive_error(specified, late):
    assert correlation_error_deg(specified, specified + late) == pytest.approx(late, abs=1e-6)


@given(st.integers(-5, 5), st.floats(-0.4, 0.4), st.sampled_from([15.0, 18.0, 20.0]))
def test_an_error_is_read_as_the_nearest_whole_teeth(teeth, rest, tooth_deg):
    assert teeth_of_error((teeth + rest) * tooth_deg, tooth_deg) == teeth


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: ToneWheel(0), "places"),
        (lambda: ToneWheel(60, 60), "missing"),
        (lambda: ToneWheel(60, -1), "missing"),
        (lambda: ToneWheel(60, 2, math.nan), "first_edge_deg"),
        (lambda: ToneWheel(60, 2, 0, 0), "turns_per_crank_turn"),
        (lambda: ToneWheel(60, 2).edge_deg(59), "tooth"),
        (lambda: degrees_to_ms(1, 0), "rpm"),
        (lambda: teeth_of_error(10, 20), "error_deg"),
        (lambda: teeth_of_error(-30, 20), "error_deg"),
        (lambda: teeth_of_error(1, 0), "tooth_deg"),
    ],
)
def test_a_signal_that_cannot_be_is_refused_by_name(make, field):
    with pytest.raises(InputError) as refused:
        make()

    assert refused.value.field == field
