"""Tone wheel and trace show the teeth, the gap and the place of the core's signal wheel."""

from itertools import pairwise
from math import atan2, degrees, hypot

import pytest
from scene_reading import labels, named

from quizsvc.errors import InputError
from quizsvc.figures.tone_wheel import CENTRE, LEFT, RIGHT, ROOT, TIP, ToneWheelView, draw
from quizsvc.timing.sensors import ToneWheel

WHEELS = [(60, 2), (36, 1), (24, 0), (12, 3)]


@pytest.mark.parametrize(("places", "missing"), WHEELS)
def test_the_wheel_has_its_teeth(places, missing):
    points = named(draw(ToneWheelView(places, missing)), "wheel").points

    tips = [p for p in points if hypot(p[0] - CENTRE[0], p[1] - CENTRE[1]) > (TIP + ROOT) / 2]

    assert len(tips) == 2 * (places - missing)


@pytest.mark.parametrize(("places", "missing"), WHEELS)
@pytest.mark.parametrize("turned", [0, 3.3, 47, 181, 359])
def test_a_tooth_stands_at_the_sensor_when_the_core_reads_high(places, missing, turned):
    points = named(draw(ToneWheelView(places, missing, turned)), "wheel").points
    radii = [hypot(x - CENTRE[0], y - CENTRE[1]) for x, y in points]
    angles = [degrees(atan2(x - CENTRE[0], CENTRE[1] - y)) for x, y in points]

    at_sensor = False
    for (a0, r0), (a1, r1) in pairwise(zip(angles, radii, strict=True)):
        if min(r0, r1) > (TIP + ROOT) / 2 and a0 <= 1e-6 <= a1 + 1e-6 and a1 - a0 < 180:
            at_sensor = True

    assert at_sensor == bool(ToneWheel(places, missing).level(turned))


@pytest.mark.parametrize(("places", "missing"), WHEELS)
def test_the_trace_rises_once_for_each_tooth_at_its_edge(places, missing):
    core = ToneWheel(places, missing)
    points = named(draw(ToneWheelView(places, missing)), "trace").points

    rises = [(a[0] - LEFT) / (RIGHT - LEFT) * 360 for a, b in pairwise(points) if b[1] < a[1]]

    assert rises == pytest.approx([core.edge_deg(n + 1) for n in range(core.teeth)])


def test_teeth_are_numbered_in_the_solution_only():
    state = ToneWheelView(60, 2, 102, "tooth", "18")

    assert labels(draw(state), "tooth number") == []
    numbers = [label.text for label in labels(draw(state, solution=True), "tooth number")]
    assert numbers == ["1", "10", "20", "30", "40", "50"]


def test_the_cam_edge_stands_where_it_was_measured():
    scene = draw(ToneWheelView(36, 1, 0, "cam", "20° late", 120, 100))

    edge = named(scene, "cam trace").points[1][0]
    should = named(scene, "cam should").strokes[0][0][0]

    assert (edge - should) / (RIGHT - LEFT) * 360 == pytest.approx(20)


def test_a_wheel_without_teeth_is_refused():
    with pytest.raises(InputError, match="missing = 60"):
        draw(ToneWheelView(60, 60))
