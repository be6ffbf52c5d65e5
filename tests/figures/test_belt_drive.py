"""A toothed belt looks like one: flat back outside, teeth a pitch apart inside, all countable."""

from math import atan2, dist, hypot, remainder, tau

import pytest
from hypothesis import given, settings
from scene_reading import labels, named, overlapping_labels, words, words_outside
from valid_sheets import BELT_THREE, belt_sheets, shipped

from quizsvc.figures import belt_line, drive_state, drive_view
from quizsvc.figures.drive_state import DriveView
from quizsvc.figures.from_sheet import drive_view as view_of
from quizsvc.figures.scene import Circle, Polyline, Scene

COUNTS = [
    (one.from_wheel, one.to_wheel, one.pins) for one in shipped(BELT_THREE).drives[0].mark_pins
]


def the_belt(**options) -> DriveView:
    return view_of(shipped(BELT_THREE), "timing", **options)


def all_named(scene: Scene, name: str) -> list:
    return [shape for shape in scene.shapes if getattr(shape, "name", "") == name]


def middle(points):
    return tuple(sum(axis) / len(points) for axis in zip(*points, strict=True))


def test_every_tooth_of_the_belt_is_drawn():
    line = named(drive_view.draw(the_belt()), "belt teeth")

    assert len(line.points) == 4 * shipped(BELT_THREE).drives[0].pins


@pytest.mark.parametrize(("start", "end", "teeth"), COUNTS)
def test_the_teeth_between_two_marks_are_those_that_the_sheet_states(start, end, teeth):
    state = the_belt(counted=(start, end))
    scene = drive_view.draw(state)

    assert drive_state.counted_pins(state) == teeth
    assert len(all_named(scene, "counted tooth")) == teeth + 1  # the one at the first mark too
    assert len(all_named(scene, "enlarged tooth")) == teeth + 1


@pytest.mark.parametrize(("start", "end", "teeth"), COUNTS)
def test_first_and_last_counted_tooth_stand_at_the_marks(start, end, teeth):
    state = the_belt(counted=(start, end))
    scene = drive_view.draw(state)
    solid = [middle(shape.points) for shape in all_named(scene, "counted tooth")]

    for wheel, tooth in zip(state.counted, (solid[0], solid[-1]), strict=True):
        tip = named(scene, f"mark {wheel}").points[0]
        centre = middle(named(scene, f"wheel {wheel}").points)
        outwards = (tip[0] - centre[0], tip[1] - centre[1])
        across = outwards[0] * (tooth[1] - centre[1]) - outwards[1] * (tooth[0] - centre[0])
        assert dist(tip, tooth) < 12, (wheel, teeth)
        assert abs(across) / hypot(*outwards) < 0.5, "the mark points at the tooth"


def test_words_name_what_is_counted_without_its_number():
    said = drive_view.describe(the_belt(counted=("intake-pulley", "exhaust-pulley")))

    assert "Front view of a belt drive from the belt end" in said
    listed = said.split("intake camshaft mark: ")[1].split(" at the exhaust")[0]
    assert listed.replace(";", ",").split(", ") == ["tooth"] * 26
    assert "26" not in said


def test_numbers_on_the_teeth_come_only_with_the_solution():
    state = the_belt(counted=("exhaust-pulley", "crank-pulley"))

    asked, solved = drive_view.draw(state), drive_view.draw(state, solution=True)

    assert labels(asked, "pin number") == []
    assert "57" in [label.text for label in labels(solved, "pin number")]


@pytest.mark.parametrize("solution", [False, True])
@pytest.mark.parametrize(("start", "end", "teeth"), COUNTS)
def test_words_neither_collide_nor_leave_the_picture(start, end, teeth, solution):
    scene = drive_view.draw(the_belt(counted=(start, end)), solution=solution)

    assert overlapping_labels(scene) == [], teeth
    assert words_outside(scene) == []
    assert any("belt end" in word for word in words(scene))


