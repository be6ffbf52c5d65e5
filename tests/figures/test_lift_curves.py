"""Valve and piston curves leave the gap between them that the core computes."""

import pytest
from scene_reading import labels, named

from quizsvc.figures.lift_curves import AXES_BOX, FIRST, LAST, LiftCurves, LiftOf, describe, draw
from quizsvc.timing.clearance import ValveRoom
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.lift import LiftCurve

SLIDER = SliderCrank(86, 143)
INTAKE, EXHAUST = LiftOf(345, 592, 10, 5.5, 14), LiftOf(130, 375, 9.5, 6.2, 16)


def core(valve, of: LiftOf) -> ValveRoom:
    return ValveRoom(valve, LiftCurve(of.open_deg, of.close_deg, of.lift_mm), of.room_mm,
                     of.tilt_deg)  # fmt: skip


@pytest.mark.parametrize("at_deg", [-30, -10, 0, 10, 25])
@pytest.mark.parametrize(("valve", "of"), [("intake", INTAKE), ("exhaust", EXHAUST)])
def test_the_marked_gap_is_as_long_as_the_core_says(valve, of, at_deg):
    scene = draw(LiftCurves(INTAKE, EXHAUST, 86, 143, at_deg, f"{valve} gap"))

    (x, low), (_, high) = named(scene, "gap").strokes[0]

    _, top, _, bottom = AXES_BOX
    unit = (bottom - top) / (10 * 1.25 + 0.6)
    assert (low - high) / unit == pytest.approx(core(valve, of).gap_mm(SLIDER, 360 + at_deg))
    left, _, right, _ = AXES_BOX
    assert FIRST + (x - left) / (right - left) * (LAST - FIRST) == pytest.approx(360 + at_deg)


@pytest.mark.parametrize(("valve", "of"), [("intake", INTAKE), ("exhaust", EXHAUST)])
def test_the_least_gap_is_found_in_the_solution_only(valve, of):
    state = LiftCurves(INTAKE, EXHAUST, 86, 143, asked=f"{valve} least")
    least = core(valve, of).least_gap(SLIDER)

    asked = [label.text for label in labels(draw(state), "gap word")]
    solved = [label.text for label in labels(draw(state, solution=True), "gap word")]

    assert asked == [f"least {valve} gap ?"]
    assert f"{least.gap_mm:.2f}" in solved[0]


def test_curves_that_cross_are_said_to():
    early = LiftOf(285, 532, 10, 5.5, 14)

    assert "intake valve's curve crosses" in describe(LiftCurves(early, EXHAUST, 86, 143))
    assert "crosses" not in describe(LiftCurves(INTAKE, EXHAUST, 86, 143))


def test_no_curve_leaves_the_chart():
    scene = draw(LiftCurves(INTAKE, EXHAUST, 86, 143))
    left, top, right, bottom = AXES_BOX

    for name in ("intake valve", "exhaust valve", "piston under intake", "piston under exhaust"):
        for x, y in named(scene, name).points:
            assert left - 1e-6 <= x <= right + 1e-6
            assert top - 1e-6 <= y <= bottom + 1e-6
