"""Bars of the cycle chart say the strokes and openings that the core says."""

import pytest
from scene_reading import named

from quizsvc.errors import InputError
from quizsvc.figures.cycle_chart import LEFT, RIGHT, CycleChart, CycleRow, describe, draw
from quizsvc.timing.cycle import firing_angles_deg, stroke_at
from quizsvc.timing.valves import ValveEvents, open_valves

ORDERS = [(1, 2, 3), (1, 3, 4, 2), (1, 5, 3, 6, 2, 4), (1, 8, 4, 3, 6, 5, 7, 2)]
EVENTS = ValveEvents(15, 52, 50, 15)


def chart(order, **options) -> CycleChart:
    firing = firing_angles_deg(order)
    return CycleChart(tuple(CycleRow(c, firing[c]) for c in sorted(order)), **options)


def x_of(deg):
    return LEFT + (RIGHT - LEFT) * deg / 720


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("deg", [1, 91, 200, 361.5, 500, 719])
def test_the_bar_under_an_angle_is_the_stroke_of_the_core(order, deg):
    scene = draw(chart(order))
    firing = firing_angles_deg(order)

    for cylinder in order:
        here = [
            shape.name.split(" ")[0]
            for shape in scene.shapes
            if getattr(shape, "name", "").endswith(f" {cylinder}")
            and shape.points[0][0] <= x_of(deg) < shape.points[1][0]
        ]
        assert here == [str(stroke_at(firing[cylinder], deg))]


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("deg", [1, 91, 200, 361.5, 500, 719])
def test_the_lines_over_an_angle_are_the_valves_that_are_open(order, deg):
    scene = draw(chart(order, events=EVENTS, valves_shown=True))

    drawn = [
        (cylinder, valve)
        for cylinder in sorted(order)
        for valve in ("intake", "exhaust")
        for (x0, _), (x1, _) in named_lines(scene, f"{valve} open {cylinder}")
        if x0 <= x_of(deg) < x1
    ]

    assert drawn == list(open_valves(EVENTS, firing_angles_deg(order), deg))


def named_lines(scene, name):
    return named(scene, name).strokes


def test_the_asked_cylinder_stays_empty_and_untold_until_it_is_answered():
    state = chart((1, 3, 4, 2), asked=3, at_deg=100)

    asked = draw(state)

    assert named(asked, "asked")
    assert not [s for s in asked.shapes if getattr(s, "name", "") == "compression 3"]
    assert "Cylinder 3: asked for." in describe(state)
    assert named(draw(state, solution=True), "compression 3")


def test_openings_wait_for_the_solution_unless_shown():
    state = chart((1, 3, 4, 2), events=EVENTS)

    assert not [s for s in draw(state).shapes if getattr(s, "name", "") == "intake open 1"]
    assert named_lines(draw(state, solution=True), "intake open 1")


def test_two_bars_for_one_cylinder_are_refused():
    with pytest.raises(InputError, match="rows"):
        draw(CycleChart((CycleRow(1, 0), CycleRow(1, 180))))
