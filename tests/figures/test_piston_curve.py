"""The point on the piston's curve stands where the slider-crank puts it."""

import pytest
from scene_reading import labels, named

from quizsvc.errors import InputError
from quizsvc.figures.piston_curve import AXES_BOX, PistonCurve, describe, draw
from quizsvc.timing.crank import SliderCrank

LEFT, TOP, RIGHT, BOTTOM = AXES_BOX


@pytest.mark.parametrize("deg", [0, 10, 45, 81.35, 90, 147, 180])
def test_the_point_stands_at_its_angle_and_true_depth(deg):
    drop = SliderCrank(86, 143).drop_mm(deg)

    x, y = named(draw(PistonCurve(86, 143, deg)), "point").centre

    assert (x - LEFT) / (RIGHT - LEFT) * 180 == pytest.approx(deg)
    assert (y - TOP) / (BOTTOM - TOP) * 86 == pytest.approx(drop)


def test_the_curve_runs_through_published_depths():
    # r 43, L 143 mm: 30° 7.386 mm, 60° 26.434 mm, 90° 49.618 mm (closed form, two methods).
    points = named(draw(PistonCurve(86, 143, 60)), "curve").points

    depths = {round((x - LEFT) / (RIGHT - LEFT) * 180): (y - TOP) / (BOTTOM - TOP) * 86
              for x, y in points}  # fmt: skip

    assert depths[30] == pytest.approx(7.386, abs=5e-4)
    assert depths[60] == pytest.approx(26.434, abs=5e-4)
    assert depths[90] == pytest.approx(49.618, abs=5e-4)


def test_an_asked_angle_takes_the_numbers_off_its_axis():
    scene = draw(PistonCurve(86, 143, 62, "angle"))

    assert labels(scene, "angle value")[0].text == "?"
    assert not any("°" in s.text for s in scene.shapes if hasattr(s, "text"))
    assert "62" not in describe(PistonCurve(86, 143, 62, "angle"))


def test_an_angle_of_the_upward_stroke_is_refused():
    with pytest.raises(InputError, match="crank_deg = 200"):
        draw(PistonCurve(86, 143, 200))
