"""Values from outside, each with its source and why its tolerance is what it is.

Unless said otherwise the tolerance is half of the last digit printed in the source.
"""

import math

import pytest

from quizsvc.timing.belt import capstan_ratio, span_frequency_hz, span_tension_n
from quizsvc.timing.chain import (
    centre_distance_pitches,
    chain_length_pitches,
    pitch_diameter_mm,
    speed_ripple,
)
from quizsvc.timing.clearance import LEAST_EXHAUST_GAP_MM, LEAST_INTAKE_GAP_MM
from quizsvc.timing.crank import (
    SliderCrank,
    displacement_cc,
    safe_position,
    stop_angle_deg,
    wheel_error_deg,
)
from quizsvc.timing.cycle import (
    cross_plane_v8,
    firing_angles_deg,
    firing_interval_deg,
    inline_layout,
    stroke_at,
    vee_layout,
)
from quizsvc.timing.fasteners import (
    adapter_setting_nm,
    newton_metres,
    pound_force_feet,
    torque_at_bolt_nm,
)
from quizsvc.timing.marks import realign_revolutions
from quizsvc.timing.sensors import ToneWheel
from quizsvc.timing.valves import ValveEvents
from quizsvc.timing.wear import FIXED_CENTRES_LIMIT_PERCENT, elongation_limit_percent

INCH = 25.4


@pytest.mark.parametrize(("teeth", "inches"), [(17, 2.721), (65, 10.349)])
def test_pitch_diameter_of_a_half_inch_chain(teeth, inches):
    # Mott, Machine Elements in Mechanical Design, 4th ed., Example 7-3.
    assert pitch_diameter_mm(0.5, teeth) == pytest.approx(inches, abs=0.0005)


@pytest.mark.parametrize(("teeth", "mm"), [(17, 138.23), (18, 146.27), (36, 291.43)])
def test_pitch_diameter_of_a_one_inch_chain(teeth, mm):
    # Sprocket table by the same formula, p = 25.4 mm; it cuts 291.4275 up, 146.2716 down.
    assert pitch_diameter_mm(INCH, teeth) == pytest.approx(mm, abs=0.006)


def test_chain_length_and_centre_distance_of_the_worked_example():
    # Mott, 4th ed., Example 7-3: n 17, N 65, C 30 pitches, p 0.5 in.
    assert chain_length_pitches(30, 17, 65) == pytest.approx(102.9, abs=0.06)  # 102.945 printed so
    assert centre_distance_pitches(104, 17, 65) == pytest.approx(30.54, abs=0.005)
    assert centre_distance_pitches(104, 17, 65) * 0.5 == pytest.approx(15.272, abs=0.0015)


@pytest.mark.parametrize(("teeth", "percent"), [(16, 1.92), (20, 1.23)])
def test_polygon_effect(teeth, percent):
    # Machine-element texts, polygon effect 1 − cos(π/N).
    assert 100 * speed_ripple(teeth) == pytest.approx(percent, abs=0.005)


def test_elongation_limits():
    # Common practice of chain makers: 3 %, 200/N % above 67 teeth, 1.5 % on fixed centres.
    assert elongation_limit_percent(36) == 3
    assert elongation_limit_percent(67) == 3
    assert elongation_limit_percent(80) == 2.5
    assert FIXED_CENTRES_LIMIT_PERCENT == 1.5


def test_angle_of_peak_piston_speed():
    # A published piston-motion calculation: throw 1.6535 in, rod 6.024 in, 6000 rpm.
    slider = SliderCrank(2 * 1.6535, 6.024)

    assert slider.peak_speed_deg() == pytest.approx(75.62, abs=0.005)
    speeds = [slider.speed_m_s(slider.peak_speed_deg() + off, 6000) for off in (-1, 0, 1)]
    assert speeds[1] == max(speeds)


@pytest.mark.parametrize(
    ("cylinders", "interval"), [(3, 240), (4, 180), (5, 144), (6, 120), (8, 90)]
)
def test_firing_intervals(cylinders, interval):
    # Engine texts: 720 / n.
    assert firing_interval_deg(cylinders) == interval


def test_strokes_of_an_inline_four_over_the_first_half_turn():
    # Engine texts: order 1-3-4-2, from 0 to 180°.
    firing = firing_angles_deg((1, 3, 4, 2))

    for crank_deg in (0, 1, 90, 179.9):
        strokes = [str(stroke_at(firing[cylinder], crank_deg)) for cylinder in (1, 2, 3, 4)]
        assert strokes == ["power", "exhaust", "compression", "intake"]


