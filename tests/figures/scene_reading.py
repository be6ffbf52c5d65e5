"""Read a drawn scene back: shapes by name, boxes of its words, where they collide."""

from itertools import combinations

from quizsvc.figures.lettering import box
from quizsvc.figures.scene import Label, Scene


def named(scene: Scene, name: str):
    (shape,) = [shape for shape in scene.shapes if getattr(shape, "name", "") == name]
    return shape


def words(scene: Scene) -> list[str]:
    return [shape.text for shape in scene.shapes if isinstance(shape, Label)]


def labels(scene: Scene, name: str) -> list[Label]:
    return [shape for shape in scene.shapes if isinstance(shape, Label) and shape.name == name]


def overlapping_labels(scene: Scene) -> list[tuple[str, str]]:
    """Pairs of words whose boxes share more than a hair (letters fill only part of a box)."""
    boxes = [(shape.text, box(shape)) for shape in scene.shapes if isinstance(shape, Label)]
    return [
        (one, other)
        for (one, a), (other, b) in combinations(boxes, 2)
        if min(a[2], b[2]) - max(a[0], b[0]) > 1 and min(a[3], b[3]) - max(a[1], b[1]) > 4
    ]


def words_outside(scene: Scene) -> list[str]:
    return [
        shape.text
        for shape in scene.shapes
        if isinstance(shape, Label)
        and not (
            box(shape)[0] >= 2
            and box(shape)[1] >= 0
            and box(shape)[2] <= scene.width - 2
            and box(shape)[3] <= scene.height
        )
    ]
