"""Counting pins, judging the count, and when marks meet again, against walking the chain."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.timing.chain import pitch_diameter_mm
from quizsvc.timing.marks import (
    MarkCount,
    check_pin_count,
    crank_degrees_per_tooth,
    mark_angle_deg,
    pins_between_marks,
    realign_revolutions,
    realign_with_cam_revolutions,
    verdict_of_teeth,
)
from quizsvc.timing.path import DrivePath, PathWheel

TEETH = st.integers(12, 60)


def pair(pitch, small, large, centre):
    """A crank sprocket at the origin and a cam sprocket straight above it."""
    return DrivePath(
        (
            PathWheel(0, 0, pitch_diameter_mm(pitch, small) / 2),
            PathWheel(0, centre, pitch_diameter_mm(pitch, large) / 2),
        )
    )


def test_a_count_says_what_it_leaves_out():
    count = MarkCount(12)

    pins = list(range(13))  # pin 0 stands at the first mark, pin 12 at the second
    assert count.pitches == count.pins == len(pins[1:])
    assert count.pins_between == len(pins[1:-1])
    links = list(range(13))  # link 0 and link 12 are marked
    assert count.links_between == len(links[1:-1])


def test_marks_square_to_the_cover_face_are_as_far_apart_as_the_cams():
    # Common practice, no source: both cam marks square to the cover face, on a chain of about
    # 12 pitches between the cams: 12 pins between intake and exhaust mark.
    radius = pitch_diameter_mm(8, 36) / 2
    path = DrivePath((PathWheel(0, 0, radius), PathWheel(12 * 8, 0, radius)))

    assert pins_between_marks(path, 8, 0, 0, 1, 0) == pytest.approx(12)


@given(st.floats(4, 15), TEETH, TEETH, st.floats(1.05, 6), st.data())
def test_pins_between_two_marks_by_trigonometry(pitch, small, large, apart, data):
    radii = [pitch_diameter_mm(pitch, teeth) / 2 for teeth in (small, large)]
    centre = apart * sum(radii)
    path = pair(pitch, small, large, centre)
    # Second method, drawn by hand: running clockwise, the left strand goes up, leaning by α.
    lean = math.degrees(math.asin((radii[1] - radii[0]) / centre))
    strand = math.sqrt(centre**2 - (radii[1] - radii[0]) ** 2)
    before = data.draw(st.floats(0, 1)) * (180 - 2 * lean)
    after = data.draw(st.floats(0, 1)) * (180 + 2 * lean)

    # Clockwise from up, the chain leaves the crank at 270 − α and meets the cam there as well.
    pins = pins_between_marks(path, pitch, 0, 270 - lean - before, 1, 270 - lean + after)

    by_hand = before / 360 * small + strand / pitch + after / 360 * large
    assert pins == pytest.approx(by_hand)


@given(st.floats(4, 15), TEETH, TEETH, st.floats(1.05, 6))
def test_both_ways_round_make_the_whole_chain(pitch, small, large, apart):
    centre = apart * (pitch_diameter_mm(pitch, small) + pitch_diameter_mm(pitch, large)) / 2
    path = pair(pitch, small, large, centre)

    up = pins_between_marks(path, pitch, 0, 180, 1, 0)
    down = pins_between_marks(path, pitch, 1, 0, 0, 180)

    assert up + down == pytest.approx(path.pitches(pitch))
    assert pins_between_marks(path, pitch, 0, 180, 0, 180) == pytest.approx(path.pitches(pitch))


def test_a_mark_where_the_chain_does_not_lie_cannot_be_counted_from():
    with pytest.raises(InputError, match="does not touch wheel 0") as refused:
        pins_between_marks(pair(8, 18, 36, 200), 8, 0, 0, 1, 0)

    assert refused.value.field == "at_deg"


@given(st.integers(20, 60), st.integers(-3, 3), TEETH, st.sampled_from(["tight", "slack"]))
def test_a_longer_tight_strand_is_a_late_cam_and_a_longer_slack_one_an_early_cam(
    specified, more, cam_teeth, side
):
    verdict = check_pin_count(specified, specified + more, cam_teeth, side)

    late = more if side == "tight" else -more
    expected = "in time" if late == 0 else ("retarded" if late > 0 else "advanced")
    assert verdict.teeth_off == late
    assert verdict.direction == expected
    assert verdict.crank_deg == pytest.approx(2 * verdict.cam_deg)
    assert verdict.crank_deg == pytest.approx(late * crank_degrees_per_tooth(cam_teeth))
    assert verdict == verdict_of_teeth(late, cam_teeth)


def test_a_late_cam_shows_more_pins_on_the_tight_strand_when_the_geometry_is_drawn():
    # Second method: turn the cam mark back by a tooth and count along the path itself.
    path = pair(8, 18, 36, 300)

    # Clockwise: the chain runs down on the right, from the cam onto the crank: the tight strand.
    in_time = pins_between_marks(path, 8, 1, 60, 0, 120)
    late = pins_between_marks(path, 8, 1, 60 - 10, 0, 120)

    verdict = check_pin_count(round(in_time), round(in_time) + round(late - in_time), 36, "tight")
    assert late - in_time == pytest.approx(1)
    assert (verdict.direction, verdict.crank_deg) == ("retarded", 20)


@pytest.mark.parametrize(("teeth", "deg"), [(36, 20), (40, 18), (42, 17.143), (48, 15)])
def test_one_tooth_in_crank_degrees(teeth, deg):
    # Second method: two crank turns pass all the cam's teeth once.
    assert crank_degrees_per_tooth(teeth) == pytest.approx(deg, abs=0.0005)
    assert crank_degrees_per_tooth(teeth) * teeth == pytest.approx(720)


@given(st.floats(0, 359), st.floats(-1440, 1440))
def test_a_full_crank_turn_moves_the_cam_half_a_turn(mark_deg, crank_turn_deg):
    here = mark_angle_deg(mark_deg, crank_turn_deg)

    later = mark_angle_deg(mark_deg, crank_turn_deg + 360)

    assert (later - here) % 360 == pytest.approx(180)
    assert 0 <= here < 360


def turns_until_links_meet(links, teeth, *, with_cam):
    """Second method: turn the crank round by round and see which link stands at its mark."""
    turn = 1
    while turn * teeth % links or (with_cam and turn % 2):
        turn += 1
    return turn


@pytest.mark.parametrize(("links", "teeth", "turns"), [(72, 18, 4), (120, 18, 20), (114, 21, 38)])
def test_crank_cam_and_links_meet_again(links, teeth, turns):
    # lcm(links, 2n)/n; second method: brute force.
    assert realign_with_cam_revolutions(links, teeth) == turns
    assert turns_until_links_meet(links, teeth, with_cam=True) == turns


@settings(max_examples=60)
@given(st.integers(20, 200), st.integers(9, 40))
def test_realigning_equals_turning_the_crank_until_it_happens(links, teeth):
    assert realign_revolutions(links, teeth) == turns_until_links_meet(links, teeth, with_cam=False)
    assert realign_with_cam_revolutions(links, teeth) == turns_until_links_meet(
        links, teeth, with_cam=True
    )


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: check_pin_count(40, 41, 36, "left"), "side"),
        (lambda: check_pin_count(40, 41, 2, "tight"), "cam_teeth"),
        (lambda: check_pin_count(40, 41.5, 36, "tight"), "counted"),
        (lambda: check_pin_count(0, 41, 36, "tight"), "specified"),
        (lambda: check_pin_count(40, 90, 36, "tight"), "teeth_off"),
        (lambda: realign_revolutions(1, 18), "links"),
        (lambda: realign_with_cam_revolutions(90, 0), "crank_teeth"),
        (lambda: MarkCount(0), "pitches"),
        (lambda: mark_angle_deg(math.nan, 3), "cam_mark_deg"),
    ],
)
def test_what_cannot_be_counted_is_refused_by_name(make, field):
    with pytest.raises(InputError) as refused:
        make()

    assert refused.value.field == field
