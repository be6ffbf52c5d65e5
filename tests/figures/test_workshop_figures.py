"""Tools, gauges, dampers, pulleys and scales are drawn to the numbers of their state."""

from math import atan2, degrees, dist, pi

import pytest
from scene_reading import labels, named, words

from quizsvc.errors import InputError
from quizsvc.figures import (
    angle_gauge,
    damper,
    degree_wheel,
    elongation,
    pulley_pair,
    setting_scale,
    single_sprocket,
    tensioner,
    torque_wrench,
)
from quizsvc.timing.belt import open_belt_length_mm, small_pulley_wrap_deg


def clock_deg(centre, point) -> float:
    return degrees(atan2(point[0] - centre[0], centre[1] - point[1]))


@pytest.mark.parametrize("deg", [-150, -30, 0.5, 10, 90])
def test_the_damper_mark_stands_at_its_angle_and_the_arc_covers_it(deg):
    scene = draw_damper(deg)

    start, end = named(scene, "mark").strokes[0]

    assert clock_deg(damper.CENTRE, end) == pytest.approx(deg)
    arcs = [s for s in scene.shapes if getattr(s, "name", "") == "arc"]
    assert arcs[0].sweep_deg == deg
    assert start != end


def draw_damper(deg):
    return damper.draw(damper.Damper(165, deg, "arc"))


def test_the_damper_arc_is_the_published_length():
    # 165 mm: 1.43990 mm for each degree (πD/360).
    solved = damper.draw(damper.Damper(165, 10, "arc"), solution=True)

    assert "14.4 mm" in words(solved)


@pytest.mark.parametrize("deg", [0, 15, 45, 90, 135, 180])
@pytest.mark.parametrize(("wrench", "adapter"), [(400, 40), (300, 100)])
def test_wrench_and_adapter_are_in_true_proportion_and_angle(wrench, adapter, deg):
    scene = torque_wrench.draw(torque_wrench.TorqueWrench(wrench, adapter, deg))

    square = middle(named(scene, "square").points)
    bolt = middle(named(scene, "bolt").points)
    grip = torque_wrench.LEFT

    assert dist(square, bolt) / (square[0] - grip) == pytest.approx(adapter / wrench)
    turned = degrees(atan2(square[1] - bolt[1], bolt[0] - square[0]))
    assert turned == pytest.approx(deg, abs=1e-6)


def middle(points):
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


@pytest.mark.parametrize("extension", [0, 3.5, 11.5, 20])
def test_the_plunger_ends_at_its_extension_on_the_scale(extension):
    scene = tensioner.draw(tensioner.TensionerSide(extension, 14, 20))

    end = max(x for x, _ in named(scene, "plunger").points)

    assert (end - tensioner.FACE) / tensioner.LONGEST * 20 == pytest.approx(extension)


@pytest.mark.parametrize(("extension", "seen"), [(13.9, False), (14.1, True)])
def test_the_groove_comes_into_sight_when_the_core_says(extension, seen):
    state = tensioner.TensionerSide(extension, 14, 20, asked="groove")

    solved = tensioner.draw(state, solution=True)
    asked = tensioner.draw(state)

    assert bool([s for s in solved.shapes if getattr(s, "name", "") == "groove"]) == seen
    assert not [s for s in asked.shapes if getattr(s, "name", "") == "groove"]


def test_a_covered_groove_is_not_told_by_the_alternative_text():
    before, after = (tensioner.TensionerSide(12, groove, 20, asked="groove") for groove in (11, 13))

    assert tensioner.describe(before) == tensioner.describe(after)


@pytest.mark.parametrize("pitches", [8, 20, 40])
def test_a_measured_chain_has_a_pin_more_than_pitches(pitches):
    state = elongation.ElongationGauge(pitches, 8, pitches * 8.08, "pitches")

    scene = elongation.draw(state)

    assert len(named(scene, "pins").centres) == pitches + 1
    assert elongation.describe(state).count("pin,") + 1 == pitches


def test_the_new_length_is_drawn_to_scale():
    scene = elongation.draw(elongation.ElongationGauge(20, 8, 163.2), solution=True)

    x = named(scene, "new end").points[0][0]

    assert (x - elongation.LEFT) / (elongation.RIGHT - elongation.LEFT) == pytest.approx(
        160 / 163.2
    )
    assert "longer by 2 %" in labels(scene, "percent")[0].text


def test_the_belt_is_the_published_open_belt():
    # Ø105/393, C 697 mm: 2206.114 mm, small wrap 156.154° (convex hull as second method).
    state = pulley_pair.PulleyPair(
        pulley_pair.Pulley("crankshaft", 105), pulley_pair.Pulley("fan", 393), 697, asked="length"
    )

    path = pulley_pair.path_of(state)

    assert path.length_mm == pytest.approx(2206.114, abs=1e-3)
    assert path.length_mm == pytest.approx(open_belt_length_mm(105, 393, 697))
    assert path.arcs[0].wrap_deg == pytest.approx(small_pulley_wrap_deg(105, 393, 697))
    assert "whole belt 2206.1 mm" in words(pulley_pair.draw(state, solution=True))


def test_a_back_side_roller_increases_its_neighbours_wrap():
    pulleys = pulley_pair.Pulley("crankshaft", 150), pulley_pair.Pulley("pump", 100)

    bare = pulley_pair.path_of(pulley_pair.PulleyPair(*pulleys, 300))
    pressed = pulley_pair.path_of(
        pulley_pair.PulleyPair(*pulleys, 300, idler_mm=60, idler_in_mm=20)
    )

    for wheel in (0, 1):
        assert pressed.arcs[wheel].wrap_deg > bare.arcs[wheel].wrap_deg


