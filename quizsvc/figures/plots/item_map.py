"""Items of a shop by how hard they are and how well they tell strong from weak."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import parts
from quizsvc.figures.chart import Axes, frame
from quizsvc.figures.scene import (
    Circle,
    Circles,
    Ink,
    Label,
    Lines,
    Scene,
    Shape,
    Style,
    Weight,
)

HEIGHT = 360.0
_LOWEST, _HIGHEST = -0.4, 0.8  # of the link shown; beyond lies at the edge
_AXES = Axes(64.0, 52.0, 440.0, 290.0, 0.0, 1.0, _LOWEST, _HIGHEST)


@dataclass(frozen=True, slots=True)
class ItemDot:
    share_right: float
    link: float
    number: int = 0  # in the list beside the picture, for an item that stands out


@dataclass(frozen=True, slots=True)
class ItemMap:
    dots: tuple[ItemDot, ...]


def describe(state: ItemMap) -> str:
    odd = [one for one in state.dots if one.number]
    named = "; ".join(
        f"number {one.number}: {one.share_right:.0%} right, link {one.link:+.2f}"
        for one in odd[:12]
    )
    rest = f" Standing out: {named}." if named else ""
    return f"{len(state.dots)} items by share right and link with the level of the person.{rest}"


def draw(state: ItemMap) -> Scene:
    across = [(n / 4, f"{25 * n} %") for n in range(5)]
    up = [(n / 10, f"{n / 10:+.1f}" if n else "0") for n in range(-4, 9, 2)]
    shapes: list[Shape] = frame(_AXES, across, up, "answered right", "link with level")
    zero = (_AXES.at(0, 0), _AXES.at(1, 0))
    shapes.append(Lines((zero,), Style(Ink.LINE, weight=Weight.THIN)))
    sound = tuple(_place(one) for one in state.dots if not one.number)
    if sound:
        shapes.append(Circles(sound, 4.0, Style(Ink.LINE, Ink.METAL, Weight.THIN), name="sound"))
    for one in state.dots:
        if one.number:
            shapes += _odd(one)
    return Scene(parts.WIDTH, HEIGHT, tuple(shapes), describe(state))


def _odd(one: ItemDot) -> list[Shape]:
    x, y = _place(one)
    ring = Circle((x, y), 11.0, Style(Ink.ACCENT, Ink.PAPER), name=f"odd {one.number}")
    return [ring, Label((x, y + 5), str(one.number), size=13.0, bold=True)]


def _place(one: ItemDot) -> tuple[float, float]:
    return _AXES.at(one.share_right, min(_HIGHEST, max(_LOWEST, one.link)))
