"""Signal families against published and customary values."""

from __future__ import annotations

import pytest
from drawn_items import items_of

from quizsvc.figures import tone_wheel
from quizsvc.items.families.correlation import Correlation
from quizsvc.items.families.degrees_to_ms import Turn
from quizsvc.items.families.tooth_at_edge import Edge
from quizsvc.items.families.wheel_tooth import Turning
from quizsvc.items.model import Kind
from quizsvc.timing.sensors import ToneWheel


@pytest.mark.parametrize(
    ("wheel", "teeth", "step", "gap"),
    [
        # Common practice, no source: 60−2 and 36−1 wheels.
        (ToneWheel(60, 2), 58, 6, 18),
        (ToneWheel(36, 1), 35, 10, 20),
    ],
)
def test_wheels_have_their_customary_steps_and_gaps(wheel, teeth, step, gap):
    assert (wheel.teeth, wheel.step_deg, wheel.gap_deg) == (teeth, step, gap)


def test_58_teeth_at_3000_rpm_give_2900_pulses_a_second():
    # By hand: 58 × 3000 / 60.
    assert Turning(ToneWheel(60, 2), 3000).pulses_per_s == 2900


def test_a_degree_at_3000_rpm_takes_55_56_microseconds():
    # Second method: 1 / (6 rpm).
    assert Turn(1, 3000).ms * 1000 == pytest.approx(55.56, abs=0.005)


def test_the_first_tooth_stands_at_no_steps():
    wheel = ToneWheel(60, 2, 84)

    assert Edge(wheel, 1).crank_deg == 84
    assert Edge(wheel, 15).crank_deg == 168


def test_three_teeth_later_on_a_60_wheel_are_18_degrees_late():
    late = Correlation(ToneWheel(60, 2), 24, 27, 40)

    assert (late.late_deg, late.cam_teeth_late) == (18, 1)


def test_correlation_never_rests_on_rounding():
    for item in items_of("correlation"):
        if item.asked.quantity != "teeth_off":
            continue
        steps = item.givens["measured_tooth"].value - item.givens["specified_tooth"].value
        late = steps * 360 / item.givens["places"].value
        off = abs(late - item.key.value * 720 / item.givens["cam_teeth"].value)
        assert off <= 0.2 * 720 / item.givens["cam_teeth"].value


def test_letters_around_a_wheel_do_not_share_ground():
    for item in items_of("first-tooth"):
        if item.kind is not Kind.POINT:
            continue
        areas = item.places
        assert len(areas) == 5
        for i, one in enumerate(areas):
            for other in areas[i + 1 :]:
                apart = sum((a - b) ** 2 for a, b in zip(one.centre, other.centre, strict=True))
                assert apart**0.5 >= one.radius + other.radius


def test_the_figure_never_states_the_step_that_is_asked():
    for item in items_of("wheel-tooth"):
        if item.asked.quantity == "tooth_deg":
            step = f"{360 / item.givens['places'].value:g}°"
            assert step not in item.figure_alt


def test_the_drawn_wheel_has_the_teeth_of_the_question():
    for item in items_of("tooth-at-edge")[:30]:
        view = item.figure.args[0]
        wheel = ToneWheel(item.givens["places"].value, item.givens["missing"].value)
        assert len(tone_wheel.tooth_edges_deg(view)) == wheel.teeth
