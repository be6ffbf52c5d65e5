from __future__ import annotations

from quizsvc.figures.cylinder_volumes import CylinderVolumes, describe, draw
from quizsvc.figures.scene import Label

STATE = CylinderVolumes(86, 84, 4, (("chamber", "45 cc"), ("dish", "2 cc")), ("1952 cc in all",))


def texts(scene):
    return [shape.text for shape in scene.shapes if isinstance(shape, Label)]


def test_bore_stroke_and_named_parts_are_written():
    scene = draw(STATE)

    assert {"bore 86", "stroke 84", "chamber 45 cc", "dish 2 cc"} <= set(texts(scene))
    assert scene.alt == describe(STATE)


def test_the_result_is_written_with_the_solution_only():
    assert "1952 cc in all" not in texts(draw(STATE))
    assert "1952 cc in all" in texts(draw(STATE, solution=True))
    assert "1952" not in describe(STATE)
