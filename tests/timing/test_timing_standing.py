"""Valves that stand still, against drawn samples of the gap."""

from math import cos, radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.clearance import ValveRoom
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.lift import LiftCurve
from quizsvc.timing.standing import standing_meetings

INTAKE = ValveRoom("intake", LiftCurve(340, 600, 10), room_mm=4, tilt_deg=15)


@settings(max_examples=60)
@given(lift=st.floats(0, 10), offset=st.floats(-2, 2))
def test_a_standing_valve_is_met_just_where_the_gap_is_gone(lift, offset):
    slider = SliderCrank(86, 143, offset)

    meetings = standing_meetings(INTAKE, slider, lift)

    for deg in range(-180, 180):
        gone = INTAKE.gap_from_mm(slider.drop_mm(deg), lift) < -1e-6
        clear = INTAKE.gap_from_mm(slider.drop_mm(deg), lift) > 1e-6
        inside = any(
            (deg - one.from_deg) % 360 <= (one.to_deg - one.from_deg) % 360 for one in meetings
        )
        assert inside or not gone, deg
        assert not inside or not clear, deg


def test_a_closed_valve_is_never_met():
    assert standing_meetings(INTAKE, SliderCrank(86, 143), 0.0) == ()


def test_a_valve_that_reaches_beyond_the_stroke_is_met_all_round():
    tall = ValveRoom("intake", LiftCurve(340, 600, 10), room_mm=0.1)

    [meeting] = standing_meetings(tall, SliderCrank(4, 143), 9.0)

    assert (meeting.from_deg, meeting.to_deg) == (0.0, 360.0)


def test_a_negative_lift_is_refused():
    with pytest.raises(InputError, match="lift_mm"):
        standing_meetings(INTAKE, SliderCrank(86, 143), -1.0)


@given(deg=st.floats(-720, 720))
def test_the_rod_leans_as_crankpin_and_piston_pin_say(deg):
    slider = SliderCrank(86, 143, 1.0)

    lean = slider.rod_lean_deg(deg)

    # Height of the piston pin over the crank, once from the drop and once from the lean.
    top = ((143 + 43) ** 2 - 1) ** 0.5
    height = 43 * cos(radians(deg + slider.tdc_deg)) + 143 * cos(radians(lean))
    assert abs(top - slider.drop_mm(deg) - height) < 1e-6
