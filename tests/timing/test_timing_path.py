"""Drive paths against hulls (shapely) and tangency solved by root finding (scipy)."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import fsolve
from shapely import LineString, MultiPoint
from shapely.geometry import Point as Dot

from quizsvc.errors import InputError
from quizsvc.timing.chain import pitch_diameter_mm
from quizsvc.timing.path import DrivePath, PathWheel

R18, R36 = pitch_diameter_mm(8, 18) / 2, pitch_diameter_mm(8, 36) / 2
TWO_CAMS = (PathWheel(0, 0, R18), PathWheel(-60, 330, R36), PathWheel(60, 330, R36))
BACK = PathWheel(-80, 150, 30, back=True)


def hull_of(wheels, corners=3000):
    """Second method: the tightest loop round the wheels is the hull of their circles."""
    angles = [math.tau * i / corners for i in range(corners)]
    return MultiPoint(
        [
            (w.x_mm + w.radius_mm * math.cos(a), w.y_mm + w.radius_mm * math.sin(a))
            for w in wheels
            for a in angles
        ]
    ).convex_hull


@st.composite
def wheels_on_a_ring(draw):
    """Inside wheels in convex position, in clockwise order, far enough apart."""
    count = draw(st.integers(2, 6))
    step = 360 / count
    bearings = [i * step + draw(st.floats(-0.2, 0.2)) * step for i in range(count)]
    radii = [draw(st.floats(15, 40)) for _ in range(count)]
    ring = draw(st.floats(200, 500))
    return tuple(
        PathWheel(ring * math.sin(math.radians(b)), ring * math.cos(math.radians(b)), r)
        for b, r in zip(bearings, radii, strict=True)
    )


def mirrored(wheels):
    return tuple(PathWheel(-w.x_mm, w.y_mm, w.radius_mm, w.back) for w in wheels)


def sampled(path, count=2000):
    return [path.point_at(path.length_mm * i / count) for i in range(count)]


def test_a_two_cam_drive_has_the_length_and_wraps_of_its_hull():
    path = DrivePath(TWO_CAMS)

    # Second method: convex hull. 20,000 corners leave it 1e-5 mm short.
    assert hull_of(TWO_CAMS, 20_000).length == pytest.approx(path.length_mm, abs=2e-5)
    assert path.length_mm == pytest.approx(1017.1516, abs=0.00005)
    assert path.pitches(8) == pytest.approx(127.0789, abs=0.00005)
    wraps = [arc.wrap_deg for arc in path.arcs]
    assert wraps == pytest.approx([151.574, 104.213, 104.213], abs=0.0005)


def tangency(unknown):
    """Eight angles of the contacts; a strand is square to the radius at each of its ends."""
    wheels = (TWO_CAMS[0], BACK, *TWO_CAMS[1:])
    residuals = []
    for i, wheel in enumerate(wheels):
        following = wheels[(i + 1) % 4]
        leaves, meets = unknown[2 * i], unknown[2 * i + 1]
        strand = (
            following.x_mm + following.radius_mm * math.cos(meets)
            - wheel.x_mm - wheel.radius_mm * math.cos(leaves),
            following.y_mm + following.radius_mm * math.sin(meets)
            - wheel.y_mm - wheel.radius_mm * math.sin(leaves),
        )  # fmt: skip
        residuals += [
            strand[0] * math.cos(leaves) + strand[1] * math.sin(leaves),
            strand[0] * math.cos(meets) + strand[1] * math.sin(meets),
        ]
    return residuals


def test_a_back_side_wheel_turns_the_chain_the_other_way_and_adds_to_its_neighbours():
    wheels = (TWO_CAMS[0], BACK, *TWO_CAMS[1:])
    path = DrivePath(wheels)

    # Second method: tangency by scipy's fsolve; guesses read off a sketch, in degrees from +x.
    guess = [math.radians(a) for a in (190, 10, 10, 195, 90, 90, -14, -14)]
    solved = fsolve(tangency, guess, xtol=1e-13)
    contacts = [math.degrees(a) % 360 for a in solved]
    length = 0.0
    for i, wheel in enumerate(wheels):
        following, meets, leaves = wheels[(i + 1) % 4], contacts[2 * i + 1], contacts[2 * i]
        came = contacts[2 * i - 1]
        turned = (leaves - came) % 360 if wheel.back else (came - leaves) % 360
        assert path.arcs[i].wrap_deg == pytest.approx(-turned if wheel.back else turned)
        length += math.radians(turned) * wheel.radius_mm + math.dist(
            (
                wheel.x_mm + wheel.radius_mm * math.cos(math.radians(leaves)),
                wheel.y_mm + wheel.radius_mm * math.sin(math.radians(leaves)),
            ),
            (
                following.x_mm + following.radius_mm * math.cos(math.radians(meets)),
                following.y_mm + following.radius_mm * math.sin(math.radians(meets)),
            ),
        )
    assert path.length_mm == pytest.approx(length)
    assert path.length_mm == pytest.approx(1018.065, abs=0.0005)
    by_wheel = [path.arcs[i].wrap_deg for i in (0, 3, 2, 1)]
    assert by_wheel == pytest.approx([155.893, 104.213, 108.435, -8.541], abs=0.0005)
    assert sum(by_wheel) == pytest.approx(360)
    without = DrivePath(TWO_CAMS)
    assert path.arcs[0].wrap_deg > without.arcs[0].wrap_deg
    assert path.arcs[2].wrap_deg > without.arcs[1].wrap_deg


@settings(max_examples=30)
@given(wheels_on_a_ring())
def test_inside_wheels_are_laid_round_by_their_convex_hull(wheels):
    path = DrivePath(wheels)

    # A polygon of 3,000 corners is short by (π/3000)²/6 of its arcs: below 0.001 mm here.
    assert hull_of(wheels).length == pytest.approx(path.length_mm, abs=0.001)


@settings(max_examples=60)
@given(wheels_on_a_ring(), st.floats(0.05, 0.9), st.data())
def test_signed_wraps_add_up_to_a_turn_with_wheels_on_either_side(wheels, press, data):
    path = DrivePath(wheels)
    at = data.draw(st.integers(0, len(wheels) - 1))
    span = path.spans[at]
    # A small roller from outside, pressed a little over the strand it stands at.
    middle = ((span.start.x_mm + span.end.x_mm) / 2, (span.start.y_mm + span.end.y_mm) / 2)
    out = (
        -(span.end.y_mm - span.start.y_mm) / span.length_mm,
        (span.end.x_mm - span.start.x_mm) / span.length_mm,
    )
    away = 12 - press * 10
    roller = PathWheel(middle[0] + out[0] * away, middle[1] + out[1] * away, 12, back=True)

    pressed = DrivePath((*wheels[: at + 1], roller, *wheels[at + 1 :]))

    assert math.fsum(arc.wrap_deg for arc in pressed.arcs) == pytest.approx(360)
    assert pressed.arcs[at + 1].wrap_deg < 0
    assert pressed.length_mm > path.length_mm
    assert pressed.arcs[at].wrap_deg > path.arcs[at].wrap_deg


@settings(max_examples=40)
@given(wheels_on_a_ring())
def test_a_mirrored_drive_running_the_other_way_is_the_same_drive(wheels):
    path, mirror = DrivePath(wheels), DrivePath(mirrored(wheels), clockwise=False)

    assert mirror.length_mm == pytest.approx(path.length_mm)
    for arc, other in zip(path.arcs, mirror.arcs, strict=True):
        assert other.wrap_deg == pytest.approx(arc.wrap_deg)
        assert (other.start_deg + arc.start_deg + 1e-9) % 360 == pytest.approx(0, abs=1e-6)
    point, image = path.point_at(123.4), mirror.point_at(123.4)
    assert (-image.x_mm, image.y_mm) == pytest.approx(point)


@settings(max_examples=30)
@given(wheels_on_a_ring())
def test_every_point_of_the_path_lies_on_a_wheel_or_a_strand_and_distances_fit(wheels):
    path = DrivePath(wheels)
    strands = [LineString([span.start, span.end]) for span in path.spans]

    for point in sampled(path, 60):
        on_wheel = min(abs(math.dist(point, (w.x_mm, w.y_mm)) - w.radius_mm) for w in path.wheels)
        on_strand = min(strand.distance(Dot(point)) for strand in strands)
        assert min(on_wheel, on_strand) < 1e-6
    ring = LineString([*sampled(path), path.point_at(0)])
    # A chord c falls short of its arc by c³/24r²: in all below 0.2 mm for 2 mm chords, r ≥ 15.
    assert path.length_mm - 0.2 < ring.length < path.length_mm + 1e-6
    assert ring.is_simple


def test_the_loop_runs_clockwise_when_it_says_so():
    for clockwise, wheels in ((True, TWO_CAMS), (False, mirrored(TWO_CAMS))):
        points = sampled(DrivePath(wheels, clockwise), 400)
        area = sum(
            a.x_mm * b.y_mm - b.x_mm * a.y_mm
            for a, b in zip(points, [*points[1:], points[0]], strict=True)
        )
        assert (area < 0) == clockwise


@given(st.floats(0, 1))
def test_the_place_at_the_distance_of_a_direction_is_in_that_direction(part):
    path = DrivePath((TWO_CAMS[0], BACK, *TWO_CAMS[1:]))

    for arc in path.arcs:
        turn = 1 if path.turns_clockwise(arc.wheel) else -1
        at_deg = arc.start_deg + turn * part * abs(arc.wrap_deg)
        wheel, point = path.wheels[arc.wheel], path.point_at(path.distance_of(arc.wheel, at_deg))
        bearing = math.degrees(math.atan2(point.x_mm - wheel.x_mm, point.y_mm - wheel.y_mm))
        assert (bearing - at_deg + 180) % 360 == pytest.approx(180, abs=1e-6)
        assert path.touches(arc.wheel, at_deg)


def test_pins_on_a_polygon_take_fewer_pitches_than_the_arc_would():
    path = DrivePath(TWO_CAMS)

    by_teeth = (
        sum(path.teeth_in_mesh(i, teeth) for i, teeth in enumerate((18, 36, 36)))
        + sum(span.length_mm for span in path.spans) / 8
    )
    assert path.pitches(8) == pytest.approx(by_teeth)
    assert path.belt_pitches(8) == pytest.approx(path.length_mm / 8)
    assert path.belt_pitches(8) - path.pitches(8) == pytest.approx(0.065, abs=0.001)


def test_the_strand_that_runs_onto_the_driver_is_tight():
    path = DrivePath(TWO_CAMS)

    tight, slack = path.spans[path.tight_span(0)], path.spans[path.slack_span(0)]

    # Clockwise: the chain comes down on the right of the crank and leaves on its left.
    assert tight.end.x_mm > 0 > slack.start.x_mm
    assert tight.start.y_mm > tight.end.y_mm


@pytest.mark.parametrize(
    ("wheels", "words"),
    [
        ((PathWheel(0, 0, 50), PathWheel(0, 10, 20)), "wheel 0 and the next are 10 mm apart"),
        ((PathWheel(0, 0, 50), PathWheel(0, 0, 50)), "0 mm apart"),
        ((PathWheel(0, 0, 50), PathWheel(0, 60, 20, back=True), PathWheel(0, 200, 50)), "60 mm"),
        ((PathWheel(0, 0, 50),), "at least two"),
        ((PathWheel(0, 0, 50), (0, 100, 50)), "at least two PathWheels"),
        (tuple(reversed(TWO_CAMS)), "does not close once round"),
        ((TWO_CAMS[0], PathWheel(0, 200, 10), *TWO_CAMS[1:]), "look first at wheel 1"),
        ((TWO_CAMS[0], PathWheel(-200, 150, 30, back=True), *TWO_CAMS[1:]), "wheel 1"),
    ],
)  # fmt: skip
def test_a_loop_no_chain_could_lie_in_is_refused(wheels, words):
    with pytest.raises(InputError, match=words) as refused:
        DrivePath(wheels)

    assert refused.value.field == "wheels"


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: PathWheel(math.nan, 0, 10), "x_mm"),
        (lambda: PathWheel(0, 0, 0), "radius_mm"),
        (lambda: PathWheel(0, 0, 10, back="yes"), "back"),
        (lambda: DrivePath(TWO_CAMS, clockwise=1), "clockwise"),
        (lambda: DrivePath(TWO_CAMS).distance_of(3, 0), "wheel_index"),
        (lambda: DrivePath(TWO_CAMS).distance_of(0, 0), "at_deg"),
        (lambda: DrivePath(TWO_CAMS).pitches(0), "pitch_mm"),
        (lambda: DrivePath(TWO_CAMS).pitches(60), "pitch_mm"),
        (lambda: DrivePath(TWO_CAMS).point_at(math.inf), "distance_mm"),
        (lambda: DrivePath(7), "wheels"),
    ],
)
def test_a_value_that_cannot_be_is_refused_by_name(make, field):
    with pytest.raises(InputError) as refused:
        make()

    assert refused.value.field == field
