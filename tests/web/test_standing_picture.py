"""The dimension line that shows a standing."""

from quizsvc.figures.scene import Circle, Polyline
from quizsvc.web.components import samples
from quizsvc.web.standing import MARGIN, WIDTH, draw_standing, standing_scene


def share(x):
    return (x - MARGIN) / (WIDTH - 2 * MARGIN)


def named(scene, kind, name):
    return [shape for shape in scene.shapes if isinstance(shape, kind) and shape.name == name]


def test_the_dot_stands_at_the_chance_and_the_line_spans_the_interval():
    scene = standing_scene(samples.WIDE)

    (dot,) = named(scene, Circle, "chance")
    (line,) = named(scene, Polyline, "interval")
    assert abs(share(dot.centre[0]) - samples.WIDE.chance) < 0.001
    assert abs(share(line.points[0][0]) - samples.WIDE.low) < 0.001
    assert abs(share(line.points[1][0]) - samples.WIDE.high) < 0.001


def test_without_answers_only_the_empty_scale_is_drawn():
    scene = standing_scene(samples.UNKNOWN)

    assert not named(scene, Circle, "chance")
    assert not named(scene, Polyline, "interval")


def test_the_picture_is_hidden_from_readers_of_the_words_beside_it():
    assert 'aria-hidden="true"' in draw_standing(samples.NARROW)
