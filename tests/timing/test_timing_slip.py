"""Slip by teeth against turning every cylinder through the cycle in small steps."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.clearance import ValveRoom
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.cycle import cross_plane_v8, inline_layout
from quizsvc.timing.lift import LiftCurve
from quizsvc.timing.slip import (
    first_contact,
    greatest_common_lift_mm,
    slip_tolerance,
    valves_may_meet,
)

SLIDER = SliderCrank(86, 143)
FOUR = inline_layout((1, 3, 4, 2)).firing_deg
TOOTH = 20.0  # a cam sprocket of 36 teeth


def rooms_of(room, lift=10.0, tilt=0.0):
    return (
        ValveRoom("intake", LiftCurve(345, 590, lift), room, tilt),
        ValveRoom("exhaust", LiftCurve(130, 375, lift), room, tilt),
    )


def turned_until_contact(rooms, firing_deg, shift, from_deg, step=0.1):
    """Second method: turn the crank on in small steps and look at every valve."""
    for i in range(round(720 / step) + 1):
        crank_deg = from_deg + i * step
        for cylinder in sorted(firing_deg):
            for room in rooms:
                own = crank_deg - firing_deg[cylinder]
                lift = room.curve.lift_mm(own - shift) * math.cos(math.radians(room.tilt_deg))
                if SLIDER.drop_mm(own) + room.room_mm - lift <= 0:
                    return room.valve, cylinder, crank_deg % 720
    return None


@settings(max_examples=12)
@given(
    st.floats(2.5, 9.5), st.integers(-9, 9), st.floats(0, 719), st.floats(0, 25),
    st.sampled_from([FOUR, {2: 540.0, 3: 180.0}]),
)  # fmt: skip
def test_the_first_contact_is_the_one_met_when_the_crank_is_turned(
    room, teeth, from_deg, tilt, firing_deg
):
    rooms = rooms_of(room, tilt=tilt)

    contact = first_contact(
        rooms, SLIDER, firing_deg, teeth_off=teeth, tooth_deg=TOOTH, from_deg=from_deg
    )

    turned = turned_until_contact(rooms, firing_deg, teeth * TOOTH, from_deg)
    if contact is None or turned is None:
        # Only a touch too shallow to be seen in steps may be missed by one of the two.
        assert min(r.retarded(teeth * TOOTH).least_gap(SLIDER).gap_mm for r in rooms) > -0.01
    else:
        assert abs((turned[2] - contact.crank_deg + 360) % 720 - 360) < 0.11
        assert (turned[0], turned[1]) == (contact.valve, contact.cylinder)


@pytest.mark.parametrize("room", [3.0, 4.5, 6.0, 8.0])
def test_tolerance_is_the_last_tooth_before_any_contact_each_way(room):
    rooms = rooms_of(room)

    tolerance = slip_tolerance(rooms, SLIDER, FOUR, tooth_deg=TOOTH)

    for way, free in ((-1, tolerance.advanced_teeth), (1, tolerance.retarded_teeth)):
        for teeth in range(free + 1):
            assert turned_until_contact(rooms, FOUR, way * teeth * TOOTH, 0, step=0.5) is None
        assert turned_until_contact(rooms, FOUR, way * (free + 1) * TOOTH, 0, step=0.5)
    assert tolerance.interference


def test_an_early_cam_meets_the_intake_and_a_late_one_the_exhaust():
    tolerance = slip_tolerance(rooms_of(4), SLIDER, FOUR, tooth_deg=TOOTH)

    assert tolerance.advanced_contact.valve == "intake"
    assert tolerance.retarded_contact.valve == "exhaust"
    assert tolerance.advanced_contact.teeth_off == -tolerance.advanced_teeth - 1
    assert tolerance.retarded_contact.teeth_off == tolerance.retarded_teeth + 1


def test_an_engine_with_room_for_the_whole_lift_has_no_contact_at_any_slip():
    tolerance = slip_tolerance(rooms_of(10.1), SLIDER, FOUR, tooth_deg=TOOTH)

    assert not tolerance.interference
    assert (tolerance.advanced_teeth, tolerance.retarded_teeth) == (35, 35)
    assert tolerance.advanced_contact is tolerance.retarded_contact is None


def test_more_room_never_allows_less_slip():
    teeth = [
        slip_tolerance(rooms_of(2.5 + 0.5 * i), SLIDER, FOUR, tooth_deg=TOOTH) for i in range(15)
    ]

    assert [t.advanced_teeth for t in teeth] == sorted(t.advanced_teeth for t in teeth)
    assert [t.retarded_teeth for t in teeth] == sorted(t.retarded_teeth for t in teeth)


def test_only_the_cylinders_the_slipped_cam_serves_can_be_named():
    firing = cross_plane_v8((1, 8, 4, 3, 6, 5, 7, 2)).firing_deg
    left = {cylinder: firing[cylinder] for cylinder in (1, 3, 5, 7)}

    for from_deg in range(0, 720, 45):
        tolerance = slip_tolerance(
            rooms_of(4), SLIDER, left, tooth_deg=TOOTH, from_deg=float(from_deg)
        )
        assert tolerance.advanced_contact.cylinder in left
        assert tolerance.retarded_contact.cylinder in left


def test_a_valve_that_overlaps_already_is_named_where_the_crank_stands():
    contact = first_contact(
        rooms_of(4), SLIDER, {1: 0.0}, teeth_off=-4, tooth_deg=TOOTH, from_deg=362
    )

    assert (contact.valve, contact.cylinder, contact.crank_deg) == ("intake", 1, 362)


def test_an_engine_whose_valves_meet_in_time_is_refused():
    with pytest.raises(InputError, match="in time") as refused:
        slip_tolerance(rooms_of(0.05), SLIDER, FOUR, tooth_deg=TOOTH)

    assert refused.value.field == "rooms"


@settings(max_examples=30)
@given(st.floats(300, 420), st.floats(300, 420))
def test_common_lift_is_the_greatest_lift_both_have(intake_opens, exhaust_closes):
    intake = LiftCurve(intake_opens, intake_opens + 250, 9)
    exhaust = LiftCurve(exhaust_closes - 240, exhaust_closes, 8)

    common = greatest_common_lift_mm(intake, exhaust)

    sampled = max(min(intake.lift_mm(i / 20), exhaust.lift_mm(i / 20)) for i in range(14400))
    assert common == pytest.approx(sampled, abs=0.02)


def test_cams_that_move_towards_each_other_may_bring_their_valves_together():
    intake, exhaust = LiftCurve(345, 590, 9), LiftCurve(130, 375, 9)

    assert not valves_may_meet((intake, exhaust), (intake, exhaust))
    assert valves_may_meet((intake, exhaust), (intake.retarded(-20), exhaust))
    assert valves_may_meet((intake, exhaust), (intake, exhaust.retarded(20)))
    assert not valves_may_meet((intake, exhaust), (intake.retarded(20), exhaust.retarded(20)))


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: slip_tolerance([], SLIDER, FOUR, tooth_deg=20), "rooms"),
        (lambda: slip_tolerance([1], SLIDER, FOUR, tooth_deg=20), "rooms"),
        (lambda: slip_tolerance(rooms_of(4), SLIDER, FOUR, tooth_deg=0), "tooth_deg"),
        (
            lambda: first_contact(
                rooms_of(4), SLIDER, FOUR, teeth_off=1, tooth_deg=20, from_deg=math.nan
            ),
            "from_deg",
        ),
        (
            lambda: first_contact(rooms_of(4), SLIDER, FOUR, teeth_off=1.5, tooth_deg=20),
            "teeth_off",
        ),
    ],
)
def test_a_slip_that_cannot_be_computed_is_refused_by_name(make, field):
    with pytest.raises(InputError) as refused:
        make()

    assert refused.value.field == field
