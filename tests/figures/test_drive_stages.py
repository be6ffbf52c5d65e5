from __future__ import annotations

from quizsvc.figures.drive_stages import DriveStages, describe, draw
from quizsvc.figures.scene import Label, Polyline

TWO = DriveStages((20, 22), (28, 30), "oil pump")


def test_every_sprocket_is_drawn_with_its_teeth():
    scene = draw(TWO)

    names = [shape.name for shape in scene.shapes if isinstance(shape, Polyline)]
    texts = [shape.text for shape in scene.shapes if isinstance(shape, Label)]

    assert [name for name in names if name.startswith("sprocket")] == [
        "sprocket 20",
        "sprocket 28",
        "sprocket 22",
        "sprocket 30",
    ]
    assert {"20 teeth", "28 teeth", "22 teeth", "30 teeth", "oil pump"} <= set(texts)


def test_the_ratio_of_each_stage_is_written_with_the_solution_only():
    def ratios(scene):
        return [s.text for s in scene.shapes if isinstance(s, Label) and s.name == "stage ratio"]

    assert ratios(draw(TWO)) == []
    assert ratios(draw(TWO, solution=True)) == ["28 ÷ 20", "30 ÷ 22"]


def test_an_idler_runs_in_the_first_chain():
    state = DriveStages((20,), (30,), "balance shaft", idler=24)

    scene = draw(state)

    assert scene.alt == describe(state)
    assert "idler of 24 teeth" in scene.alt
    assert any(getattr(shape, "name", "") == "sprocket 24" for shape in scene.shapes)
