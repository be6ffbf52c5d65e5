"""What holds for every figure: words apart, alt text told by describe, nothing told too early."""

import re
from dataclasses import fields, is_dataclass

import pytest
from lxml import etree
from sample_figures import ALL, IDS, SAMPLES
from scene_reading import overlapping_labels, words, words_outside

from quizsvc.figures.scene import Ink, Label
from quizsvc.figures.svg import render_svg

EVERY = pytest.mark.parametrize(("module", "state"), ALL, ids=IDS)
SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("solution", [False, True], ids=["asked", "solved"])
@EVERY
def test_words_neither_overlap_nor_leave_the_picture(module, state, solution):
    scene = module.draw(state, solution=solution)

    assert overlapping_labels(scene) == []
    assert words_outside(scene) == []


@EVERY
def test_the_scene_carries_the_words_of_describe_before_and_after(module, state):
    told = module.describe(state)

    assert module.draw(state).alt == told
    assert module.draw(state, solution=True).alt == told


@EVERY
def test_words_are_large_enough_for_a_phone(module, state):
    scene = module.draw(state, solution=True)

    on_phone = 358 / scene.width
    assert min(s.size for s in scene.shapes if isinstance(s, Label)) * on_phone >= 11.5


@EVERY
def test_nothing_is_drawn_in_the_solution_ink_before_the_answer(module, state):
    scene = module.draw(state)

    used = {s.ink for s in scene.shapes if isinstance(s, Label)}
    used |= {s.style.stroke for s in scene.shapes if not isinstance(s, Label)}
    assert Ink.SOLUTION not in used


@EVERY
def test_numbers_of_the_solution_are_neither_written_nor_told_before(module, state):
    before = module.draw(state)
    solved = module.draw(state, solution=True)
    told = set(re.findall(r"\d+(?:\.\d+)?", " ".join(words(before)) + " " + before.alt))

    new = {
        number
        for shape in solved.shapes
        if isinstance(shape, Label) and shape.ink is Ink.SOLUTION
        for number in re.findall(r"\d+\.\d+", shape.text)
    }

    # Fractions cannot be there by chance as whole numbers (teeth, ticks) can.
    assert not new & told


@EVERY
def test_the_svg_is_well_formed_and_tells_no_names(module, state):
    scene = module.draw(state, solution=True)

    tree = etree.fromstring(render_svg(scene))

    assert tree.tag == f"{SVG}svg"
    assert tree.get("role") == "img"
    assert tree.get("aria-label") == scene.alt
    attributes = {name for element in tree.iter() for name in element.attrib}
    assert not attributes & {"style", "id", "name", "data-name", "onclick", "href"}
    assert {etree.QName(element).localname for element in tree.iter()} <= {
        "svg", "g", "path", "polygon", "polyline", "circle", "text",
    }  # fmt: skip
    seen = [element.text for element in tree.iter(f"{SVG}text")]
    assert seen == words(scene)


@pytest.mark.parametrize("module", SAMPLES, ids=lambda module: module.__name__.rsplit(".", 1)[1])
def test_states_are_frozen_slotted_dataclasses(module):
    for state in SAMPLES[module][:1]:
        assert is_dataclass(state)
        assert state.__dataclass_params__.frozen
        assert not hasattr(state, "__dict__")
        with pytest.raises(AttributeError):
            setattr(state, fields(state)[0].name, None)