def test_rollers_on_the_back_touch_the_back_and_no_tooth():
    state = the_belt()
    scene = drive_view.draw(state)
    back, teeth = named(scene, "belt back").points, named(scene, "belt teeth").points

    for name in ("tensioner", "coolant pump"):
        roller = named(scene, f"wheel {name}")
        assert isinstance(roller, Circle)
        to_back = min(dist(roller.centre, point) for point in back)
        to_teeth = min(dist(roller.centre, point) for point in teeth)
        assert to_back == pytest.approx(roller.radius, abs=0.2)
        assert to_teeth > roller.radius + 2


def test_teeth_sit_in_the_grooves_of_the_pulleys():
    state = the_belt()
    scene = drive_view.draw(state)
    teeth = named(scene, "belt teeth").points
    tips = [middle(teeth[n + 1 : n + 3]) for n in range(0, len(teeth), 4)]

    for wheel in state.wheels:
        if not wheel.teeth:
            continue
        outline = named(scene, f"wheel {wheel.name}")
        centre = middle(outline.points)
        bottoms = [middle(outline.points[n + 1 : n + 3]) for n in range(0, len(outline.points), 4)]
        reach = dist(centre, bottoms[0])
        seated = [tip for tip in tips if dist(tip, centre) < reach + 1.15]
        assert len(bottoms) == wheel.teeth
        assert len(seated) >= 3
        for tip in seated:
            nearest = min(bottoms, key=lambda bottom: dist(tip, bottom))
            off = [atan2(x - centre[0], y - centre[1]) for x, y in (tip, nearest)]
            assert abs(remainder(off[0] - off[1], tau)) < 0.06 * tau / wheel.teeth, wheel.name


@settings(max_examples=12, deadline=None)
@given(sheet=belt_sheets())
def test_on_any_belt_teeth_stand_a_pitch_apart_inside_and_the_back_lies_outside(sheet):
    state = view_of(sheet, "timing")
    path, pitch = drive_state.path_of(state), drive_state.drawn_pitch(state)
    teeth = drive_state.pins_drawn(state)
    first = drive_state.first_pin(state)

    assert teeth == sheet.drives[0].pins
    assert teeth * pitch == pytest.approx(path.length_mm)
    loop = drive_state.loop(state)
    for number in range(teeth):
        at = (first + number) * pitch
        tip, back = (belt_line.offset_at(path, at, way) for way in (3.0, -1.0))
        assert loop[number] == pytest.approx(path.point_at(at))
        assert dist(loop[number], tip) == pytest.approx(3)
        assert dist(loop[number], back) == pytest.approx(1)
        assert dist(tip, back) == pytest.approx(4)


@settings(max_examples=12, deadline=None)
@given(sheet=belt_sheets())
def test_the_inside_is_the_side_on_which_the_toothed_wheels_are(sheet):
    state = view_of(sheet, "timing")
    path = drive_state.path_of(state)

    for index, wheel in enumerate(state.wheels):
        arc = path.arcs[index]
        middle_mm = path.distance_of(index, arc.start_deg) + arc.length_mm / 2
        tip = belt_line.offset_at(path, middle_mm, 2.0)
        reach = hypot(tip[0] - wheel.x_mm, tip[1] - wheel.y_mm)
        assert reach == pytest.approx(wheel.radius_mm + (2.0 if wheel.back else -2.0))


def test_a_belt_is_one_ring_whose_hole_stays_open():
    """Outside and inside run opposite ways, so that the middle of the loop is not filled."""
    body = named(drive_view.draw(the_belt()), "belt body")
    back = named(drive_view.draw(the_belt()), "belt back")

    assert isinstance(body, Polyline)
    outer, inner = body.points[: len(back.points)], body.points[len(back.points) + 1 :]
    assert turned(outer) * turned(inner) < 0
    assert abs(turned(outer)) > abs(turned(inner))


def turned(points) -> float:
    pairs = zip(points, (*points[1:], points[0]), strict=True)
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs)