@pytest.mark.parametrize(
    ("layout", "atdc_deg"),
    [
        (inline_layout((1, 3, 4, 2)), 90),
        (inline_layout((1, 5, 3, 6, 2, 4)), 60),
        (vee_layout((1, 2, 3, 4, 5, 6), 60), 60),
        (cross_plane_v8((1, 8, 4, 3, 6, 5, 7, 2)), 45),
        (inline_layout((1, 2, 4, 5, 3)), 36),
    ],
)
def test_safe_position_is_half_the_spacing_of_the_dead_centres(layout, atdc_deg):
    # 60° ATDC for an even-firing V6: common practice, no source. The others follow alike.
    assert safe_position(layout, SliderCrank(86, 143)).atdc_deg == pytest.approx(atdc_deg)


def test_events_and_separation_of_a_20_60_cam():
    # Tuning texts.
    events = ValveEvents(20, 60, 60, 20)

    assert (events.intake_duration_deg, events.exhaust_duration_deg) == (260, 260)
    assert events.lobe_separation_cam_deg == 110
    assert events.advanced(5) == ValveEvents(25, 55, 65, 15)
    assert events.advanced(-5) == ValveEvents(15, 65, 55, 25)


def test_a_cam_card():
    # Cam cards: intake 6/42, exhaust closes 12 after.
    events = ValveEvents(6, 42, 40, 12)

    assert events.intake_duration_deg == 228
    assert events.intake_lobe_centre_atdc == 108
    assert events.overlap_deg == 18


def test_a_cam_card_whose_intake_opens_after_tdc():
    # Cam cards: IVO 10° after TDC, IVC 39.
    events = ValveEvents(-10, 39, 39, -10)

    assert events.intake_duration_deg == 209
    assert events.intake_lobe_centre_atdc == 114.5


def test_degree_wheel_with_a_positive_stop():
    # Degree-wheel practice: 36.75 / 35.25.
    assert stop_angle_deg(36.75, 35.25) == 36
    assert wheel_error_deg(36.75, 35.25) == 0.75


def test_customary_least_gaps():
    # Common practice, no source: 0.080 in and 0.100 in.
    assert pytest.approx(0.080 * INCH, abs=0.005) == LEAST_INTAKE_GAP_MM
    assert pytest.approx(0.100 * INCH, abs=0.005) == LEAST_EXHAUST_GAP_MM


@pytest.mark.parametrize(
    ("places", "missing", "teeth", "step", "gap"), [(60, 2, 58, 6, 18), (36, 1, 35, 10, 20)]
)
def test_usual_crank_wheels(places, missing, teeth, step, gap):
    # Common practice, no source.
    wheel = ToneWheel(places, missing)

    assert (wheel.teeth, wheel.step_deg, wheel.gap_deg) == (teeth, step, gap)


def test_note_of_a_belt_span():
    # Belt texts: T = 4 m L² f²; m 0.11 kg/m, L 0.17 m, T 624 N.
    assert span_frequency_hz(624, 0.11, 0.17) == pytest.approx(221.5, abs=0.05)
    assert span_tension_n(221.5, 0.11, 0.17) == pytest.approx(624, abs=0.5)


def test_capstan_of_five_turns():
    # Reference tables: μ 0.6, five turns.
    assert capstan_ratio(0.6, 5 * 360) == pytest.approx(153_552_935, abs=1)


@pytest.mark.parametrize(("angle", "setting"), [(0, 71.1), (90, 80), (180, 91.4)])
def test_torque_adapter(angle, setting):
    # Torque-adapter tables: T 80, L 40, E 5; straight, square, reversed.
    assert adapter_setting_nm(80, 40, 5, angle) == pytest.approx(setting, abs=0.05)
    assert torque_at_bolt_nm(adapter_setting_nm(80, 40, 5, angle), 40, 5, angle) == pytest.approx(
        80
    )


def test_pound_force_foot():
    # NIST SP 811: 1 lbf·ft = 1.355 817 948 3 N·m.
    assert newton_metres(1) == 1.3558179483
    assert newton_metres(1) == pytest.approx(0.45359237 * 9.80665 * 0.3048, abs=1e-10)
    assert pound_force_feet(newton_metres(77)) == pytest.approx(77)


def test_displacement_of_four_cylinders():
    # A published worked example: 87 × 69 mm × 4.
    assert displacement_cc(87, 69, 4) == pytest.approx(1641, abs=0.5)
    assert displacement_cc(87, 69, 4) == pytest.approx(math.pi * 8.7**2 * 6.9)


@pytest.mark.parametrize(("links", "teeth", "turns"), [(96, 15, 32), (96, 14, 48)])
def test_marked_link_meets_the_crank_mark_again(links, teeth, turns):
    # A published worked example: lcm(links, teeth) / teeth.
    assert realign_revolutions(links, teeth) == turns
