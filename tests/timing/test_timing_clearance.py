"""The gap between valve and piston against drawn shapes and brute force."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon, affinity

from quizsvc.errors import InputError
from quizsvc.timing.clearance import ValveRoom, room_mm
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.lift import LiftCurve

SLIDER = SliderCrank(86, 143)
ROOMS = st.builds(
    lambda opened, lasts, lift, room, tilt: ValveRoom(
        "intake", LiftCurve(opened, opened + lasts, lift), room, tilt
    ),
    st.floats(0, 719),
    st.floats(200, 320),
    st.floats(6, 12),
    st.floats(0.5, 8),
    st.floats(0, 30),
)


@given(st.floats(330, 420), st.floats(0, 25), st.floats(1, 8))
def test_the_gap_is_what_shapes_drawn_to_scale_leave_along_the_bore(own_deg, tilt, room):
    # Second method: a valve disc, 32 mm wide, pushed along its tilted stem towards a flat crown.
    valve = ValveRoom("intake", LiftCurve(340, 600, 10), room, tilt)
    disc = affinity.rotate(LineString([(-16, 0), (16, 0)]), tilt, origin=(0, 0))
    disc = affinity.translate(disc, 0, -disc.bounds[1])  # lowest edge of the closed valve at 0
    lift, lean = valve.curve.lift_mm(own_deg), math.radians(tilt)
    opened = affinity.translate(disc, lift * math.sin(lean), -lift * math.cos(lean))
    crown = -room - SLIDER.drop_mm(own_deg)
    piston = Polygon([(-60, crown - 50), (60, crown - 50), (60, crown), (-60, crown)])

    between = opened.bounds[1] - piston.bounds[3]

    assert valve.gap_mm(SLIDER, own_deg) == pytest.approx(between, abs=1e-9)
    assert (valve.gap_mm(SLIDER, own_deg) > 1e-9) <= opened.disjoint(piston)


@settings(max_examples=25)
@given(ROOMS)
def test_the_least_gap_is_the_one_brute_force_finds(room):
    least = room.least_gap(SLIDER)

    opened, lasts = room.curve.open_deg, room.curve.duration_deg
    sampled = min(room.gap_mm(SLIDER, opened + lasts * i / 8000) for i in range(8001))
    # 0.04° of samples: at most 1e-4 mm above a smooth least value.
    assert least.gap_mm == pytest.approx(sampled, abs=2e-4)
    assert least.gap_mm <= sampled + 1e-9
    assert room.gap_mm(SLIDER, least.own_deg) == pytest.approx(least.gap_mm, abs=1e-9)


@settings(max_examples=40)
@given(ROOMS)
def test_valve_and_piston_meet_exactly_where_the_gap_is_used_up(room):
    meetings = room.meetings(SLIDER)

    def inside(deg):
        return any((deg - m.from_deg) % 720 <= (m.to_deg - m.from_deg) % 720 for m in meetings)

    for i in range(1440):
        gap = room.gap_mm(SLIDER, i / 2)
        if abs(gap) > 0.01:  # a meeting shallower than this may fall between two samples
            assert inside(i / 2) == (gap < 0)
    for meeting in meetings:
        assert room.gap_mm(SLIDER, meeting.from_deg) == pytest.approx(0, abs=1e-6)
        assert room.gap_mm(SLIDER, meeting.to_deg) == pytest.approx(0, abs=1e-6)


@settings(max_examples=25)
@given(ROOMS, st.floats(-2, 2))
def test_meetings_are_found_with_a_pin_offset_as_well(room, offset):
    slider = SliderCrank(86, 143, offset)

    least = room.least_gap(slider)

    if abs(least.gap_mm) > 0.01:
        assert bool(room.meetings(slider)) == (least.gap_mm < 0)


@given(ROOMS, st.floats(0.1, 5))
def test_a_deeper_pocket_adds_its_depth_to_the_gap(room, deeper):
    more = ValveRoom(room.valve, room.curve, room.room_mm + deeper, room.tilt_deg)

    for own_deg in (0, 100, 355, 370, 600):
        assert more.gap_mm(SLIDER, own_deg) - room.gap_mm(SLIDER, own_deg) == pytest.approx(deeper)


def test_the_intake_comes_nearest_after_tdc_and_the_exhaust_before_it():
    intake = ValveRoom("intake", LiftCurve(340, 600, 10), 4)
    exhaust = ValveRoom("exhaust", LiftCurve(120, 380, 10), 4)

    assert 360 < intake.least_gap(SLIDER).own_deg < 400
    assert 320 < exhaust.least_gap(SLIDER).own_deg < 360


@given(ROOMS)
def test_later_moves_the_meeting_of_a_valve_with_its_curve(room):
    assert room.retarded(30).curve == room.curve.retarded(30)
    assert room.retarded(30).gap_mm(SLIDER, 400) == pytest.approx(
        SLIDER.drop_mm(400)
        + room.room_mm
        - room.curve.lift_mm(370) * math.cos(math.radians(room.tilt_deg)),
        abs=1e-6,
    )


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: ValveRoom("inlet", LiftCurve(340, 600, 10), 4), "valve"),
        (lambda: ValveRoom("intake", LiftCurve(340, 600, 10), 0), "room_mm"),
        (lambda: ValveRoom("intake", LiftCurve(340, 600, 10), 4, 90), "tilt_deg"),
        (lambda: ValveRoom("intake", LiftCurve(340, 600, 10), math.nan), "room_mm"),
        (lambda: room_mm(1, -1), "pocket_mm"),
        (lambda: room_mm(1, 1, gasket_mm=-1), "gasket_mm"),
        (lambda: room_mm("1", 1), "recess_mm"),
    ],
)
def test_a_gap_that_cannot_be_computed_is_refused_by_name(make, field):
    with pytest.raises(InputError) as refused:
        make()

    assert refused.value.field == field
