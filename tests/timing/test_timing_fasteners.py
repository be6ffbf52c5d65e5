"""Adapters, units, turning by angle and damper arcs against forces and points drawn out."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.fasteners import (
    adapter_setting_nm,
    damper_angle_deg,
    damper_arc_mm,
    final_mark_deg,
    flats_turned,
    kilogram_force_metres,
    newton_metres,
    pound_force_feet,
    thread_advance_mm,
    torque_at_bolt_nm,
)


@given(st.floats(5, 300), st.floats(200, 700), st.floats(0, 150), st.floats(0, 360))
def test_the_bolt_gets_the_torque_asked_for_by_the_moments_of_the_hand_force(
    torque, wrench, adapter, angle
):
    # Second method: bolt at the origin, adapter out to the square, wrench on from there, the
    # hand's force square to the wrench; its moment about the bolt is what the bolt gets.
    setting = adapter_setting_nm(torque, wrench, adapter, angle)

    force = setting / wrench  # what makes the wrench click
    square = (adapter * math.cos(math.radians(angle)), adapter * math.sin(math.radians(angle)))
    hand = (square[0] + wrench, square[1])
    moment = hand[0] * force  # the force points along y
    assert moment == pytest.approx(torque)


@given(st.floats(5, 300), st.floats(200, 700), st.floats(1, 150))
def test_an_adapter_ahead_lowers_the_setting_and_one_turned_back_raises_it(torque, wrench, adapter):
    assert adapter_setting_nm(torque, wrench, adapter) < torque
    assert adapter_setting_nm(torque, wrench, adapter, 90) == torque
    assert adapter_setting_nm(torque, wrench, adapter, 270) == torque
    assert adapter_setting_nm(torque, wrench, adapter, 180) > torque
    assert torque_at_bolt_nm(torque, wrench, adapter) > torque


@given(st.floats(0.1, 1000))
def test_units_of_torque_turn_each_other_round(torque):
    assert newton_metres(pound_force_feet(torque)) == pytest.approx(torque)
    # Second method: one kgf·m is 9.80665 N·m, one lbf·ft is 0.45359237 kgf × 0.3048 m.
    assert kilogram_force_metres(torque) == pytest.approx(
        pound_force_feet(torque) * 0.45359237 * 0.3048
    )


def test_one_degree_on_a_damper_of_165_mm():
    # Second method: the arc of 3,600 short chords over the whole rim.
    chords = 3600 * 165 * math.sin(math.pi / 3600)

    assert damper_arc_mm(165) == pytest.approx(1.43990, abs=0.000005)
    assert damper_arc_mm(165, 360) == pytest.approx(chords, rel=1e-6)


@given(st.floats(80, 300), st.floats(-90, 90))
def test_an_arc_on_the_damper_is_read_back_as_its_angle(diameter, deg):
    arc = damper_arc_mm(diameter, deg)

    assert damper_angle_deg(diameter, arc) == pytest.approx(deg, abs=1e-9)
    chord = diameter * math.sin(math.radians(abs(deg)) / 2)
    assert abs(arc) >= chord - 1e-9


@given(st.floats(0, 359), st.lists(st.floats(0, 180), max_size=4))
def test_tightening_angles_add_up_on_the_head(start, stages):
    mark = final_mark_deg(start, *stages)

    turned = sum(stages)
    assert (mark - start - turned + 180) % 360 == pytest.approx(180, abs=1e-6)
    assert flats_turned(turned) * 60 == pytest.approx(turned)
    assert thread_advance_mm(turned, 1.5) == pytest.approx(turned / 360 * 1.5)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: adapter_setting_nm(80, 40, 40, 180), "adapter_mm"),
        (lambda: adapter_setting_nm(80, 0, 5), "wrench_mm"),
        (lambda: adapter_setting_nm(math.nan, 40, 5), "torque_nm"),
        (lambda: torque_at_bolt_nm(0, 40, 5), "setting_nm"),
        (lambda: newton_metres("1"), "lbf_ft"),
        (lambda: damper_arc_mm(0), "diameter_mm"),
        (lambda: thread_advance_mm(90, 0), "thread_pitch_mm"),
        (lambda: flats_turned(-60), "angle_deg"),
        (lambda: final_mark_deg(0, -90), "stages_deg"),
    ],
)
def test_a_tightening_that_cannot_be_is_refused_by_name(make, field):
    with pytest.raises(InputError) as refused:
        make()

    assert refused.value.field == field
