"""Phasers: what they can reach, and the least gap on the way."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.clearance import ValveRoom
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.lift import LiftCurve
from quizsvc.timing.phaser import Phaser, phase_error_deg
from quizsvc.timing.valves import ValveEvents

PARKED = ValveEvents(0, 60, 50, 10)
SLIDER = SliderCrank(86, 143)


@given(st.floats(0, 60), st.floats(0, 1))
def test_an_intake_phaser_moves_the_intake_alone(reach, part):
    moved = Phaser("intake", advance_deg=reach).events(PARKED, part * reach)

    assert moved.ivo_btdc == pytest.approx(part * reach)
    assert moved.ivc_abdc == pytest.approx(60 - part * reach)
    assert (moved.evo_bbdc, moved.evc_atdc) == (50, 10)


@given(st.floats(0, 60), st.floats(0, 60), st.sampled_from(["intake", "exhaust"]))
def test_the_overlap_range_is_as_wide_as_the_phaser_reaches(advance, retard, valve):
    phaser = Phaser(valve, advance, retard)

    least, most = phaser.overlap_range_deg(PARKED)

    assert most - least == pytest.approx(advance + retard, abs=1e-9)
    assert phaser.range_cam_deg == pytest.approx((most - least) / 2)
    assert least - 1e-9 <= PARKED.overlap_deg <= most + 1e-9


@settings(max_examples=8)
@given(st.integers(0, 60), st.integers(0, 30), st.floats(3, 8))
def test_the_least_gap_of_the_range_is_the_least_of_all_its_places(advance, retard, room):
    parked = ValveRoom("intake", LiftCurve(360, 600, 9), room)

    least = Phaser("intake", advance, retard).least_gap(parked, SLIDER)

    by_hand = min(
        SLIDER.drop_mm(own) + room - parked.curve.lift_mm(own - late)
        for late in range(-advance, retard + 1)
        for own in range(300, 460)
    )
    # Whole degrees miss a smooth least value by a few thousandths of a mm.
    assert least.gap_mm == pytest.approx(by_hand, abs=0.01)
    assert least.gap_mm <= parked.least_gap(SLIDER).gap_mm


def test_a_position_out_of_reach_is_refused():
    with pytest.raises(InputError, match="at most 50") as refused:
        Phaser("intake", advance_deg=50).events(PARKED, 51)
    assert refused.value.field == "advanced_deg"

    with pytest.raises(InputError, match="at least -20"):
        Phaser("exhaust", retard_deg=20).events(PARKED, -21)


@given(st.floats(-60, 60), st.floats(-60, 60))
def test_a_phaser_behind_its_command_has_a_positive_error(commanded, measured):
    assert phase_error_deg(commanded, measured) == pytest.approx(commanded - measured, abs=1e-9)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Phaser("inlet"), "valve"),
        (lambda: Phaser("intake", advance_deg=-1), "advance_deg"),
        (lambda: Phaser("intake", retard_deg=181), "retard_deg"),
        (lambda: phase_error_deg("30", 20), "commanded_deg"),
    ],
)
def test_a_phaser_that_cannot_be_is_refused_by_name(make, field):
    with pytest.raises(InputError) as refused:
        make()

    assert refused.value.field == field