def test_pulleys_are_in_true_proportion():
    state = pulley_pair.PulleyPair(
        pulley_pair.Pulley("crankshaft", 150), pulley_pair.Pulley("pump", 60), 300
    )

    radii = [s.radius for s in pulley_pair.draw(state).shapes if getattr(s, "name", "") == "pulley"]

    assert radii[0] / radii[1] == pytest.approx(150 / 60)


@pytest.mark.parametrize(("before", "after"), [(36.75, 35.25), (90, 80), (40, 40)])
def test_stop_readings_and_true_tdc_stand_on_the_wheel(before, after):
    scene = degree_wheel.draw(degree_wheel.DegreeWheel(before, after), solution=True)

    left, right = (named(scene, f"stop {side}").points[0] for side in ("before", "after"))
    (ray,) = [
        s for s in scene.shapes if getattr(s, "name", "") == "true TDC" and not hasattr(s, "text")
    ]

    assert clock_deg(degree_wheel.CENTRE, left) == pytest.approx(-before)
    assert clock_deg(degree_wheel.CENTRE, right) == pytest.approx(after)
    # True TDC lies halfway between the stops.
    assert clock_deg(degree_wheel.CENTRE, ray.strokes[0][1]) == pytest.approx((after - before) / 2)


def test_the_wheel_correction_is_the_published_one():
    # Readings 36.75 and 35.25: correction 0.75° (degree-wheel practice).
    scene = degree_wheel.draw(degree_wheel.DegreeWheel(36.75, 35.25), solution=True)

    assert "true TDC 0.75° before zero" in words(scene)


def test_the_paint_mark_ends_after_all_stages():
    scene = angle_gauge.draw(angle_gauge.AngleGauge(30, (90, 90)), solution=True)

    end = named(scene, "mark turned").strokes[0][1]

    assert clock_deg(angle_gauge.CENTRE, end) % 360 == pytest.approx(210)
    assert "mark at 210°" in words(scene)


def test_lettered_settings_keep_their_names_until_the_solution():
    settings = ((4.0, "new belt"), (7.0, "used belt"))
    state = setting_scale.SettingScale(0, 20, "mm", settings, right="used belt", names_shown=False)

    assert "used belt" not in words(setting_scale.draw(state))
    assert "used belt" not in setting_scale.describe(state)
    assert "used belt" in words(setting_scale.draw(state, solution=True))
    assert [area.name for area in setting_scale.places(state)] == ["A", "B"]


def test_the_sprocket_has_its_teeth_and_its_mark_at_the_stated_angle():
    scene = single_sprocket.draw(single_sprocket.SingleSprocket("camshaft", 36, 35))

    outline = named(scene, "sprocket").points
    tip = named(scene, "mark").points[0]

    assert len(outline) == 36 * 6
    assert clock_deg(single_sprocket.CENTRE, tip) == pytest.approx(35)


@pytest.mark.parametrize("turn", [45, 120, -90, 400])
def test_a_turned_mark_ends_where_start_and_turn_add_up(turn):
    state = single_sprocket.SingleSprocket("camshaft", 36, 35, "mark", turn_deg=turn)

    tip = named(single_sprocket.draw(state, solution=True), "mark turned").points[0]

    off = (clock_deg(single_sprocket.CENTRE, tip) - 35 - turn + 180) % 360 - 180
    assert off == pytest.approx(0, abs=1e-6)


def test_the_pitch_diameter_is_the_published_one():
    # p 25.4 mm: 17 T 138.23 mm (sprocket table by p / sin(π/N)).
    state = single_sprocket.SingleSprocket("crankshaft", 17, None, "pitch diameter", pitch_mm=25.4)

    assert "138.23 mm" in words(single_sprocket.draw(state, solution=True))


def test_the_ripple_is_the_published_one():
    # 16 T 1.92 % (polygon effect, machine-element texts).
    state = single_sprocket.SingleSprocket("crankshaft", 16, None, "ripple")

    assert "rise and fall 1.92 %" in words(single_sprocket.draw(state, solution=True))


@pytest.mark.parametrize(
    ("module", "state", "field"),
    [
        (damper, damper.Damper(165, 200), "mark_deg"),
        (torque_wrench, torque_wrench.TorqueWrench(400, 40, 200), "angle_deg"),
        (tensioner, tensioner.TensionerSide(25, 14, 20), "extension_mm"),
        (elongation, elongation.ElongationGauge(60, 8, 480), "pitches"),
        (degree_wheel, degree_wheel.DegreeWheel(0, 40), "before_deg"),
        (setting_scale, setting_scale.SettingScale(0, 5, "mm", ((9, "new"),)), "settings"),
        (single_sprocket, single_sprocket.SingleSprocket("cam", 36, 0, "colour"), "asked"),
        (
            pulley_pair,
            pulley_pair.PulleyPair(
                pulley_pair.Pulley("a", 90), pulley_pair.Pulley("b", 90), 200, asked="colour"
            ),
            "asked",
        ),
    ],
)
def test_impossible_states_are_refused_by_name(module, state, field):
    with pytest.raises(InputError) as refused:
        module.draw(state)

    assert refused.value.field == field
    assert refused.value.remedy


def test_a_pulley_length_by_hand():
    # Two equal pulleys: two centre distances and one circumference.
    state = pulley_pair.PulleyPair(pulley_pair.Pulley("a", 100), pulley_pair.Pulley("b", 100), 200)

    assert pulley_pair.path_of(state).length_mm == pytest.approx(400 + 100 * pi)
