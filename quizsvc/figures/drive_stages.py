"""Sprockets of one drive stage after another, with their teeth: how a ratio comes about."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sin, tau

from quizsvc.figures import belt_line, parts
from quizsvc.figures.chain_line import Sight, strand_shapes
from quizsvc.figures.scene import Ink, Label, Lines, Point, Scene, Shape, Style, Weight
from quizsvc.timing.path import DrivePath, PathWheel

TALLEST = 62.0  # radius of the largest sprocket
_MIDDLE = 120.0


@dataclass(frozen=True, slots=True)
class DriveStages:
    """Driving and driven teeth, stage by stage; ``idler`` stands in the first chain, 0 for none.

    ``last`` names the last shaft.
    """

    driving: tuple[int, ...]
    driven: tuple[int, ...]
    last: str
    idler: int = 0
    loop: str = "chain"  # or "belt", over pulleys

    @property
    def wheel(self) -> str:
        return "pulley" if self.loop == "belt" else "sprocket"


def describe(state: DriveStages) -> str:
    stages, loop, wheel = [], state.loop, state.wheel
    for number, (first, last) in enumerate(zip(state.driving, state.driven, strict=True)):
        who = f"The crankshaft {wheel}" if number == 0 else f"On the same shaft, another {wheel}"
        stages.append(f"{who}, {first} teeth, drives one of {last} teeth by a {loop}.")
    idler = f" An idler of {state.idler} teeth runs in the same {loop}." if state.idler else ""
    return (
        f"{_wheels(state)} side by side. {' '.join(stages)}{idler} The last shaft is the "
        f"{state.last}. Asked: turns of the crankshaft for one turn of it."
    )


def _wheels(state: DriveStages) -> str:
    return f"{state.wheel.capitalize()}s"


def draw(state: DriveStages, *, solution: bool = False) -> Scene:
    """Draw the sprockets in true proportion; the solution writes the ratio of each stage."""
    pitch = TALLEST / max(*state.driving, *state.driven, state.idler)
    centres = _centres(state, pitch)
    shapes: list[Shape] = []
    for number, (first, last) in enumerate(zip(state.driving, state.driven, strict=True)):
        ends = (centres[number], centres[number + 1])
        idler = state.idler if number == 0 else 0
        shapes += _stage(ends, (first, last), idler, pitch, state.loop)
        if solution:
            x = (ends[0][0] + ends[1][0]) / 2
            text = f"{last} ÷ {first}"
            shapes.append(Label((x, 232), text, ink=Ink.SOLUTION, bold=True, name="stage ratio"))
    shapes += _names(state, centres)
    words, height = parts.caption(f"{_wheels(state)} on one shaft share a centre.", 280)
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _centres(state: DriveStages, pitch: float) -> list[Point]:
    """Stand the shafts in a row, the ends clear of the picture's edges."""
    left = 30 + state.driving[0] * pitch
    right = parts.WIDTH - 30 - state.driven[-1] * pitch
    step = (right - left) / len(state.driving)
    return [(left + step * place, _MIDDLE) for place in range(len(state.driving) + 1)]


def _stage(
    ends: tuple[Point, Point], teeth: tuple[int, int], idler: int, pitch: float, loop: str
) -> list[Shape]:
    wheels = [(ends[0], teeth[0]), (ends[1], teeth[1])]
    if idler:
        higher = _MIDDLE - (max(teeth) - idler) * pitch * 0.85 - 10
        wheels.insert(1, (((ends[0][0] + ends[1][0]) / 2, higher), idler))
    rounds = tuple(PathWheel(x, -y, count * pitch) for (x, y), count in wheels)
    path, style = DrivePath(rounds), Style(Ink.LINE, weight=Weight.THICK)
    if loop == "belt":  # its pulleys stay inside, so the arcs on them are seen as well
        shapes = strand_shapes(path, Sight(1.0, 0.0, 0.0), style, loop)
    else:
        strands = tuple(
            ((s.start.x_mm, -s.start.y_mm), (s.end.x_mm, -s.end.y_mm)) for s in path.spans
        )
        shapes = [Lines(strands, style, name=loop)]
    for centre, count in wheels:
        shapes += [_wheel(centre, count, pitch, loop), *parts.hub(centre, 9)]
    return shapes


def _wheel(centre: Point, count: int, pitch: float, loop: str) -> Shape:
    """Return a wheel of radius ``count × pitch``, whatever runs on it."""
    radius = count * pitch
    if loop == "belt":
        return belt_line.grooved(centre, count, tau * pitch, radius, 0, f"pulley {count}")
    chord = 2 * radius * sin(pi / count)  # chain pitch that gives this radius
    return parts.toothed(centre, count, chord, 0, f"sprocket {count}")


def _names(state: DriveStages, centres: list[Point]) -> list[Shape]:
    """Write teeth above and below, so that two sprockets on one shaft stay apart."""
    shapes: list[Shape] = []
    for place, (x, y) in enumerate(centres):
        if place < len(state.driving):
            shapes.append(_teeth(x, y - 74, state.driving[place]))
        if place:
            shapes.append(
                _teeth(x, y + 84 if place < len(state.driving) else y - 74, state.driven[place - 1])
            )
    if state.idler:
        x = (centres[0][0] + centres[1][0]) / 2
        shapes.append(Label((x, 206), f"idler {state.idler}", ink=Ink.FAINT))
    first, last = centres[0], centres[-1]
    return [
        *shapes,
        parts.on_paper(Label((first[0], 258), "crankshaft", bold=True)),
        parts.on_paper(Label((last[0], 258), state.last, bold=True)),
    ]


def _teeth(x: float, y: float, teeth: int) -> Label:
    return Label((x, y), f"{teeth} teeth", halo=True, name="teeth")
