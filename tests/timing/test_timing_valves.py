"""Valve events: their sums, signs and what is open when."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.cycle import firing_angles_deg
from quizsvc.timing.valves import ValveEvents, open_valves

EVENT = st.floats(-40, 80)
EVENTS = st.builds(ValveEvents, EVENT, EVENT, EVENT, EVENT)


@given(EVENTS, st.floats(-30, 30))
def test_advancing_raises_ivo_and_evo_and_lowers_ivc_and_evc(events, crank_deg):
    moved = events.advanced(crank_deg)

    assert moved.ivo_btdc - events.ivo_btdc == pytest.approx(crank_deg, abs=1e-9)
    assert moved.evo_bbdc - events.evo_bbdc == pytest.approx(crank_deg, abs=1e-9)
    assert moved.ivc_abdc - events.ivc_abdc == pytest.approx(-crank_deg, abs=1e-9)
    assert moved.evc_atdc - events.evc_atdc == pytest.approx(-crank_deg, abs=1e-9)


@given(EVENTS, st.floats(-30, 30))
def test_advancing_both_cams_changes_no_duration_and_no_separation(events, crank_deg):
    moved = events.advanced(crank_deg)

    assert moved.intake_duration_deg == pytest.approx(events.intake_duration_deg)
    assert moved.overlap_deg == pytest.approx(events.overlap_deg, abs=1e-9)
    assert moved.lobe_separation_cam_deg == pytest.approx(events.lobe_separation_cam_deg)
    assert moved.intake_lobe_centre_atdc == pytest.approx(
        events.intake_lobe_centre_atdc - crank_deg
    )


@given(EVENTS, st.floats(-30, 30))
def test_one_cam_alone_moves_the_overlap(events, crank_deg):
    intake = events.advanced(crank_deg, exhaust=False)
    exhaust = events.advanced(crank_deg, intake=False)

    assert intake.overlap_deg - events.overlap_deg == pytest.approx(crank_deg, abs=1e-9)
    assert exhaust.overlap_deg - events.overlap_deg == pytest.approx(-crank_deg, abs=1e-9)
    assert intake.evo_bbdc == events.evo_bbdc


@given(EVENTS)
def test_lobe_centres_stand_in_the_middle_of_the_openings(events):
    # Second method: the middle between the two events on the cycle's scale.
    intake = (360 - events.ivo_btdc + 540 + events.ivc_abdc) / 2
    exhaust = (180 - events.evo_bbdc + 360 + events.evc_atdc) / 2

    assert 360 + events.intake_lobe_centre_atdc == pytest.approx(intake)
    assert 360 - events.exhaust_lobe_centre_btdc == pytest.approx(exhaust)
    assert events.lobe_separation_cam_deg == pytest.approx((intake - exhaust) / 2)


@given(EVENTS)
def test_the_overlap_is_the_part_of_the_cycle_with_both_valves_open(events):
    steps = 7200

    both = sum(
        events.is_open("intake", 720 * i / steps) and events.is_open("exhaust", 720 * i / steps)
        for i in range(steps)
    )

    assert both * 720 / steps == pytest.approx(max(0, events.overlap_deg), abs=0.2)


@settings(max_examples=40)
@given(EVENTS, st.permutations([1, 2, 3, 4, 5, 6]), st.floats(0, 720))
def test_open_valves_are_those_between_their_events(events, order, crank_deg):
    firing = firing_angles_deg(order)

    found = open_valves(events, firing, crank_deg)

    for cylinder in order:
        own = (crank_deg - firing[cylinder]) % 720
        inlet = (own - (360 - events.ivo_btdc)) % 720 < events.intake_duration_deg
        outlet = (own - (180 - events.evo_bbdc)) % 720 < events.exhaust_duration_deg
        assert ((cylinder, "intake") in found) == inlet
        assert ((cylinder, "exhaust") in found) == outlet
    assert [cylinder for cylinder, _ in found] == sorted(cylinder for cylinder, _ in found)


def test_events_on_the_cylinders_own_scale_run_exhaust_then_intake():
    events = ValveEvents(10, 50, 55, 8)

    assert (events.exhaust_open_deg, events.exhaust_close_deg) == (125, 368)
    assert (events.intake_open_deg, events.intake_close_deg) == (350, 590)
    assert events.open_deg("intake") == 350
    assert events.close_deg("exhaust") == 368
    assert events.duration_deg("exhaust") == 243


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ((math.nan, 1, 1, 1), "ivo_btdc"),
        ((1, "50", 1, 1), "ivc_abdc"),
        ((1, 1, True, 1), "evo_bbdc"),
        ((1, 1, 1, 180), "evc_atdc"),
        ((-100, -100, 1, 1), "ivc_abdc"),
        ((1, 1, -100, -100), "evc_atdc"),
    ],
)
def test_events_that_cannot_be_are_refused_by_name(values, field):
    with pytest.raises(InputError) as refused:
        ValveEvents(*values)

    assert refused.value.field == field
