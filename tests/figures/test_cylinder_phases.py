"""Pistons stand as high as the slider-crank says, and strokes are named or asked."""

import pytest
from scene_reading import labels, named, overlapping_labels, words, words_outside

from quizsvc.errors import InputError
from quizsvc.figures.cylinder_phases import TRAVEL, CylinderPhases, Phase, describe, draw, places
from quizsvc.timing.crank import SliderCrank

STROKES = ("power", "exhaust", "intake", "compression")


def row_of(cylinders: int, crank_deg: float, *, asked: int = 0, banks: int = 1) -> CylinderPhases:
    slider = SliderCrank(stroke_mm=86, rod_mm=143)
    phases = []
    for number in range(1, cylinders + 1):
        after = (crank_deg + 720 * number / cylinders) % 720
        bank = "" if banks == 1 else ("Left bank" if number % 2 else "Right bank")
        phases.append(
            Phase(
                number,
                slider.drop_mm(after),
                STROKES[int(after // 180)],
                shown=number != asked,
                asked=number == asked,
                measured=number == 2,
                moving="down" if after % 360 < 180 else "up",
                bank=bank,
            )
        )
    moment = f"Crankshaft {crank_deg:g}° after firing TDC of cylinder 1, seen from the chain end."
    return CylinderPhases(tuple(phases), 86, moment)


STATES = [
    row_of(cylinders, crank, asked=3, banks=banks)
    for cylinders, banks in ((3, 1), (4, 1), (5, 1), (6, 2), (8, 2))
    for crank in (0, 37, 90, 180, 251.5, 359, 431, 600)
]


@pytest.mark.parametrize("crank_deg", [0, 30, 81.35, 90, 180, 247.3, 360, 400])
def test_each_piston_stands_at_the_height_the_slider_crank_gives(crank_deg):
    slider = SliderCrank(stroke_mm=86, rod_mm=143)
    state = CylinderPhases(
        (Phase(1, 0.0, "power"), Phase(2, slider.drop_mm(crank_deg), "exhaust")), 86
    )

    scene = draw(state)
    at_tdc = named(scene, "piston 1").points[0][1]
    below = named(scene, "piston 2").points[0][1] - at_tdc

    assert below / TRAVEL * 86 == pytest.approx(slider.drop_mm(crank_deg), abs=1e-9)


@pytest.mark.parametrize("state", STATES)
def test_every_cylinder_is_drawn_once(state):
    scene = draw(state)

    for phase in state.phases:
        assert named(scene, f"piston {phase.cylinder}")


@pytest.mark.parametrize("solution", [False, True])
@pytest.mark.parametrize("state", STATES)
def test_words_neither_overlap_nor_leave_the_picture(state, solution):
    scene = draw(state, solution=solution)

    assert overlapping_labels(scene) == []
    assert words_outside(scene) == []


def test_the_asked_stroke_is_named_in_the_solution_only():
    state = CylinderPhases(
        (Phase(1, 20, "power", shown=True), Phase(2, 30, "intake", asked=True)), 86
    )

    assert [label.text for label in labels(draw(state), "stroke")] == ["power"]
    assert "intake" not in describe(state)
    assert "stroke asked" in describe(state)
    assert [label.text for label in labels(draw(state, solution=True), "stroke")] == [
        "power",
        "intake",
    ]


def test_a_measured_drop_shows_its_number_in_the_solution_only():
    state = CylinderPhases((Phase(1, 26.434, measured=True),), 86)

    assert not any("26" in text for text in words(draw(state)))
    assert "26" not in describe(state)
    assert "26.4" in words(draw(state, solution=True))


def test_the_alternative_text_says_how_high_each_piston_stands():
    state = CylinderPhases((Phase(1, 0.4), Phase(2, 43, moving="up"), Phase(3, 85.9)), 86)

    text = describe(state)

    assert "Cylinder 1: piston at or close to TDC." in text
    assert "Cylinder 2: piston about 5 tenths of its stroke below TDC, moving up." in text
    assert "Cylinder 3: piston at or close to BDC." in text


def test_a_piston_beyond_its_stroke_is_refused():
    with pytest.raises(InputError, match="drop_mm = 90"):
        draw(CylinderPhases((Phase(1, 90),), 86))


@pytest.mark.parametrize("state", STATES)
def test_each_cylinder_is_a_place_around_its_piston_travel(state):
    scene = draw(state)

    for area in places(state):
        number = area.name.split(" ")[1]
        xs = [x for x, _ in named(scene, f"piston {number}").points]
        assert area.centre[0] == pytest.approx((min(xs) + max(xs)) / 2)
