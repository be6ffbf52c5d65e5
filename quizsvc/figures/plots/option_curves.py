"""How often each option of an item is taken, from the weakest quarter of people to the strongest.

A sound item's right option rises to the right, and every other falls.
"""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import parts
from quizsvc.figures.chart import Axes, frame
from quizsvc.figures.scene import (
    Anchor,
    Circle,
    Dash,
    Ink,
    Label,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
)

HEIGHT = 320.0
_AXES = Axes(64.0, 52.0, 380.0, 250.0, 0.0, 1.0, 0.0, 1.0)
_APART = 18.0  # least distance of two letters at the right edge
_DASHES = (Dash.DASHED, Dash.CHAIN)


@dataclass(frozen=True, slots=True)
class OptionCurve:
    letter: str
    correct: bool
    shares: tuple[float, ...]  # by group of people, weakest first, 0 to 1


@dataclass(frozen=True, slots=True)
class OptionCurves:
    curves: tuple[OptionCurve, ...]


def describe(state: OptionCurves) -> str:
    lines = "; ".join(
        f"{one.letter}{' (right)' if one.correct else ''} from {one.shares[0]:.0%} "
        f"to {one.shares[-1]:.0%}"
        for one in state.curves
    )
    return f"Share of people taking each option, from the weakest group to the strongest: {lines}."


def draw(state: OptionCurves) -> Scene:
    groups = max((len(one.shares) for one in state.curves), default=2)
    ticks = [(_at(n, groups), _name(n, groups)) for n in range(groups)]
    levels = [(n / 4, f"{25 * n} %") for n in range(5)]
    shapes: list[Shape] = frame(_AXES, ticks, levels, "people by level", "take the option")
    for place, one in enumerate(state.curves):
        shapes += _curve(one, groups, _DASHES[place % 2])
    shapes += _letters(state)
    return Scene(parts.WIDTH, HEIGHT, tuple(shapes), describe(state))


def _curve(one: OptionCurve, groups: int, dash: Dash) -> list[Shape]:
    points = tuple(_AXES.at(_at(n, groups), share) for n, share in enumerate(one.shares))
    style = (
        Style(Ink.SOLUTION, weight=Weight.THICK)
        if one.correct
        else Style(Ink.LINE, weight=Weight.MEDIUM, dash=dash)
    )
    dot = Style(Ink.LINE, Ink.SOLUTION if one.correct else Ink.PAPER, Weight.THIN)
    name = f"curve {one.letter}"
    return [Polyline(points, style, name=name), *(Circle(p, 4.0, dot) for p in points)]


def _letters(state: OptionCurves) -> list[Shape]:
    """Return the letters at the curves' ends, from the top; those that end alike share a line."""
    lines: list[tuple[float, list[OptionCurve]]] = []
    for one in sorted(state.curves, key=lambda one: -one.shares[-1]):
        y = _AXES.y(one.shares[-1])
        if lines and y - lines[-1][0] < _APART:
            lines[-1][1].append(one)
        else:
            lines.append((y, [one]))
    return [
        Label(
            (_AXES.right + 10, y + 6),
            " ".join(f"{one.letter} right" if one.correct else one.letter for one in here),
            anchor=Anchor.START,
            bold=any(one.correct for one in here),
        )
        for y, here in lines
    ]


def _at(group: int, groups: int) -> float:
    return group / max(1, groups - 1)


def _name(group: int, groups: int) -> str:
    return {0: "weakest", groups - 1: "strongest"}.get(group, "")
