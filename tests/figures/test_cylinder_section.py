"""The cut cylinder is the slider-crank to scale, its valves where lift and tilt put them."""

from math import cos, dist, hypot, radians

import pytest
from scene_reading import labels, named, words

from quizsvc.errors import InputError
from quizsvc.figures.cylinder_section import (
    CylinderSection,
    describe,
    draw,
    gap_mm,
    letters,
    places,
)
from quizsvc.figures.section_valves import SectionValve
from quizsvc.timing.clearance import ValveRoom, room_mm
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.lift import LiftCurve

ANGLES = [0, 30, 60, 81.35, 90, 180, 251, 359, 400]


def section(deg=60.0, **changed) -> CylinderSection:
    fields = {
        "bore_mm": 86,
        "stroke_mm": 86,
        "rod_mm": 143,
        "crank_deg": deg,
        "intake": SectionValve(0.0, 34, 14, 1.5, 3),
        "exhaust": SectionValve(0.0, 29, 16, 1.5, 3),
    }
    return CylinderSection(**(fields | changed))


def scale_of(scene) -> float:
    """Picture units per mm, from the crank circle's radius of half the stroke."""
    return named(scene, "crank circle").radius / 43


@pytest.mark.parametrize("offset", [0.0, 1.0, -0.8])
@pytest.mark.parametrize("deg", ANGLES)
def test_the_piston_stands_at_its_true_height(deg, offset):
    slider = SliderCrank(86, 143, offset)
    at_tdc, here = (draw(section(d, pin_offset_mm=offset)) for d in (0, deg))

    below = named(here, "piston pin").centre[1] - named(at_tdc, "piston pin").centre[1]

    assert below / scale_of(here) == pytest.approx(slider.drop_mm(deg), abs=1e-6)


@pytest.mark.parametrize("deg", ANGLES)
def test_the_rod_is_as_long_as_stated_and_the_crankpin_on_its_circle(deg):
    scene = draw(section(deg))
    pin, crankpin, journal = (
        named(scene, name).centre for name in ("piston pin", "crankpin", "main journal")
    )

    assert dist(pin, crankpin) / scale_of(scene) == pytest.approx(143)
    assert dist(journal, crankpin) / scale_of(scene) == pytest.approx(43)
    assert pin[0] == pytest.approx(journal[0])


def test_the_crankpin_moves_to_the_right_after_tdc():
    scene = draw(section(60))

    assert named(scene, "crankpin").centre[0] > named(scene, "main journal").centre[0]


@pytest.mark.parametrize("lift", [0.5, 4.0, 9.8])
def test_an_open_valve_has_moved_by_its_lift_along_its_own_axis(lift):
    closed = draw(section())
    opened = draw(section(intake=SectionValve(lift, 34, 14, 1.5, 3)))

    (x0, y0), (x1, y1) = (named(s, "intake valve").points[0] for s in (closed, opened))

    assert hypot(x1 - x0, y1 - y0) / scale_of(opened) == pytest.approx(lift)
    assert (y1 - y0) / scale_of(opened) == pytest.approx(lift * cos(radians(14)))


@pytest.mark.parametrize("deg", [340, 350, 360, 372, 400])
def test_the_gap_drawn_is_the_gap_of_the_core(deg):
    curve = LiftCurve(345, 592, 10)
    room = ValveRoom("intake", curve, room_mm(1.5, 3, deck_mm=1.0), 14)
    state = section(deg, intake=SectionValve(curve.lift_mm(deg), 34, 14, 1.5, 3))

    assert gap_mm(state, state.intake) == pytest.approx(room.gap_mm(SliderCrank(86, 143), deg))


def test_contact_is_ringed_and_said():
    state = section(360, intake=SectionValve(9, 34, 14, 1.5, 0))

    scene = draw(state)

    assert [s for s in scene.shapes if getattr(s, "name", "") == "contact"]
    assert "contact" in words(scene)
    assert "The intake valve and the piston touch." in describe(state)


def test_the_asked_drop_is_shown_in_the_solution_only():
    state = section(60, asked="drop")

    assert labels(draw(state), "drop")[0].text == "?"
    assert labels(draw(state, solution=True), "drop")[0].text == "26.43 mm"


def test_places_to_point_at_are_named_and_apart():
    areas = places(section(60))

    assert [area.name for area in areas] == list(letters(section(60)))
    for number, one in enumerate(areas):
        for other in areas[number + 1 :]:
            assert dist(one.centre, other.centre) > max(one.radius, other.radius)


@pytest.mark.parametrize("deg", ANGLES)
def test_lettered_parts_are_named_in_the_solution_only(deg):
    state = section(deg, lettered=True)

    assert [area.name for area in places(state)] == list("ABCDEFG")
    assert not any("piston" in text or "crankpin" in text for text in words(draw(state)))
    assert "crankpin" not in describe(state)
    assert "G crankpin" in words(draw(state, solution=True))


def test_an_unknown_question_is_refused():
    with pytest.raises(InputError, match="asked = 'speed'"):
        draw(section(asked="speed"))
