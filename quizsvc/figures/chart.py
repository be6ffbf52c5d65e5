"""Axes for the figures that draw a quantity against another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quizsvc.figures import parts
from quizsvc.figures.scene import Anchor, Ink, Label, Lines, Point, Shape, Style, Weight


@dataclass(frozen=True, slots=True)
class Axes:
    """A plot area in picture units and the quantities at its edges.

    ``high`` may be below ``low``: the quantity then grows downwards.
    """

    left: float
    top: float
    right: float
    bottom: float
    first: float  # quantity at the left edge
    last: float
    low: float  # quantity at the lower edge
    high: float

    def x(self, value: float) -> float:
        return self.left + (self.right - self.left) * (value - self.first) / (
            self.last - self.first
        )

    def y(self, value: float) -> float:
        return self.bottom - (self.bottom - self.top) * (value - self.low) / (self.high - self.low)

    def at(self, x: float, y: float) -> Point:
        return self.x(x), self.y(y)


def frame(
    axes: Axes,
    ticks_x: Sequence[tuple[float, str]],
    ticks_y: Sequence[tuple[float, str]],
    title_x: str = "",
    title_y: str = "",
) -> list[Shape]:
    """Return grid, edges, numbers and titles; the y title stands above the axis."""
    grid = [((axes.x(v), axes.top), (axes.x(v), axes.bottom)) for v, _ in ticks_x]
    grid += [((axes.left, axes.y(v)), (axes.right, axes.y(v))) for v, _ in ticks_y]
    edge = ((axes.left, axes.top), (axes.left, axes.bottom), (axes.right, axes.bottom))
    shapes: list[Shape] = [
        Lines(tuple(grid), Style(Ink.SHADE, weight=Weight.THIN), name="grid"),
        Lines((edge,), parts.OPEN_EDGE, name="axes"),
    ]
    shapes += [Label((axes.x(v), axes.bottom + 20), text) for v, text in ticks_x if text]
    shapes += [
        Label((axes.left - 7, axes.y(v) + 6), text, anchor=Anchor.END)
        for v, text in ticks_y
        if text
    ]
    if title_x:
        middle = (axes.left + axes.right) / 2
        shapes.append(Label((middle, axes.bottom + 43), title_x, ink=Ink.FAINT))
    if title_y:
        at = (parts.MARGIN, axes.top - 30)
        shapes.append(Label(at, title_y, anchor=Anchor.START, ink=Ink.FAINT))
    return shapes
